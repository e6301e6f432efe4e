"""Judge the square codes: there where they must be, saying what they must, large enough and with room around them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from docgen.findings import Finding, Where, error
from docgen.model.edition import Edition
from docgen.model.stamp import code_of, read_code
from docgen.readback.copy import Copy
from docgen.readback.wanted import CODE_ON

LEAST_MODULE = {"poster": 0.5}
"""Millimetres; 0.5 for laminated sheets with glare (common practice, no source)."""
MODULE = 0.396
"""Millimetres for all others: the smallest module for retail (GS1 General Specifications, from memory)."""
ROUNDING = 0.02


def codes(
    copy: Copy, file: str, edition: Edition, artifact: str, numbers: Sequence[tuple[int, int]]
) -> Iterator[Finding]:
    """Findings about square codes; `numbers` has sheet and number of sheets of each page."""
    right_on: set[int] = set()
    for index, page in enumerate(copy.pages):
        expected = str(code_of(edition, artifact, *numbers[index]))
        for square in page.squares:
            where = Where(file, page=page.number, box=square.box)
            address, mark, said = square.text.rpartition("#")
            if said == expected and (not mark or address == edition.address):
                right_on.add(index)
            else:
                yield _wrong(square.text, expected, where)
            least = LEAST_MODULE.get(artifact, MODULE)
            if square.module < least * (1 - ROUNDING):
                yield error(
                    "readback/code-too-fine",
                    f"the square code has modules of {square.module:.2f} mm; {least:g} mm are the least",
                    where,
                    hint="print the code larger",
                )
            if not square.quiet:
                yield error(
                    "readback/code-crowded",
                    "the square code lacks its quiet zone: four modules of blank paper on all sides (ISO/IEC 18004)",
                    where,
                    hint="keep everything else away from the code",
                )
    yield from _absent(copy, file, artifact, right_on)


def _wrong(said: str, expected: str, where: Where) -> Finding:
    other = read_code(said)
    if other is None:
        why = f"the square code says `{said[:80]}`, which is no stamp of ours or a damaged one"
    else:
        why = f"the square code says `{other}`"
    return error(
        "readback/code-wrong",
        f"{why}; it must say `{expected}`",
        where,
        hint="render the sheet again from the present source",
    )


def _absent(copy: Copy, file: str, artifact: str, right_on: set[int]) -> Iterator[Finding]:
    rule = CODE_ON[artifact]
    needed = {"every": range(len(copy.pages)), "first": range(1), "any": range(0)}[rule]
    for index in needed:
        if not copy.pages[index].squares:
            yield _lacks(Where(file, page=copy.pages[index].number))
    if rule == "any" and not any(p.squares for p in copy.pages):
        yield _lacks(Where(file))


def _lacks(where: Where) -> Finding:
    return error(
        "readback/code-missing",
        "no square code can be read from the pixels",
        where,
        hint="print the code, dark on white",
    )
