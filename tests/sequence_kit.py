"""A short hand for editions in tests: `step("hood-off", "remove hood touching=outside", "discard hood into=waste")`."""

from __future__ import annotations

import datetime
from dataclasses import replace

from docgen.findings import Finding, Severity, Where
from docgen.model.edition import (
    Act,
    Branch,
    Caution,
    Edition,
    Hold,
    Item,
    Phase,
    Place,
    Role,
    Step,
    Supply,
    Text,
    Time,
    Waiver,
)
from docgen.model.text import NO_TEXT, Run

DAY = datetime.date(2026, 1, 12)
PLACES = (("room", 1), ("removal-area", 2), ("clean-area", 3))
SUPPLIES = (
    Supply("rub", Text("supply.rub.name", "hand rub", (Run("hand rub"),)), "agent"),
    Supply("wipes", Text("supply.wipes.name", "wipes", (Run("wipes"),)), "agent"),
    Supply("waste", Text("supply.waste.name", "waste", (Run("waste"),)), "container"),
    Supply("reuse", Text("supply.reuse.name", "reuse bin", (Run("reuse bin"),)), "container"),
    Supply("new-pair", Text("supply.new-pair.name", "glove box", (Run("glove box"),)), "garment"),
    Supply("chair", Text("supply.chair.name", "clean chair", (Run("clean chair"),)), "seat", clean=True),
)
HYGIENE = ("sanitize", "rub-hands", "wash", "clean", "apply", "change-gloves")


def words(text: str, key: str = "x") -> Text:
    return Text(key, text, (Run(text),)) if text else NO_TEXT


def act(line: str, by: str = "wearer") -> Act:
    """`remove gown+gloves combined touching=outside by=assistant time=none`; hygiene has 20 s unless `time=none`."""
    verb, *rest = line.split()
    bare = [r for r in rest if "=" not in r and r != "combined"]
    more = dict(r.split("=", 1) for r in rest if "=" in r)
    time = None if more.pop("time", "") == "none" or verb not in HYGIENE else Time(20, 30)
    using = tuple(more.pop("using").split("+")) if "using" in more else ()
    targets = tuple(bare[0].split("+")) if bare else ()
    return Act(verb, targets, more.pop("by", by), using, time=time, combined="combined" in rest, **more)


def cautions(*classes: str) -> tuple[Caution, ...]:
    return tuple(
        Caution(f"about-{c}", "warning", words("The outside is dirty."), words("It infects."), words("Keep off."), (c,))
        for c in classes
    )


def step(
    id: str,
    *acts: str,
    actor: str = "wearer",
    place: str = "",
    about: tuple[str, ...] = (),
    hold: bool = False,
    branches: tuple[str, ...] = (),
    when: tuple[tuple[str, tuple[str, ...]], ...] = (),
    uses: tuple[str, ...] = (),
) -> Step:
    """A step with call, answer and check filled in; `about` are the classes of its cautions."""
    return Step(
        id, 0, "", "main", words(id, f"step.{id}.headline"), actor, place, say=words("Do it."),
        answer=words("Doing it."), done_when=words("It is done."), acts=tuple(act(a, actor) for a in acts), uses=uses,
        hold=Hold("observer", words("all is well")) if hold else None, cautions=cautions(*about), branches=branches,
        when=when,
    )  # fmt: skip


def branch(
    id: str, *steps: Step, rejoin: str = "same", leave: str = "", anywhere: bool = False, tell: str = ""
) -> Branch:
    return Branch(id, "", words("Found?"), steps, rejoin, words(leave), words(tell), anywhere)


def item(id: str, kind: str, covers: str = "", **more) -> Item:
    return Item(id, words(id, f"item.{id}.name"), kind, tuple(covers.split()), **more)


WEARER = Role("wearer", words("Wearer"), "circle")
OBSERVER = Role("observer", words("Observer"), "square", False, ("gown", "gloves"), words("By this order."))
ASSISTANT = Role("assistant", words("Assistant"), "triangle", True, ("gown", "gloves"), words("By this order."))
EXPOSURE = branch("exposure", step("exposure-stop", "note"), anywhere=True, tell="Occupational health is told.")


