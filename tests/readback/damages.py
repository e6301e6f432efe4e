"""Ways to damage a faithful artifact, each with the rule that must catch it."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace

from faithful import MM, Blank, Block, Code, Ink, Leaf, make_edition, words

from docgen.model.edition import Edition

STEPPED = ("poster", "cards", "script", "checklist")
EVERY = (*STEPPED, "notice")


@dataclass(frozen=True)
class Mutant:
    """A damage: to the marks of the leaves, or to the edition that is drawn (it is judged against the true one)."""

    name: str
    rule: str
    artifacts: tuple[str, ...]
    marks: Callable[[list[Leaf]], None] | None = None
    drawn: Callable[[Edition], Edition] | None = None


def all_marks(leaves: list[Leaf]) -> list[tuple[Leaf, Ink]]:
    return [(leaf, m) for leaf in leaves for m in leaf.marks if isinstance(m, Ink)]


def of(leaves: list[Leaf], what: str, step: str = "") -> list[Ink]:
    return [m for _, m in all_marks(leaves) if m.what == what and (not step or m.step == step)]


def leaf_of(leaves: list[Leaf], mark: object) -> Leaf:
    return next(leaf for leaf in leaves if any(m is mark for m in leaf.marks))


def remove(leaves: list[Leaf], wanted: Callable[[object], bool]) -> None:
    for leaf in leaves:
        leaf.marks = [m for m in leaf.marks if not wanted(m)]


# --- steps ---------------------------------------------------------------------------------------------------------


def changed_step(edition: Edition, id: str, **change) -> Edition:
    steps = tuple(replace(s, **change) if s.id == id else s for s in edition.steps)
    branches = tuple(
        replace(b, steps=tuple(replace(s, **change) if s.id == id else s for s in b.steps)) for b in edition.branches
    )
    return replace(edition, steps=steps, branches=branches)


def without_step(edition: Edition) -> Edition:
    """Step 5 is gone; the numbers after it stay."""
    phases = tuple(replace(p, steps=tuple(s for s in p.steps if s != "shield")) for p in edition.phases)
    return replace(edition, steps=tuple(s for s in edition.steps if s.id != "shield"), phases=phases)


def renumbered(edition: Edition) -> Edition:
    """Step 5 is gone and the rest moves up: an older edition's numbers."""
    edition = without_step(edition)
    steps = tuple(replace(s, number=n, label=str(n)) for n, s in enumerate(edition.steps, 1))
    return replace(edition, steps=steps)


def swapped(edition: Edition) -> Edition:
    """Steps 5 and 6 trade places, keeping their numbers."""
    phases = tuple(
        replace(p, steps=tuple({"shield": "clean-3", "clean-3": "shield"}.get(s, s) for s in p.steps))
        for p in edition.phases
    )
    return replace(edition, phases=phases)


def trade_places(leaves: list[Leaf]) -> None:
    """Steps 5 and 6 are said in order, but drawn in each other's places."""
    first = [m for w in ("number", "headline") for m in of(leaves, w, "shield")]
    second = [m for w in ("number", "headline") for m in of(leaves, w, "clean-3")]
    down = second[0].y - first[0].y
    for m in first:
        m.y += down
    for m in second:
        m.y -= down


def trade_numbers(leaves: list[Leaf]) -> None:
    """Only the numerals of steps 5 and 6 are drawn in each other's places."""
    (five,), (six,) = of(leaves, "number", "shield"), of(leaves, "number", "clean-3")
    five.y, six.y = six.y, five.y


def twice(leaves: list[Leaf]) -> None:
    """Step 6 stands once more below step 7."""
    leaf = leaf_of(leaves, of(leaves, "headline", "clean-3")[0])
    last = max((m for m in leaf.inks() if m.what not in ("stamp", "title", "draft")), key=lambda m: m.y)
    for what in ("number", "headline"):
        for m in of(leaves, what, "clean-3"):
            leaf.marks.append(replace(m, y=last.y + 2.5 * m.size))


