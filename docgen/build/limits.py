"""Turn work on a stranger's file into its result, or into nothing if it takes too long, too much memory, or falls over.

Some libraries can't be interrupted, and some can be made to crash: they run in a process of their own.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import sys
from collections.abc import Callable
from typing import Any, TypeVar

R = TypeVar("R")
MEMORY = 2 * 2**30
"""Bytes of address space that the work may take."""


def within(seconds: float, work: Callable[..., R], *given: Any) -> R | None:
    """`work(*given)` in a process that is ended after `seconds`; None if it did not come to its end."""
    context: Any = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    hear, tell = context.Pipe(duplex=False)
    process = context.Process(target=_alone, args=(tell, work, given), daemon=True)
    process.start()
    tell.close()
    result: R | None = None
    try:
        with contextlib.suppress(EOFError, OSError):
            if hear.poll(seconds):
                result = hear.recv()
    finally:
        process.kill()
        process.join()
        hear.close()
    return result


def _alone(tell: Any, work: Callable, given: tuple[Any, ...]) -> None:
    if sys.platform == "linux":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with contextlib.suppress(MemoryError):
        tell.send(work(*given))
