"""Turn a print pack into what its order says: which file, how, how many, for where, and what comes down."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from docgen.build.posting import Walk
from docgen.build.rounds import place_of
from docgen.model.press import SEAL, pouch
from docgen.release.lists import copies, named, size
from docgen.release.orders import paper, pouches
from docgen.report import counted


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the order."""

    pages: str
    what: str
    copies: str
    where: str
    then: str


class Stacked(Protocol):
    """The sides of one file."""

    duplex: bool
    sides: list
    rows: list[Row]


def film(sheet: str) -> str:
    """The least size of a pouch in words."""
    return f"at least {size(pouch(sheet))}"


def content(
    walk: Walk, stacks: Mapping[str, Stacked], names: Mapping[str, str], by: str, day: str, grey: bool
) -> dict[str, Any]:
    """What the templates of a print order see."""
    return {
        "title": "Print order, greyscale proof" if grey else "Print order",
        "place": place_of(walk.site),
        "by": by,
        "day": day,
        "files": tuple(
            {"file": names[p], "how": f"on {p}, {'both sides, long edge' if s.duplex else 'one side'}",
             "sheets": str(-(-len(s.sides) // 2) if s.duplex else len(s.sides))}
            for p, s in stacks.items()
        ),
        "rows": tuple(
            {"pages": f"{p}:\u00a0{r.pages}", "what": r.what, "copies": r.copies, "where": r.where, "then": r.then}
            for p, s in stacks.items() for r in s.rows
        ),
        "totals": tuple(_totals(walk)),
        "how": tuple(_how(walk, stacks, grey)),
        "down": tuple(
            {"walk": str(t.spot.walk) if t.spot.listed else "–", "where": t.spot.location,
             "what": f"{copies(o.copies) if o.recorded else 'any copy'}, {named(o.copy)}"
             + ("" if o.recorded else " or older")}
            for t in walk.tasks for o in t.down
        ),
        "site": walk.site.site,
        "invented": walk.site.invented,
    }  # fmt: skip


def _totals(walk: Walk) -> Iterator[str]:
    sheets = ", ".join(f"{n} × {name}" for name, n in paper(walk.orders).items())
    yield f"Paper for the copies, without this order: {sheets}."
    film_ = ", ".join(f"{n} × {sheet} ({film(sheet)})" for sheet, (n, _) in pouches(walk.orders).items())
    if film_:
        yield f"Pouches: {film_}."


def _how(walk: Walk, stacks: Mapping[str, Stacked], grey: bool) -> Iterator[str]:
    if grey:
        yield "A greyscale proof: it shows what is left without colour. Print the copies themselves in colour."
    yield "Print each file once: it holds every copy, in the order of the walk. Actual size, never “fit to page”."
    if any(s.duplex for s in stacks.values()):
        yield "Both sides, turned over the long edge. Hold a sheet against the light: backs lie on their fronts."
    cards = [o for o in walk.orders if o.paper != o.target.copy.sheet]
    if cards:
        yield (
            "Cards: the register marks of both sides must lie on one another within 1 mm. Cut along the corner marks; "
            "put the cut piles on one another from left to right and from top to bottom, and the sets are in order."
        )
    if any(o.laminated for o in walk.orders):
        yield (
            f"Laminate with matt film, which does not glare. Leave {SEAL:.0f} mm of clear film round every piece; cut "
            "cards first and laminate them singly, or the seal is cut open."
        )
    number = sum(o.copies for o in walk.orders)
    yield f"Count before the round: {counted(number, 'released copy').replace('copys', 'copies')} in all."
