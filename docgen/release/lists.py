"""Turn tasks, orders and what hangs where into lists: lines for a person, CSV for a spreadsheet, data for programs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from docgen.model.posting import STATES, Copy, Found, Hung, Old, Order, Target, Task
from docgen.release.copies import cells
from docgen.release.orders import paper, pouches
from docgen.release.postings import UNRELEASED

WORK = (
    "what", "posting", "walk", "location", "keeper", "protocol", "artifact", "sheet", "language", "version",
    "fingerprint", "copies", "laminated", "from", "file", "why", "done", "by", "date", "note",
)  # fmt: skip
"""Columns of a work list. Fill in the last four, and give it to `postings done --from`."""
AUDIT = (
    "posting", "walk", "location", "keeper", "protocol", "artifact", "language", "quantity", "in-force", "hangs",
    "copies", "since", "by", "state",
)  # fmt: skip
NOBODY = "nobody named"


def grouped(fingerprint: str) -> str:
    """A fingerprint as it is printed: two groups of five."""
    return f"{fingerprint[:5]}-{fingerprint[5:]}" if fingerprint else ""


def copies(number: int) -> str:
    """`1 copy`, `2 copies`."""
    return f"{number} {'copy' if number == 1 else 'copies'}"


def named(copy: Copy) -> str:
    """A copy as people call it: `poster A2, es, v1.1 7K3MQ-2WXA4`."""
    return f"{copy.artifact} {copy.sheet}, {copy.language}, v{copy.version} {grouped(copy.fingerprint)}".strip()


def size(millimetres: tuple[float, float]) -> str:
    """`216 × 303 mm`."""
    return " × ".join(f"{v:.0f}" for v in millimetres) + " mm"


# --- the plan ---------------------------------------------------------------------------------------------------


def plan_lines(site: str, tasks: Sequence[Task], orders_: Sequence[Order]) -> Iterator[str]:
    """The plan of a site for a person."""
    targets = {t.target.copy.protocol: t.target for t in tasks if t.target}
    what = ", ".join(f"{name} v{t.copy.version} from {t.effective}" for name, t in targets.items())
    yield f"{site}: {what or 'nothing to put up'}"
    todo = [t for t in tasks if t.open]
    if not todo:
        yield f"  nothing is left to do at {len(tasks)} places"
    if orders_:
        yield "  print:"
        for o in orders_:
            finish = ", laminated" if o.laminated else ""
            sides = ", both sides" if o.duplex else ""
            yield f"    {o.copies} × {named(o.target.copy)}: {o.leaves} × {o.paper}{sides}{finish}"
        yield f"    paper: {', '.join(f'{n} × {name}' for name, n in paper(orders_).items())}"
        film = (f"{n} × {sheet} (at least {size(least)})" for sheet, (n, least) in pouches(orders_).items())
        yield f"    pouches: {', '.join(film) or 'none'}"
    if any(t.down for t in todo):
        yield "  take down, in walking order:"
        yield from _by_place((t, _old(old)) for t in todo for old in t.down)
    if any(t.missing for t in todo):
        yield "  put up, in walking order:"
        wanted = ((t, t.target.copy) for t in todo if t.target and t.missing)
        yield from _by_place((t, f"{copies(t.missing)}, {named(copy)}") for t, copy in wanted)
    if bare := {t.spot.protocol: None for t in tasks if t.lack == UNRELEASED and t.spot.listed}:
        yield f"  no release that holds: {', '.join(bare)}"
    if lacking := [t for t in tasks if t.lack not in ("", UNRELEASED) and t.spot.listed]:
        yield "  nothing can be put up:"
        yield from _by_place((t, t.lack) for t in lacking)
    if todo:
        yield "  not confirmed:"
        for keeper, mine in by_keeper(todo):
            yield f"    {keeper}: {', '.join(f'{t.spot.posting} ({t.spot.language})' for t in mine)}"


def by_keeper(tasks: Iterable[Task]) -> list[tuple[str, list[Task]]]:
    """Who has not confirmed what, in the order of the walk."""
    out: dict[str, list[Task]] = {}
    for task in tasks:
        out.setdefault(task.spot.keeper or NOBODY, []).append(task)
    return list(out.items())


def _by_place(lines: Iterable[tuple[Task, str]]) -> Iterator[str]:
    """Lines under the place they are about."""
    last = ""
    for task, line in lines:
        spot = task.spot
        if spot.posting != last:
            yield f"    {spot.walk if spot.listed else '–':>2} {spot.location} ({spot.posting})"
        last = spot.posting
        yield f"         {line}"


def _old(old: Old) -> str:
    if not old.recorded:
        return f"{named(old.copy)} or older, if it is there ({old.why})"
    return f"{copies(old.copies)}, {named(old.copy)} ({old.why})"


def work_list(tasks: Iterable[Task]) -> str:
    """What is left to do, a row each, as CSV."""
    rows: list[Sequence[object]] = [WORK]
    for task in tasks:
        for old in task.down:
            rows.append(_row("down", task, old.copy, old.copies if old.recorded else "", "", "", old.why))
        if task.target and task.missing:
            t = task.target
            rows.append(_row("up", task, t.copy, task.missing, t.effective, t.file.file, ""))
    return cells(rows)


def _row(what: str, task: Task, c: Copy, number: object, since: object, file: str, why: str) -> Sequence[object]:
    s = task.spot
    finish = ("yes" if s.laminated else "no") if what == "up" else ""
    return (what, s.posting, s.walk, s.location, s.keeper, c.protocol, c.artifact, c.sheet, c.language, c.version,
            c.fingerprint, number, finish, since, file, why, "", "", "", "")  # fmt: skip


def plan_data(site: str, tasks: Sequence[Task], orders_: Sequence[Order]) -> dict[str, Any]:
    """The plan of a site for a program."""
    return {
        "site": site,
        "print": [
            {
                "copy": _copy(o.target.copy), "file": o.target.file.file, "sha256": o.target.file.sha256,
                "copies": o.copies, "laminated": o.laminated, "paper": o.paper, "duplex": o.duplex, "leaves": o.leaves,
                "pouches": o.pieces, "postings": [t.spot.posting for t in o.tasks],
            }
            for o in orders_
        ],
        "paper": paper(orders_),
        "pouches": {sheet: {"number": n, "least-mm": least} for sheet, (n, least) in pouches(orders_).items()},
        "tasks": [_task(t) for t in tasks],
        "not-confirmed": {
            keeper: [list(t.spot.key) for t in many] for keeper, many in by_keeper(t for t in tasks if t.open)
        },
    }  # fmt: skip


def _task(t: Task) -> dict[str, Any]:
    s = t.spot
    return {
        "posting": s.posting, "language": s.language, "location": s.location, "walk": s.walk, "keeper": s.keeper,
        "listed": s.listed, "quantity": s.quantity, "missing": t.missing, "lack": t.lack,
        "up": _target(t.target) if t.target else None,
        "down": [{**_copy(o.copy), "copies": o.copies, "why": o.why, "recorded": o.recorded} for o in t.down],
    }  # fmt: skip


def _target(t: Target) -> dict[str, Any]:
    return {**_copy(t.copy), "from": t.effective.isoformat(), "file": t.file.file, "code": t.code}


def _copy(c: Copy) -> dict[str, str]:
    return {
        "protocol": c.protocol, "artifact": c.artifact, "sheet": c.sheet, "language": c.language, "version": c.version,
        "fingerprint": c.fingerprint,
    }  # fmt: skip


# --- the audit --------------------------------------------------------------------------------------------------


def audit_lines(site: str, found: Sequence[Found]) -> Iterator[str]:
    """Every place of a site, what hangs there, and whether it holds."""
    good = sum(f.state == "current" for f in found)
    yield f"{site}: {good} of {len(found)} current"
    wide = max((len(f.state) for f in found), default=0)
    for f in found:
        s = f.spot
        walk = f"{s.walk:>2}" if s.listed else " –"
        what = f"{s.protocol} {s.artifact}, {s.language}"
        hangs = "; ".join(_hangs(h, f) for h in f.hanging) or f"wanted v{f.wanted}" if f.wanted or f.hanging else "–"
        yield f"  {f.state:<{wide}}  {walk} {s.location} ({s.posting}): {what}: {hangs}"


def _hangs(h: Hung, f: Found) -> str:
    of = f" of {f.spot.quantity}" if f.state == "few" else ""
    return f"{h.there}{of} × v{h.copy.version} {h.copy.sheet} since {h.on}, {h.by}"


def audit_list(found: Iterable[Found]) -> str:
    """The same as CSV: a row for each sheet that hangs, or one for a place where nothing does."""
    rows: list[Sequence[object]] = [AUDIT]
    for f in found:
        s = f.spot
        place = (s.posting, s.walk, s.location, s.keeper, s.protocol, s.artifact, s.language, s.quantity, f.wanted)
        rows += [(*place, h.copy.version, h.there, h.on, h.by, f.state) for h in f.hanging] or [
            (*place, "", 0, "", "", f.state)
        ]
    return cells(rows)


def audit_data(site: str, found: Sequence[Found]) -> dict[str, Any]:
    """The same for a program."""
    return {
        "site": site,
        "states": {state: sum(f.state == state for f in found) for state in STATES},
        "places": [
            {
                "posting": f.spot.posting, "language": f.spot.language, "location": f.spot.location,
                "walk": f.spot.walk, "keeper": f.spot.keeper, "protocol": f.spot.protocol, "artifact": f.spot.artifact,
                "quantity": f.spot.quantity, "in-force": f.wanted, "state": f.state,
                "hangs": [
                    {**_copy(h.copy), "copies": h.there, "since": h.on.isoformat(), "by": h.by} for h in f.hanging
                ],
            }
            for f in found
        ],
    }  # fmt: skip
