"""Exploring merges what is equal and leaves nothing out: compared with walking every path of every combination."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st
from published_sequences import ENH_N95_GOWN
from sequence_kit import EXPOSURE, OBSERVER, WEARER, branch, edition, item, numbered, rules, step

from docgen.analysis.sequence import run
from docgen.analysis.sequence.acts import enter, leave, perform
from docgen.analysis.sequence.explore import explore, in_reach, needs
from docgen.analysis.sequence.options import MOST_COMBINATIONS, options_of
from docgen.analysis.sequence.rules import CHECKS
from docgen.analysis.sequence.rules.base import Beginning, End, Scene
from docgen.analysis.sequence.setting import Setting, setting_of
from docgen.analysis.sequence.state import State, lacking, starts
from docgen.model.edition import Edition, Step

# --- an independent walk: every combination alone, every path, nothing merged -------------------------------

Key = tuple[str, str, int, tuple[str, ...]]


def chosen(edition: Edition, choices: tuple[str, ...]) -> Edition:
    """The edition with one choice left for each option."""
    return replace(
        edition, open_options=tuple((o, (c,)) for (o, _), c in zip(edition.open_options, choices, strict=True))
    )


def do(setting: Setting, step: Step, state: State) -> tuple[State, set[Key]]:
    """One step with every check of its acts."""
    keys = set()
    absent = [i for i in setting.items if not setting.present[i]]
    targets = [tuple(t for t in a.targets if t not in absent) or a.targets for a in step.acts]
    checks = [c for c in CHECKS if setting.kind in c.kinds]
    for check in checks:
        if check.step:
            keys |= {
                (b.rule, step.id, -1, b.subject) for b in check.step(Beginning(setting, state, step)) if b.within & 1
            }
    state = enter(setting, state, step)
    for at, act in enumerate(step.acts):
        scene = Scene(setting, state, step, at, act, targets[at], tuple(absent))
        for check in checks:
            if check.act and (not check.verbs or act.verb in check.verbs):
                keys |= {(b.rule, step.id, at, b.subject) for b in check.act(scene) if b.within & 1}
        state = perform(setting, state, act, tuple(t for t in targets[at] if t not in absent))
    return leave(setting, state, step), keys


def walk(setting: Setting, state: State, at: int, most: int) -> Iterator[Key]:
    """Every path from step `at` of the main path with at most `most` more branches."""
    steps = setting.edition.steps
    if most and at < len(steps):
        for b in setting.edition.branches:
            if b.anywhere and in_reach(state, setting, needs(setting, b)) & 1:
                yield from through(setting, state, b.id, at, most - 1)
    if at == len(steps):
        yield from ends(setting, state, steps[-1], "")
        return
    if not setting.options.mask(steps[at].when):
        yield from walk(setting, state, at + 1, most)
        return
    state, keys = do(setting, steps[at], state)
    yield from keys
    yield from walk(setting, state, at + 1, most)
    for name in steps[at].branches if most else ():
        yield from through(setting, state, name, at + 1, most - 1)


def through(setting: Setting, state: State, name: str, onward: int, most: int) -> Iterator[Key]:
    """A branch, then the main path."""
    b = setting.branches[name]
    for s in b.steps:
        if setting.options.mask(s.when):
            state, keys = do(setting, s, state)
            yield from keys
    if b.rejoin:
        yield from walk(setting, state, setting.index.get(b.rejoin, onward), most)
    else:
        yield from ends(setting, state, b.steps[-1], name)


def ends(setting: Setting, state: State, step: Step, name: str) -> Iterator[Key]:
    for check in CHECKS:
        if check.end and setting.kind in check.kinds:
            for b in check.end(End(setting, state, step, setting.branches.get(name))):
                if b.within & 1:
                    yield b.rule, step.id, -2, b.subject


def every_path(edition: Edition, most: int) -> dict[tuple[str, ...], set[Key]]:
    """Combination → what is wrong on any of its paths with at most `most` branches."""
    out = {}
    for choices in product(*(c for _, c in edition.open_options)):
        setting = setting_of(chosen(edition, choices))
        absent = [i for i in setting.items if not setting.present[i]]
        out[choices] = {k for s, _ in starts(setting) for k in walk(setting, lacking(s, absent), 0, most)}
    return out


# --- random editions ----------------------------------------------------------------------------------------

ITEMS = ("gown", "goggles", "respirator", "outer", "inner", "shoes")
ACTS = st.sampled_from(
    """sanitize outer
    sanitize inner
    sanitize shoes using=wipes
    rub-hands bare
    change-gloves inner
    put-on inner using=new-pair
    remove outer touching=inside into=waste
    remove inner touching=inside into=waste
    remove gown touching=outside
    remove gown touching=inside into=waste
    remove gown+outer combined touching=outside into=waste
    remove goggles touching=rear-strap into=waste
    remove respirator touching=rear-strap
    discard gown into=waste
    open gown fastening=ties
    touch goggles touching=outside
    touch shoes
    inspect inner
    inspect gown+goggles
    inspect skin+clothing by=observer
    move wearer to=clean-area""".splitlines()
)
X, Y, PQ, XR = (("a", ("x",)),), (("a", ("y",)),), (("b", ("p", "q")),), (("a", ("x",)), ("b", ("r",)))
WHENS = st.sampled_from([(), (), X, Y, PQ, XR])


@st.composite
def editions(draw: st.DrawFn) -> Edition:
    """A small removal with two options, optional items, and up to two branches."""
    guarded = {name: draw(WHENS) for name in ITEMS}
    items = (
        item("gown", "gown", "respirator", when=guarded["gown"]),
        item("goggles", "goggles", "respirator", when=guarded["goggles"]),
        item("respirator", "respirator", when=guarded["respirator"]),
        item("outer", "gloves", "inner gown", layer="outer", when=guarded["outer"]),
        item("inner", "gloves", layer="inner", when=guarded["inner"]),
        item("shoes", "footwear", kept=True, when=guarded["shoes"]),
    )
    count = draw(st.integers(1, 5))
    names = ["b0", "b1"][: draw(st.integers(0, 2))]
    offered = st.lists(st.sampled_from(names), max_size=1).map(tuple) if names else st.just(())
    steps = tuple(
        step(f"s{n}", *draw(st.lists(ACTS, min_size=1, max_size=2)), when=draw(WHENS), branches=draw(offered))
        for n in range(count)
    )
    branches = []
    for name in names:
        rows = [step(f"{name}-{k}", draw(ACTS), when=draw(WHENS)) for k in range(draw(st.integers(1, 2)))]
        rejoin = draw(st.sampled_from(["same", f"s{count - 1}", ""]))
        anywhere = draw(st.booleans())
        branches.append(branch(name, *rows, rejoin=rejoin, leave="" if rejoin else "Go.", anywhere=anywhere, tell="x"))
    options = (("a", ("x", "y")), ("b", ("p", "q", "r")))
    roles = (WEARER, OBSERVER)
    return edition(items, steps, tuple(branches), "enhanced", roles=roles, options=options)


@settings(max_examples=40, deadline=None)
@given(editions())
def test_exploring_finds_what_walking_every_path_finds(edition: Edition) -> None:
    """Same breaches as an independent walk of every path; merging and late binding lose and add nothing."""
    brute = every_path(edition, 2)
    setting = setting_of(edition)
    found = {k: f for k, f in explore(setting, CHECKS).found.items() if f.nodes[0][1] is not None}
    everything = set().union(*brute.values())
    few = {k for k, f in found.items() if f.round <= 2}
    assert few == everything
    names = [o for o, _ in edition.open_options]
    for key, breach in found.items():
        for row, choices in enumerate(setting.options.rows):
            if breach.mask >> row & 1 and breach.round <= 2:
                told = dict(zip(setting.options.names, choices, strict=True))
                full = [c for c in brute if all(dict(zip(names, c, strict=True))[o] == v for o, v in told.items())]
                assert all(key in brute[c] for c in full)


@settings(max_examples=40, deadline=None)
@given(editions())
def test_findings_under_one_choice_are_findings_of_all(edition: Edition) -> None:
    """Whatever a site's edition would be told is told of the protocol alone, though perhaps with fewer branches."""
    general = {k[:1] + k[3:] for k in explore(setting_of(edition), CHECKS).found}
    for choices in product(*(c for _, c in edition.open_options)):
        assert {k[:1] + k[3:] for k in explore(setting_of(chosen(edition, choices)), CHECKS).found} <= general


