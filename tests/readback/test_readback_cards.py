"""Cards on press sheets: cut apart by what is on the sheet, judged as cards, and registered front to back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from faithful import MM, Code, Ink, Leaf, lay, make_edition, paint

from docgen.readback import examine

PRESS = (320.0, 450.0)
"""SRA3, millimetres (ISO 217, from memory): four A6 cards with room around."""


def imposed(damage: Callable[[list[Leaf]], None] | None = None, *, mirrored: bool = True, shift: float = 0.0) -> bytes:
    """Fronts on one sheet and backs on the next, two by two; `mirrored` for a turn over the long edge."""
    sides = lay(make_edition(), "cards")
    if damage:
        damage(sides)
    width, height = (v * MM for v in PRESS)
    out: list[Leaf] = []
    cards = [sides[n : n + 2] for n in range(0, len(sides), 2)]
    for start in range(0, len(cards), 4):
        for back in (False, True):
            leaf = Leaf(width, height)
            for n, card in enumerate(cards[start : start + 4]):
                if back >= len(card):
                    continue
                side = card[back]
                column = 1 - n % 2 if back and mirrored else n % 2
                x = 40 * MM + column * (side.width + 20 * MM) + (shift if back else 0)
                y = 40 * MM + n // 2 * (side.height + 20 * MM)
                leaf.marks += [replace(m, x=m.x + x, y=m.y + y) for m in side.marks if isinstance(m, Ink | Code)]
            out.append(leaf)
    return paint(out)


def rules(data: bytes) -> list[str]:
    return sorted({f.rule for f in examine(data, make_edition(), "cards", "x.pdf", sheet=PRESS)})


def test_an_imposed_set_passes() -> None:
    """Five sides on two press pages are read as the five sides they are."""
    assert rules(imposed()) == []


def test_backs_that_are_not_mirrored_are_caught() -> None:
    """Turned over, the backs would lie behind other fronts."""
    assert "readback/imposition" in rules(imposed(mirrored=False))


def test_backs_out_of_register_are_caught() -> None:
    """All backs two millimetres aside still register with each other, one alone does not."""

    def one_aside(sides: list[Leaf]) -> None:
        for m in sides[1].marks:
            if isinstance(m, Ink):
                m.x += 2 * MM

    assert "readback/imposition" in rules(imposed(one_aside))


def test_a_side_without_stamp_is_caught() -> None:
    """It is taken together with its neighbour, and then sides are missing from the count."""

    def unstamped(sides: list[Leaf]) -> None:
        sides[2].marks = [m for m in sides[2].marks if not (isinstance(m, Ink) and m.what == "stamp")]

    assert "readback/stamp-numbering" in rules(imposed(unstamped))


@pytest.mark.parametrize("side", range(5))
def test_a_caution_missing_from_any_side_is_caught(side: int) -> None:
    """Damage to a card is seen through the imposition."""

    def drop(sides: list[Leaf]) -> None:
        sides[side].marks = [m for m in sides[side].marks if not (isinstance(m, Ink) and m.what == "hazard")]

    had = any(m.what == "hazard" for m in lay(make_edition(), "cards")[side].inks())
    assert ("readback/caution-missing" in rules(imposed(drop))) is had


def test_the_blank_back_of_the_last_card_is_no_side() -> None:
    """An odd number of sides, one to a press page, ends with a page without words."""
    sides = lay(make_edition(), "cards")
    assert len(sides) % 2
    data = paint([*sides, Leaf(sides[0].width, sides[0].height)])
    assert [f.message for f in examine(data, make_edition(), "cards", "x.pdf")] == []


def test_cards_may_be_numbered_by_card_instead_of_by_side() -> None:
    """Front and back then say the same number."""
    sides = lay(make_edition(), "cards")
    for n, side in enumerate(sides):
        for m in side.marks:
            if isinstance(m, Ink) and m.what == "stamp":
                m.text = m.text.replace(f"sheet {n + 1} of 5", f"card {n // 2 + 1} of 3")
            if isinstance(m, Code):
                m.text = m.text.replace("C1-5", "C1-3")[:-1]
                from docgen.model.stamp import check

                m.text += check(m.text[:-1])
    assert [f.message for f in examine(paint(sides), make_edition(), "cards", "x.pdf")] == []