def stray(leaves: list[Leaf]) -> None:
    """A step of another version, with a number of its own."""
    number, headline = of(leaves, "number", "clean-3")[0], of(leaves, "headline", "clean-3")[0]
    leaf = leaf_of(leaves, headline)
    last = max((m for m in leaf.inks() if m.what not in ("stamp", "title", "draft")), key=lambda m: m.y)
    leaf.marks.append(replace(number, text="8", y=last.y + 2.5 * number.size))
    leaf.marks.append(replace(headline, text="Wash your forearms", y=last.y + 2.5 * number.size))


def split(leaves: list[Leaf]) -> None:
    """The caution of step 2 stands on a sheet of its own before it."""
    parts = [m for _, m in all_marks(leaves) if m.caution and m.step == "clean-1"]
    remove(leaves, lambda m: any(m is p for p in parts))
    number = of(leaves, "number", "clean-1")[0]
    leaf = leaf_of(leaves, number)
    cut = next(n for n, m in enumerate(leaf.marks) if m is number)
    stamps = [copy.copy(m) for m in leaf.marks if isinstance(m, Ink) and m.what in ("stamp", "title")]
    tail = [m for m in leaf.marks[cut:] if not (isinstance(m, Ink) and m.what in ("stamp", "title"))]
    leaf.marks = [m for m in leaf.marks if not any(m is t for t in tail)] + parts
    leaves.insert(leaves.index(leaf) + 1, Leaf(leaf.width, leaf.height, tail + stamps))


# --- cautions ------------------------------------------------------------------------------------------------------


def no_caution(edition: Edition) -> Edition:
    return changed_step(edition, "outer-off", cautions=edition.step("outer-off").cautions[:1])


def _parts(leaves: list[Leaf], step: str) -> tuple[list[Ink], list[Ink]]:
    """The caution marks of a step, and all its others."""
    own = [m for _, m in all_marks(leaves) if m.step == step]
    return [m for m in own if m.caution], [m for m in own if not m.caution]


def caution_after(leaves: list[Leaf]) -> None:
    """The caution of step 7 is said and drawn below its headline."""
    parts, rest = _parts(leaves, "inner-off")
    leaf = leaf_of(leaves, parts[0])
    high, low = min(m.y for m in parts), max(m.y for m in rest)
    up = min(m.y for m in rest) - high
    for m in rest:
        m.y -= up
    down = low - up - high + 2 * parts[0].size
    for m in parts:
        m.y += down
    leaf.marks = [m for m in leaf.marks if not any(m is p for p in parts)]
    at = max(n for n, m in enumerate(leaf.marks) if any(m is r for r in rest)) + 1
    leaf.marks[at:at] = parts


def caution_early(leaves: list[Leaf]) -> None:
    """The caution of step 7 is said before step 6."""
    parts, _ = _parts(leaves, "inner-off")
    number = of(leaves, "number", "clean-3")[0]
    remove(leaves, lambda m: any(m is p for p in parts))
    leaf = leaf_of(leaves, number)
    at = next(n for n, m in enumerate(leaf.marks) if m is number)
    leaf.marks[at:at] = parts


def caution_below(leaves: list[Leaf]) -> None:
    """The caution of step 7 is said before its headline, but drawn below it."""
    parts, rest = _parts(leaves, "inner-off")
    down = max(m.y for m in rest) - min(m.y for m in parts) + 2 * parts[0].size
    for m in parts:
        m.y += down


def other_signal(leaves: list[Leaf]) -> None:
    of(leaves, "signal", "outer-off")[1].text = "CAUTION"


def stray_caution(leaves: list[Leaf]) -> None:
    """A caution of another version stands before step 4."""
    number = of(leaves, "number", "clean-2")[0]
    model = of(leaves, "signal", "clean-1")[0]
    leaf = leaf_of(leaves, number)
    at = next(n for n, m in enumerate(leaf.marks) if m is number)
    lines = ("WARNING", "The floor may be wet.")
    leaf.marks[at:at] = [replace(model, text=t, x=model.x + 300, y=number.y - 20 + 18 * n) for n, t in enumerate(lines)]


