"""Our bidirectional order against Unicode's own conformance file (BidiCharacterTest.txt, Debian's unicode-data)."""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path

import pytest

from docgen.typeset import bidi

TRAILING = {"WS", "FSI", "LRI", "RLI", "PDI", "LRE", "RLE", "LRO", "RLO", "PDF", "BN"}
UNICODE = Path("/usr/share/unicode")


def unicode_file(name: str) -> Path:
    """A file of the Unicode Character Database; missing, it skips for a user and fails in CI."""
    path = UNICODE / name
    if not path.exists():
        message = f"{path} is not installed (Debian: unicode-data)"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    return path


def reset(text: str, levels: list[int], base: int) -> list[int]:
    """Rule L1 for a paragraph of one line: separators, and white space before them or at the end, at base level."""
    out, trailing = list(levels), True
    for i in range(len(text) - 1, -1, -1):
        kind = unicodedata.bidirectional(text[i])
        trailing = kind in ("B", "S") or (trailing and kind in TRAILING)
        if trailing:
            out[i] = base
    return out


def cases():
    for number, line in enumerate(unicode_file("BidiCharacterTest.txt").read_text("utf-8").splitlines(), 1):
        if line and not line.startswith("#"):
            points, direction, base, levels, order = line.split(";")
            text = "".join(chr(int(p, 16)) for p in points.split())
            yield number, text, {"0": False, "1": True, "2": None}[direction], int(base), levels.split(), order.split()


def test_every_case_of_the_conformance_file():
    """Paragraph level, every level and the visual order are as in all 91 707 cases of the file."""
    wrong, count = [], 0
    for number, text, rtl, base, levels, order in cases():
        count += 1
        got_base, got = bidi.levels(text, rtl)
        got = reset(text, got, got_base)
        kept = [i for i, level in enumerate(levels) if level != "x"]
        seen = [kept[n] for n in bidi.order([got[i] for i in kept])]
        if got_base != base or any(str(got[i]) != levels[i] for i in kept) or [str(i) for i in seen] != order:
            wrong.append(number)

    assert (wrong[:20], count > 90_000) == ([], True)


def test_the_brackets_are_those_of_the_standard():
    """The table of paired brackets is BidiBrackets.txt, complete."""
    pairs = {}
    for line in unicode_file("BidiBrackets.txt").read_text("utf-8").splitlines():
        fields = line.partition("#")[0].split(";")
        if len(fields) == 3 and fields[2].strip() == "o":
            pairs[chr(int(fields[0], 16))] = chr(int(fields[1], 16))

    assert pairs == bidi.CLOSING