def edition(
    items: tuple[Item, ...],
    steps: tuple[Step, ...],
    branches: tuple[Branch, ...] = (EXPOSURE,),
    profile: str = "standard",
    kind: str = "removing",
    roles: tuple[Role, ...] = (WEARER,),
    options: tuple[tuple[str, tuple[str, ...]], ...] = (),
    places: tuple[tuple[str, int], ...] = PLACES,
    supplies: tuple[Supply, ...] = SUPPLIES,
    waivers: tuple[Waiver, ...] = (),
    site: str = "",
) -> Edition:
    """An edition of these parts, numbered, with a line of its own for every step and act. Invented throughout."""
    bare = Edition(
        protocol="test", code="TS-1", title=words("Test"), kind=kind, version="1.0", effective=DAY, review=DAY,
        status="draft", owner=words("Owner"), audience=words("All"), purpose=words("Testing"), profile=profile,
        signal_scheme="ansi-z535", invented=True, pairs_with="", minutes=0, basis=(), approval=None, abbreviations=(),
        changes=(), reason=NO_TEXT, roles=roles, places=tuple(Place(p, words(p), n) for p, n in places),
        supplies=supplies, items=items, options=(), open_options=options,
        phases=(Phase("main", 1, words("Main"), tuple(s.id for s in steps)),), steps=steps, branches=branches,
        silenced=(), site=site, site_name=NO_TEXT, unit=NO_TEXT, sheets=(), waivers=waivers, speech_rate=0, address="",
        values=(),
    )  # fmt: skip
    return numbered(bare)


def numbered(edition: Edition) -> Edition:
    """The edition with its steps numbered and placed: step n on line 10 n, its acts on the lines below."""
    line = 0

    def place(step: Step, number: int, label: str) -> Step:
        nonlocal line
        line += 10
        acts = tuple(replace(a, where=Where("test.yaml", line + k, 9)) for k, a in enumerate(step.acts, 1))
        return replace(step, number=number, label=label, acts=acts, where=Where("test.yaml", line, 5))

    steps = tuple(place(s, n, str(n)) for n, s in enumerate(edition.steps, 1))
    branches = []
    for letter, b in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", edition.branches, strict=False):
        row = tuple(place(s, n, f"{letter}{n}") for n, s in enumerate(b.steps, 1))
        branches.append(replace(b, letter=letter, steps=row, where=Where("test.yaml", line, 3)))
    items = tuple(replace(i, where=Where("test.yaml", 1000 + n, 5)) for n, i in enumerate(edition.items))
    phases = tuple(replace(p, steps=tuple(s.id for s in steps if s.phase == p.id)) for p in edition.phases)
    return replace(edition, steps=steps, branches=tuple(branches), items=items, phases=phases)


def without(edition: Edition, *ids: str) -> Edition:
    """The edition without these steps."""
    return numbered(replace(edition, steps=tuple(s for s in edition.steps if s.id not in ids)))


def swapped(edition: Edition, one: str, other: str) -> Edition:
    """The edition with two steps in each other's place."""
    by_id = {s.id: s for s in edition.steps}
    order = [{one: other, other: one}.get(s.id, s.id) for s in edition.steps]
    return numbered(replace(edition, steps=tuple(by_id[i] for i in order)))


def moved(edition: Edition, id: str, before: str) -> Edition:
    """The edition with a step moved to before another."""
    rest = [s for s in edition.steps if s.id != id]
    at = next(n for n, s in enumerate(rest) if s.id == before)
    rest.insert(at, next(s for s in edition.steps if s.id == id))
    return numbered(replace(edition, steps=tuple(rest)))


def changed(edition: Edition, id: str, *acts: str) -> Edition:
    """The edition with other acts in one step, on the main path or in a branch."""

    def change(s: Step) -> Step:
        return replace(s, acts=tuple(act(a, s.actor) for a in acts)) if s.id == id else s

    branches = tuple(replace(b, steps=tuple(map(change, b.steps))) for b in edition.branches)
    return numbered(replace(edition, steps=tuple(map(change, edition.steps)), branches=branches))


def rules(findings: tuple[Finding, ...], severity: Severity | None = None) -> set[str]:
    """Names of the rules that found something, without the room."""
    return {f.rule.partition("/")[2] for f in findings if severity in (None, f.severity)}


def errors(findings: tuple[Finding, ...]) -> set[str]:
    """Names of the rules with errors."""
    return rules(findings, Severity.ERROR)