# --- words ---------------------------------------------------------------------------------------------------------


def reword(what: str, step: str, old: str, new: str) -> Callable[[list[Leaf]], None]:
    def change(leaves: list[Leaf]) -> None:
        for m in of(leaves, what, step):
            m.text = m.text.replace(old, new)

    return change


def drop(what: str, step: str = "") -> Callable[[list[Leaf]], None]:
    return lambda leaves: remove(
        leaves, lambda m: isinstance(m, Ink) and m.what == what and (not step or m.step == step)
    )


def run_together(leaves: list[Leaf]) -> None:
    for m in of(leaves, "headline", "outer-off"):
        m.text = m.text.replace("Take off", "Takeoff")


# --- ink -----------------------------------------------------------------------------------------------------------


def first(what: str, step: str, **change) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        mark = of(leaves, what, step)[0]
        for name, value in change.items():
            setattr(mark, name, value(mark) if callable(value) else value)

    return apply


def cover(share: float) -> Callable[[list[Leaf]], None]:
    """A white rectangle over the last `share` of a headline, painted after it."""

    def apply(leaves: list[Leaf]) -> None:
        mark = of(leaves, "headline", "shield")[0]
        wide = mark.size * 0.5 * len(mark.text)
        leaf_of(leaves, mark).marks.append(
            Block(mark.x + wide * (1 - share), mark.y - mark.size, wide * (share + 0.6), mark.size * 1.4)
        )

    return apply


def ground(colour: tuple[float, float, float]) -> Callable[[list[Leaf]], None]:
    """A coloured rectangle under a headline."""

    def apply(leaves: list[Leaf]) -> None:
        mark = of(leaves, "headline", "shield")[0]
        leaf_of(leaves, mark).marks.insert(
            0, Block(mark.x - 2, mark.y - mark.size, 15 * mark.size, mark.size * 1.4, colour)
        )

    return apply


def over(leaves: list[Leaf]) -> None:
    """Other words printed over a headline."""
    mark = of(leaves, "headline", "shield")[0]
    leaf_of(leaves, mark).marks.append(replace(mark, what="stray", text="Wash your", y=mark.y + 3))


def shift_all(dx: float) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        for _, m in all_marks(leaves):
            if m.what == "headline":
                m.x += dx

    return apply


def to_edge(dx: float) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        for m in of(leaves, "title"):
            m.x = dx

    return apply


def tiny(what: str, size: float) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        for m in of(leaves, what):
            m.size = size

    return apply


# --- stamp and code ------------------------------------------------------------------------------------------------


def stamp_text(old: str, new: str, page: int | None = None) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        for n, leaf in enumerate(leaves):
            if page is None or n == page:
                for m in leaf.inks("stamp"):
                    m.text = m.text.replace(old, new)

    return apply


def last_page_unstamped(leaves: list[Leaf]) -> None:
    leaves[-1].marks = [m for m in leaves[-1].marks if not (isinstance(m, Ink) and m.what == "stamp")]


def _codes(leaves: list[Leaf]) -> list[Code]:
    return [m for leaf in leaves for m in leaf.marks if isinstance(m, Code)]


def other_code(leaves: list[Leaf]) -> None:
    edition = make_edition(version="2.0")
    from docgen.model.stamp import code_of

    for code in _codes(leaves):
        code.text = str(code_of(edition, "poster", 1, 1))


def no_code(leaves: list[Leaf]) -> None:
    remove(leaves, lambda m: isinstance(m, Code))


def half_code(leaves: list[Leaf]) -> None:
    for leaf in leaves:
        for m in list(leaf.marks):
            if isinstance(m, Code):
                leaf.marks.append(Block(m.x, m.y, m.side / 2, m.side))


def fine_code(leaves: list[Leaf]) -> None:
    for code in _codes(leaves):
        code.side = 29 * 0.3 * MM


