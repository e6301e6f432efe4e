"""Turn a grey picture into the words on it, by a reader of text that may be installed (Tesseract)."""

from __future__ import annotations

import shutil
import subprocess

from docgen.recognise.picture import Grey

PROGRAM = "tesseract"
SECONDS = 20


def missing() -> str:
    """Why text in pictures can't be read; empty if it can."""
    return "" if shutil.which(PROGRAM) else f"printed stamps on pictures can't be read: `{PROGRAM}` is not installed"


def words(grey: Grey, layout: int) -> str:
    """What is read; nothing if there is no reader or it takes too long. `layout`: 6 a block, 11 scattered words.

    The reader is given bare pixels that were decoded here, never the file itself.
    """
    program = shutil.which(PROGRAM)
    if program is None:
        return ""
    pixels = b"P5 %d %d 255\n" % (grey.shape[1], grey.shape[0]) + grey.tobytes()
    command = (program, "stdin", "stdout", "--psm", str(layout), "-l", "eng")
    env = {"OMP_THREAD_LIMIT": "1", "LC_ALL": "C", "PATH": "/usr/bin:/bin"}
    try:
        done = subprocess.run(command, input=pixels, capture_output=True, timeout=SECONDS, env=env, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout.decode("utf-8", "replace")
