"""Run one function on a stranger's bytes in a process of its own, with limits of time, memory and files.

What comes back is text, read as data and never as a program: whoever takes that process over through a fault of a
decoder has won a process that may open hardly anything, write nothing, and is ended when its time is up.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import signal
import sys
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

SECONDS = 90
"""For one file, on the clock."""
MEMORY = 3 * 2**30
"""Bytes of address space."""
ANSWER = 32 * 2**20
"""Bytes of an answer."""
FILES = 64
"""Open at once."""


class Stopped(Exception):
    """It was ended, or gave no answer: a short reason."""


def apart(work: Callable[..., str], *given: Any, seconds: float = 0, memory: int = MEMORY) -> str:
    """`work(*given)`, which returns text. Raises `Stopped`. `seconds`: on the clock, `SECONDS` if left out."""
    seconds = seconds or SECONDS
    context: Any = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=_inside, args=(theirs, work, given, seconds, memory), daemon=False)
    process.start()
    theirs.close()
    try:
        if not ours.poll(seconds):
            raise Stopped(f"it took longer than {seconds:g} seconds")
        return ours.recv_bytes(ANSWER).decode("utf-8")
    except (EOFError, OSError, UnicodeDecodeError):
        process.join(1)
        raise Stopped(_ending(process.exitcode)) from None
    finally:
        ours.close()
        _end(process)


def _ending(code: int | None) -> str:
    if code == -signal.SIGXCPU:
        return "it used more processor time than it may"
    if code in (-signal.SIGKILL, NO_MEMORY):
        return "it used more memory or time than it may"
    return f"the process that read it was ended by signal {-code}" if code and code < 0 else "it gave no answer"


NO_MEMORY = 97
"""Exit status of a process that was refused memory."""


def _inside(answer: Connection, work: Callable[..., str], given: tuple, seconds: float, memory: int) -> None:
    os.setsid()  # what it starts is ended with it
    silent = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(silent, stream)
    if sys.platform == "linux":
        import ctypes

        set_parent_death_signal = 1  # PR_SET_PDEATHSIG of <linux/prctl.h>
        ctypes.CDLL(None).prctl(set_parent_death_signal, signal.SIGKILL)
    for limit, value in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, int(seconds) + 5),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NOFILE, FILES),
    ):
        resource.setrlimit(limit, (value, value))
    try:
        answer.send_bytes(work(*given).encode("utf-8"))
    except MemoryError:
        os._exit(NO_MEMORY)
    except BaseException:
        os._exit(1)
    os._exit(0)


def _end(process: Any) -> None:
    if process.is_alive():
        try:
            os.killpg(process.pid, signal.SIGKILL)
        except (ProcessLookupError, PermissionError):
            process.kill()  # before it had a group of its own
    process.join()
    process.close()