def crowded_code(leaves: list[Leaf]) -> None:
    for leaf in leaves:
        for m in list(leaf.marks):
            if isinstance(m, Code):
                leaf.marks.append(Block(m.x - 2 * m.side / 29 - 4, m.y, 4, m.side, (0, 0, 0)))


# --- fields --------------------------------------------------------------------------------------------------------


def no_field(name: str) -> Callable[[list[Leaf]], None]:
    return lambda leaves: remove(leaves, lambda m: isinstance(m, Blank) and m.name == name)


def field_change(field: str, **change) -> Callable[[list[Leaf]], None]:
    def apply(leaves: list[Leaf]) -> None:
        for leaf in leaves:
            for m in leaf.marks:
                if isinstance(m, Blank) and m.name == field:
                    for key, value in change.items():
                        setattr(m, key, value)

    return apply


def same_sign(edition: Edition) -> Edition:
    return replace(edition, fingerprint="7K3MQ2WXA5")


MUTANTS = (
    Mutant("a step is gone", "readback/step-missing", STEPPED, drawn=without_step),
    Mutant("numbers of an older edition", "readback/number-wrong", STEPPED, drawn=renumbered),
    Mutant(
        "a step is gone and its headline was one of several alike",
        "readback/number-wrong",
        STEPPED,
        marks=lambda leaves: remove(
            leaves, lambda m: isinstance(m, Ink) and m.what == "number" and m.step == "clean-2"
        ),
    ),
    Mutant("two steps swapped", "readback/step-order", STEPPED, drawn=swapped),
    Mutant("two steps in each other's places", "readback/step-out-of-place", STEPPED, marks=trade_places),
    Mutant("two numerals in each other's places", "readback/number-wrong", STEPPED, marks=trade_numbers),
    Mutant("a step twice", "readback/step-twice", STEPPED, marks=twice),
    Mutant("a step of another version", "readback/foreign-step", STEPPED, marks=stray),
    Mutant("a caution on another sheet than its step", "readback/step-split", STEPPED, marks=split),
    Mutant(
        "a headline reworded", "readback/text-altered", STEPPED, marks=reword("headline", "look", "whole", "entire")
    ),
    Mutant(
        "a letter added to a headline",
        "readback/text-altered",
        STEPPED,
        marks=reword("headline", "look", "suit", "suits"),
    ),
    Mutant("a caution is gone", "readback/caution-missing", STEPPED, drawn=no_caution),
    Mutant("half a caution is gone", "readback/caution-missing", STEPPED, marks=drop("consequence", "clean-1")),
    Mutant("a caution after its step", "readback/caution-after-step", STEPPED, marks=caution_after),
    Mutant("a caution a step too early", "readback/caution-misplaced", STEPPED, marks=caution_early),
    Mutant("a caution drawn below its step", "readback/caution-out-of-place", STEPPED, marks=caution_below),
    Mutant("a caution under another signal word", "readback/signal-word", STEPPED, marks=other_signal),
    Mutant("a caution without its signal word", "readback/signal-word", STEPPED, marks=drop("signal", "clean-1")),
    Mutant(
        "a caution of another version",
        "readback/foreign-caution",
        ("poster", "script", "checklist"),
        marks=stray_caution,
    ),
    Mutant(
        "another number in a caution",
        "readback/number-altered",
        STEPPED,
        marks=reword("avoid", "clean-1", "20 s", "2 s"),
    ),
    Mutant(
        "another unit in a caution",
        "readback/unit-altered",
        STEPPED,
        marks=reword("consequence", "outer-off", "2 m", "2 cm"),
    ),
    Mutant(
        "a caution that lost its not",
        "readback/negation-altered",
        STEPPED,
        marks=reword("avoid", "outer-off", "Do not pull", "Do pull"),
    ),
    Mutant("a hold is gone", "readback/text-missing", STEPPED, marks=drop("hold")),
    Mutant("what to say lost a word", "readback/text-altered", ("script",), marks=reword("say", "look", "whole ", "")),
    Mutant("an answer is gone", "readback/text-missing", ("script",), marks=drop("answer", "look")),
    Mutant(
        "an answer is gone that the next steps give too",
        "readback/text-missing",
        ("script",),
        marks=drop("answer", "clean-2"),
    ),
    Mutant(
        "what to do lost its not", "readback/negation-altered", ("script",), marks=reword("do", "clean-1", ", not", ",")
    ),
    Mutant("what to watch is gone", "readback/text-missing", ("script", "checklist"), marks=drop("watch", "outer-off")),
    Mutant("an end state is gone", "readback/text-missing", ("script", "checklist"), marks=drop("done-when", "shield")),
    Mutant("a branch without its question", "readback/branch-missing", STEPPED, marks=drop("question")),
    Mutant(
        "a branch that says not where it goes on",
        "readback/rejoin-missing",
        STEPPED,
        marks=reword("after", "tear-change", "step 4", "another step"),
    ),
    Mutant(
        "a branch that tells nobody",
        "readback/text-missing",
        ("script", "checklist"),
        drawn=lambda e: replace(e, branches=(replace(e.branches[0], tell=words("")),)),
    ),
    Mutant("a change is gone", "readback/text-missing", ("notice",), drawn=lambda e: replace(e, changes=e.changes[:1])),
    Mutant(
        "a change with another number",
        "readback/number-altered",
        ("notice",),
        marks=reword("change", "", "30 s", "40 s"),
    ),
    Mutant("words run together", "readback/words-run-together", STEPPED, marks=run_together),
    Mutant(
        "another title",
        "readback/title-missing",
        EVERY,
        drawn=lambda e: replace(e, title=words("Put on double gloves")),
    ),
    Mutant(
        "yesterday's stamp",
        "readback/stamp-foreign",
        EVERY,
        drawn=lambda e: replace(e, version="2.0", effective=datetime.date(2025, 3, 1)),
    ),
    Mutant("yesterday's version", "readback/stamp-missing", EVERY, marks=stamp_text("v2.1", "v2.0")),
    Mutant("another fingerprint", "readback/stamp-foreign", EVERY, drawn=same_sign),
    Mutant("another document code", "readback/stamp-missing", EVERY, marks=stamp_text("IP-GLV-01", "IP-GLV-02")),
    Mutant("another language tag", "readback/stamp-missing", EVERY, marks=stamp_text("· en", "· es")),
    Mutant("a review date is gone", "readback/stamp-missing", EVERY, marks=stamp_text("review by 2027-03-01", "")),
    Mutant(
        "dates in each other's places",
        "readback/stamp-wrong",
        EVERY,
        marks=lambda leaves: (
            stamp_text("2026-03-01", "#")(leaves),
            stamp_text("2027-03-01", "2026-03-01")(leaves),
            stamp_text("#", "2027-03-01")(leaves),
        ),
    ),
    Mutant("a sheet without stamp", "readback/stamp-missing", EVERY, marks=last_page_unstamped),
    Mutant("a wrong sheet number", "readback/stamp-numbering", EVERY, marks=stamp_text("sheet 1 of", "sheet 2 of", 0)),
    Mutant(
        "a draft's band on a sheet that is none", "readback/draft-band", EVERY, drawn=lambda e: replace(e, draft=True)
    ),
    Mutant("a code of another version", "readback/code-wrong", EVERY, marks=other_code),
    Mutant("no code", "readback/code-missing", EVERY, marks=no_code),
    Mutant("a code half covered", "readback/code-missing", EVERY, marks=half_code),
    Mutant("a code too fine", "readback/code-too-fine", EVERY, marks=fine_code),
    Mutant("a code without quiet zone", "readback/code-crowded", EVERY, marks=crowded_code),
    Mutant("white on white", "readback/no-ink", STEPPED, marks=first("headline", "shield", colour=(1, 1, 1))),
    Mutant("a caution white on white", "readback/no-ink", STEPPED, marks=first("hazard", "clean-1", colour=(1, 1, 1))),
    Mutant("black on black", "readback/no-ink", STEPPED, marks=ground((0, 0, 0))),
    Mutant("a render mode that paints nothing", "readback/no-ink", STEPPED, marks=first("headline", "shield", mode=3)),
    Mutant("transparent", "readback/no-ink", STEPPED, marks=first("headline", "shield", alpha=0)),
    Mutant("wholly covered", "readback/no-ink", STEPPED, marks=cover(1.2)),
    Mutant("partly covered", "readback/covered", STEPPED, marks=cover(0.3)),
    Mutant(
        "cut off at the right",
        "readback/cut",
        STEPPED,
        marks=first("headline", "shield", clip=lambda m: (m.x - 2, m.y - m.size, 5 * m.size, 2 * m.size)),
    ),
    Mutant(
        "cut off at the bottom",
        "readback/cut",
        STEPPED,
        marks=first("headline", "shield", clip=lambda m: (m.x - 2, m.y - m.size, 60 * m.size, 0.75 * m.size)),
    ),
    Mutant(
        "light grey on white", "readback/faint", STEPPED, marks=first("headline", "shield", colour=(0.75, 0.75, 0.75))
    ),
    Mutant(
        "red on green of the same grey",
        "readback/faint",
        STEPPED,
        marks=lambda leaves: (
            first("headline", "shield", colour=(0.9, 0.1, 0.1))(leaves),
            ground((0, 0.55, 0.1))(leaves),
        ),
    ),
    Mutant("a stamp too faint", "readback/faint", EVERY, marks=first("stamp", "", colour=(0.6, 0.6, 0.6))),
    Mutant("words over words", "readback/overlap", STEPPED, marks=over),
    Mutant("off the sheet", "readback/off-sheet", STEPPED, marks=shift_all(3000)),
    Mutant("half off the sheet", "readback/off-sheet", EVERY, marks=to_edge(-20)),
    Mutant("at the trimmed edge", "readback/near-edge", EVERY, marks=to_edge(2)),
    Mutant("turned", "readback/distorted", STEPPED, marks=first("headline", "shield", turn=4)),
    Mutant("squeezed", "readback/distorted", STEPPED, marks=first("headline", "shield", stretch=0.6)),
    Mutant(
        "a missing glyph",
        "readback/missing-glyph",
        STEPPED,
        marks=reword("headline", "shield", "shield", "shield \u4e2d"),
    ),
    Mutant("headlines below the floor", "readback/too-small", STEPPED, marks=tiny("headline", 9)),
    Mutant("cautions below the floor", "readback/too-small", STEPPED, marks=tiny("hazard", 9)),
    Mutant("a stamp below the floor", "readback/too-small", EVERY, marks=tiny("stamp", 6)),
    Mutant(
        "too great a distance claimed",
        "readback/distance-claim",
        STEPPED,
        marks=stamp_text("readable from ", "readable from 1"),
    ),
    Mutant("no distance claimed", "readback/distance-claim", EVERY, marks=stamp_text(" m", "")),
    Mutant("too small a distance claimed", "readback/distance-claim", ("poster",), marks=stamp_text("1.5 m", "0.8 m")),
    Mutant("no answer boxes for a step", "readback/field-missing", ("checklist",), marks=no_field("clean-2.result")),
    Mutant("no comment for a step", "readback/field-missing", ("checklist",), marks=no_field("tear-change.comment")),
    Mutant("no breach choice in the record", "readback/field-missing", ("checklist",), marks=no_field("breach")),
    Mutant(
        "entries of the record are gone",
        "readback/field-missing",
        ("checklist",),
        marks=lambda leaves: (no_field("wearer")(leaves), no_field("observer")(leaves)),
    ),
    Mutant(
        "a field without accessible name",
        "readback/field-unnamed",
        ("checklist",),
        marks=field_change("wearer", label=""),
    ),
    Mutant("two entries of one name", "readback/field-shared", ("checklist",), marks=field_change("start", name="end")),
    Mutant(
        "a field that does not show on paper",
        "readback/field-unseen",
        ("checklist",),
        marks=field_change("wearer", shown=False),
    ),
)
"""Every mutant; its rule must be among the findings, and the undamaged artifact must have none."""