# --- counts and bounds --------------------------------------------------------------------------------------


def synthetic(steps: int = 200, options: int = 10, branches: int = 10, anywhere: bool = True) -> Edition:
    """Many steps, each option with an item of its own and guards all along, each branch a glove change."""
    every = steps // options
    names = tuple((f"o{k}", ("yes", "no")) for k in range(options))
    items = tuple(item(f"i{k}", "apron", when=((f"o{k}", ("yes",)),)) for k in range(options))
    row = []
    for n in range(steps):
        k, here = n // every % options, n % every
        when = ((f"o{(k + here) % options}", ("yes" if here % 2 else "no",)),) if here % 4 == 3 else ()
        acts = [("sanitize inner using=rub",), ("touch shield touching=rear-strap",), ("inspect inner",)][n % 3]
        if here == 15:
            when, acts = ((f"o{k}", ("yes",)),), (f"remove i{k} touching=inside into=waste",)
        row.append(step(f"s{n}", *acts, when=when, branches=() if anywhere else (f"b{n % branches}",)))
    changes = tuple(
        branch(
            f"b{k}",
            step(f"b{k}-sanitize", "sanitize inner using=rub"),
            step(f"b{k}-off", "remove inner touching=inside into=waste"),
            step(f"b{k}-rub", "rub-hands bare using=rub"),
            step(f"b{k}-on", "put-on inner using=new-pair"),
            anywhere=anywhere,
            tell="Somebody.",
        )
        for k in range(branches)
    )
    gloves = (item("shield", "face-shield"), item("inner", "gloves", layer="inner"))
    return edition((*items, *gloves), tuple(row), changes, "enhanced", roles=(WEARER, OBSERVER), options=names)


