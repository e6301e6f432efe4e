"""Turn tasks into a print list: what, how many, on which paper, how many sheets of it, what to laminate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from docgen.model.layout import SIZES
from docgen.model.posting import Copy, Order, Target, Task
from docgen.model.press import US, nest, pouch
from docgen.model.site import Site

CARDS = "cards"


def office(site: Site) -> str:
    """The paper in the printers of a site: Letter where sheets are cut by the inch."""
    choices = [*site.sheets.values(), *(c for use in site.protocols.values() for c in use.sheets.values())]
    sheets = {choice.sheet for choice in choices}
    return "Letter" if sheets & US else "A4"


def orders(tasks: Iterable[Task], sides: Mapping[str, int], press: str) -> tuple[Order, ...]:
    """One order for each file and finish, in the order of the walk.

    `sides`: artifact → 2 if printed on both sides; `press`: the paper that cards are printed on.
    """
    groups: dict[tuple[Copy, bool], list[Task]] = {}
    for task in tasks:
        if task.target and task.missing:
            groups.setdefault((task.target.copy, task.spot.laminated), []).append(task)
    return tuple(_order(many[0].target, laminated, many, sides, press) for (_, laminated), many in groups.items())


def _order(target: Target | None, laminated: bool, tasks: list[Task], sides: Mapping[str, int], press: str) -> Order:
    assert target
    copies, pages = sum(t.missing for t in tasks), target.file.pages
    sheet = target.copy.sheet
    duplex = pages > 1 and sides.get(target.copy.artifact, 1) == 2
    pieces = -(-pages // 2) if duplex else pages
    paper, leaves = sheet, pieces * copies
    if target.copy.artifact == CARDS:
        laid = nest(SIZES[sheet], press)
        if laid:
            paper, leaves = press, -(-pieces * copies // laid.slots)
    return Order(
        target, copies, laminated, pages, paper, duplex, leaves, pieces * copies if laminated else 0, tuple(tasks)
    )  # fmt: skip


def paper(orders_: Iterable[Order]) -> dict[str, int]:
    """Sheets of each paper, largest paper first."""
    count: Counter[str] = Counter()
    for order in orders_:
        count[order.paper] += order.leaves
    return dict(sorted(count.items(), key=lambda x: (-SIZES[x[0]][0] * SIZES[x[0]][1], x[0])))


def pouches(orders_: Iterable[Order]) -> dict[str, tuple[int, tuple[float, float]]]:
    """Sheet → how many pouches of film and their least size in millimetres."""
    count: Counter[str] = Counter()
    for order in orders_:
        if order.pieces:
            count[order.target.copy.sheet] += order.pieces
    return {sheet: (number, pouch(sheet)) for sheet, number in sorted(count.items())}
