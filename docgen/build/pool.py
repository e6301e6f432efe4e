"""Turn many independent pieces of work into results in order, in as many processes as asked for."""

from __future__ import annotations

import multiprocessing
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from typing import Any, TypeVar

from docgen.build.outcome import Progress

T = TypeVar("T")
R = TypeVar("R")


def spread(
    work: Callable[[T, Any], R],
    things: Sequence[T],
    common: Any,
    processes: int,
    progress: Progress,
    died: Callable[[T], R],
) -> list[R]:
    """`work(thing, common)` for every thing; what a process that was ended from outside left undone becomes `died`.

    `common` reaches each process once. A result depends on its thing and on `common` alone, so that neither the number
    of processes nor their order can be told from the results.
    """
    processes = min(processes, len(things))
    results: list[Any] = [None] * len(things)
    finished = [False] * len(things)
    if processes < 2:
        for n, thing in enumerate(things):
            results[n] = work(thing, common)
            progress(n + 1, len(things), str(thing))
        return results
    with ProcessPoolExecutor(processes, _context(), initializer=_start, initargs=(work, common)) as pool:
        waiting = {pool.submit(_here, thing): n for n, thing in enumerate(things)}
        try:
            for count, future in enumerate(as_completed(waiting), 1):
                n = waiting[future]
                results[n] = future.result()
                finished[n] = True
                progress(count, len(things), str(things[n]))
        except BrokenProcessPool:
            pass
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    return [r if ok else died(thing) for r, ok, thing in zip(results, finished, things, strict=True)]


def _context() -> Any:
    """Forked processes start with everything loaded; elsewhere than on Linux forking is not safe."""
    return multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")


_work: tuple[Callable, Any] | None = None
"""What this worker process does, and with what: set once when it starts."""


def _start(work: Callable, common: Any) -> None:
    global _work
    _work = (work, common)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt is the parent's business
    if sys.platform == "linux":
        import ctypes

        set_parent_death_signal = 1  # PR_SET_PDEATHSIG of <linux/prctl.h>: a killed run leaves no orphans
        ctypes.CDLL(None).prctl(set_parent_death_signal, signal.SIGKILL)


def _here(thing: Any) -> Any:
    assert _work is not None
    work, common = _work
    return work(thing, common)
