"""Turn a short text into the modules of a square code (QR code, ISO/IEC 18004), its mask chosen quickly.

The standard has all eight masks tried and the one with the least penalty taken, which is most of the work. The encoder
makes one of the eight; the others differ from it by what no text changes, so that they are weighed all at once.
"""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np

_FINDER = re.compile(rb"\x01\x00\x01\x01\x01\x00\x01(?:(?=\x00{4})|(?<=\x00{4}.{7}))", re.DOTALL)
"""Modules like a finder's, with four light ones before or after (7.8.3.1, N3)."""
_QUIET = 4
"""Light modules around the code."""


def runs(text: str, error: str) -> tuple[int, list[tuple[int, int, int]]]:
    """Modules on a side, with the quiet zone, and every run of dark ones: row, first module, the one after."""
    dark = modules(text, error)
    turns = np.diff(dark.astype(np.int8), axis=1)  # the quiet zone is light: every row of dark ones begins and ends
    starts, ends = np.argwhere(turns > 0).tolist(), np.argwhere(turns < 0).tolist()
    return len(dark), [(y, x + 1, end + 1) for (y, x), (_, end) in zip(starts, ends, strict=True)]


def modules(text: str, error: str) -> np.ndarray:
    """Rows of modules with the quiet zone, True for dark. `error` is the level of error correction."""
    import segno

    code = segno.make(text, error=error, mask=0, boost_error=False, micro=False)
    masked = np.array(code.matrix, np.uint8) ^ _differences(int(code.version), error)
    bare = masked.copy()  # masks are weighed before format and version are entered (7.8)
    bare[:, _formats(int(code.version))] = 0
    best = masked[int(_penalties(bare).argmin())]
    return np.pad(best, _QUIET).astype(bool)


@lru_cache(maxsize=32)
def _differences(version: int, error: str) -> np.ndarray:
    """How the symbol with each of the eight masks differs from that with the first, whatever it says."""
    import segno

    made = [segno.make("0", version=version, error=error, mask=m, boost_error=False).matrix for m in range(8)]
    all_masks = np.array(made, np.uint8)
    return all_masks ^ all_masks[0]


@lru_cache(maxsize=32)
def _formats(version: int) -> np.ndarray:
    """Where format and version information stand, and the module that is always dark (7.9, 7.10)."""
    side = 17 + 4 * version
    places = np.zeros((side, side), bool)
    places[8, :9] = places[:9, 8] = places[8, -8:] = places[-8:, 8] = True
    places[8, 6] = places[6, 8] = False
    if version >= 7:
        places[:6, -11:-8] = places[-11:-8, :6] = True
    return places


def _penalties(symbols: np.ndarray) -> np.ndarray:
    """The penalty of each symbol by the rules N1 to N4 of 7.8.3.1."""
    count, side, _ = symbols.shape
    lines = np.zeros((count, 2 * side, side + _QUIET), np.uint8)  # rows, then columns, with light modules between them
    lines[:, :side, :side] = symbols
    lines[:, side:, :side] = symbols.transpose(0, 2, 1)
    same = lines[:, :, : side - 1] == lines[:, :, 1:side]
    five = same[:, :, :-3] & same[:, :, 1:-2] & same[:, :, 2:-1] & same[:, :, 3:]
    runs = five.copy()
    runs[:, :, 1:] &= ~five[:, :, :-1]
    rows, columns = same[:, :side], same[:, side:].transpose(0, 2, 1)
    blocks = rows[:, :-1] & rows[:, 1:] & columns[:, :, 1:]
    finders = [len(_FINDER.findall(bytes(_QUIET) + one.tobytes())) for one in lines]
    dark = symbols.sum(axis=(1, 2)) / side**2
    return (
        five.sum(axis=(1, 2))
        + 2 * runs.sum(axis=(1, 2))
        + 3 * blocks.sum(axis=(1, 2))
        + 40 * np.array(finders)
        + 10 * (np.abs(dark * 100 - 50) / 5).astype(int)
    )