def test_a_large_protocol_is_explored_whole() -> None:
    """200 steps, 10 options, 10 branches at every step: all 1,024 combinations, without a bound."""
    _, _, counts = run(synthetic())
    assert counts.combinations == 1024
    assert counts.branch_points == 2000
    assert counts.bounded == ""
    assert counts.steps < 40_000  # what makes it fast: a step is run for a state, not for a combination


def test_a_bound_is_told() -> None:
    """Past the budget the walk stops, says how far it came, and that is a finding."""
    large = synthetic(60, 6, 6)
    main = run(replace(large, branches=()))[2].steps
    found, _, counts = run(large, most_runs=main + 100)
    assert counts.bounded.startswith("stopped after ") and "every path with fewer than 1 branches" in counts.bounded
    assert "not-explored-whole" in rules(found)
    assert "before the main path" in run(large, most_runs=3)[2].bounded


def test_past_the_bound_every_two_choices_still_meet() -> None:
    """With too many combinations every pair of choices is explored, and the rest is told."""
    options = tuple((f"o{k}", ("x", "y", "z")) for k in range(12))
    steps = tuple(step(f"s{k}", "note", when=((f"o{k}", ("x",)),)) for k in range(12))
    wide = edition((), steps, (), options=options)
    some = options_of(wide)
    assert 3**12 > MOST_COMBINATIONS >= len(some.rows)
    pairs = {(i, a[i], j, a[j]) for a in some.rows for i in range(12) for j in range(i)}
    assert len(pairs) == 66 * 9
    counts = run(wide)[2]
    assert counts.combinations == 3**12 and counts.bounded.startswith(f"{len(some.rows)} of {3**12} combinations")


def test_an_option_no_part_asks_for_costs_nothing() -> None:
    """It counts as a combination and is not explored twice."""
    idle = replace(ENH_N95_GOWN, open_options=(("colour", ("red", "green", "blue")),))
    assert run(idle)[2].combinations == 3
    assert run(idle)[2].steps == run(ENH_N95_GOWN)[2].steps


def test_branches_are_counted_where_they_can_be_taken() -> None:
    """A branch for any step counts at each step of the main path, a named one where it is named."""
    counts = run(ENH_N95_GOWN)[2]
    steps = len(ENH_N95_GOWN.steps)
    assert counts.branch_points == steps + 2  # exposure anywhere; torn glove and soiled once each
    assert EXPOSURE.anywhere


def test_a_branch_for_any_step_is_taken_only_where_it_can_be_done() -> None:
    """Changing the inner gloves needs them outermost: not under the outer pair, and not when they are off."""
    change = branch("change", step("change-1", "change-gloves inner-gloves"), anywhere=True, tell="x")
    there = numbered(replace(ENH_N95_GOWN, branches=(*ENH_N95_GOWN.branches, change)))
    entered = {s.at for s, b in explore(setting_of(there), CHECKS).entered if b == "change"}
    off = [s.id for s in there.steps].index("outer-gloves-off")
    gone = [s.id for s in there.steps].index("inner-gloves-off")
    assert entered == set(range(off + 1, gone + 1))
