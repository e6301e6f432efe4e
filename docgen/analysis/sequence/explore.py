"""Turn an edition into every state it can reach: each combination of options, each branch taken or not at each place.

The walk goes in rounds. Round 0 takes no branch; round n + 1 starts where round n could have taken one more. So the
first path to anything has the fewest branches. Within a round equal states at one place are one node, with the set of
combinations that reach it; a step is run once for each node, however many combinations there are. Nothing is sampled:
what a budget cuts off is said in `Counts.bounded`.

Where a branch is offered: after a step that names it; and, when it may happen `anywhere`, before every step of the
main path at which what it first takes off, opens, changes or cleans is worn and in reach. It goes on at its `rejoin`;
`same` is the step after the one that named it, or the one it interrupted. Branch steps offer the branches they name,
but a branch that may happen anywhere interrupts only the main path.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from typing import NamedTuple

from docgen.analysis.sequence.acts import enter, leave, perform
from docgen.analysis.sequence.rules.base import Beginning, Breach, Check, End, Scene
from docgen.analysis.sequence.setting import HANDS, Setting
from docgen.analysis.sequence.state import State, lacking, settled, starts
from docgen.model.edition import Act, Branch, Step
from docgen.model.moment import Counts

MOST_RUNS = 60_000
"""Steps run before the walk stops and says so: some seconds on a small machine."""


class Spot(NamedTuple):
    """A place in the text: before step `at` of the main path (`branch` empty) or of a branch, with the way back."""

    branch: str
    at: int
    back: tuple[tuple[str, int], ...] = ()
    """Where each open branch goes on, innermost last: (branch or empty, step)."""
    base: int = 0
    """The step of the main path this belongs to: spots are visited in this order."""


Node = tuple[Spot, State]


@dataclass(frozen=True, slots=True)
class Arrival:
    """How some combinations came to a node first."""

    mask: int
    parent: Node | None
    taken: str = ""
    """The branch that was entered on the way from the parent, if any."""


@dataclass(slots=True)
class Found:
    """One breach, with every combination that shows it along paths with the fewest branches."""

    breach: Breach
    step: str
    at: int
    """Act in the step; −1 for the step, −2 for the end of the path."""
    round: int
    mask: int
    nodes: list[tuple[int, Node | None]]


@dataclass(slots=True)
class Walk:
    """The result of a walk."""

    setting: Setting
    found: dict[tuple[str, str, int, tuple[str, ...]], Found] = field(default_factory=dict)
    arrivals: dict[Node, list[Arrival]] = field(default_factory=dict)
    entered: set[tuple[Spot, str]] = field(default_factory=set)
    runs: int = 0
    bounded: str = ""

    def counts(self) -> Counts:
        """What was explored."""
        options = self.setting.options
        bounded = "; ".join(b for b in (options.bounded, self.bounded) if b)
        points = len({(spot.branch, spot.at, branch) for spot, branch in self.entered})
        return Counts(options.total, points, len(self.arrivals), self.runs, bounded)

    def never_entered(self) -> list[Branch]:
        """Branches for any step that no state allowed; none when the walk was cut short."""
        entered = {branch for _, branch in self.entered}
        branches = self.setting.edition.branches if not self.bounded else ()
        return [b for b in branches if b.anywhere and b.id not in entered and self.setting.options.mask(b.when)]

    def note(self, breach: Breach, step: str, at: int, round: int, mask: int, node: Node | None) -> None:
        """Remember a breach, and the combinations that show it with the fewest branches."""
        mask &= breach.within
        if not mask:
            return
        key = (breach.rule, step, at, breach.subject)
        known = self.found.get(key)
        if known is None:
            self.found[key] = Found(breach, step, at, round, mask, [(mask, node)])
        elif known.round == round:
            known.mask |= mask
            known.nodes.append((mask, node))


class _Walker:
    """One walk under way: the tables prepared for speed, and the frontier."""

    def __init__(self, setting: Setting, checks: Iterable[Check], most_runs: int) -> None:
        self.setting = setting
        self.most_runs = most_runs
        self.walk = Walk(setting)
        asked = [check for check in checks if setting.kind in check.kinds]
        self.step_checks = [c.step for c in asked if c.step]
        self.end_checks = [c.end for c in asked if c.end]
        self.whole_checks = [c.whole for c in asked if c.whole]
        verbs = {act.verb for _, _, act in setting.acts()}
        self.act_checks = {v: [c.act for c in asked if c.act and (not c.verbs or v in c.verbs)] for v in verbs}
        self.masks = {step.id: setting.options.mask(step.when) for step in setting.steps.values()}
        self.branch_masks = {b.id: setting.options.mask(b.when) for b in setting.edition.branches}
        self.variants = {step.id: list(variants(setting, step)) for step in setting.steps.values()}
        self.needs = {b.id: needs(setting, b) for b in setting.edition.branches}
        self.anywhere = [b for b in setting.edition.branches if b.anywhere and b.steps]
        self.memo: dict[tuple[str, int, State], tuple[State, list[tuple[Breach, int]]]] = {}
        self.heap: list[tuple[int, int, int, int, Spot]] = []
        self.waiting: dict[Spot, dict[State, int]] = {}
        self.reached: dict[Node, int] = {}
        self.later: list[tuple[Node, int, Node | None, str]] = []
        self.round = 0

    def run(self) -> Walk:
        """Walk until nothing new is reached, or the budget is spent."""
        for whole in self.whole_checks:
            for breach, step, at, mask in whole(self.setting):
                self.walk.note(breach, step, at, 0, mask, None)
        for state, mask in starts(self.setting) if self.setting.edition.steps else ():
            self.reach((Spot("", 0), state), mask, None, "")
        while self.heap or self.later:
            if not self.heap:
                self.round += 1
                for node, mask, parent, taken in self.later:
                    self.reach(node, mask, parent, taken)
                self.later = []
                continue
            *_, spot = heappop(self.heap)
            for state, mask in self.waiting.pop(spot, {}).items():
                self.visit(spot, state, mask)
            if self.walk.runs > self.most_runs:
                self.walk.bounded = self.left_out()
                break
        return self.walk

    def left_out(self) -> str:
        stopped = f"stopped after {self.walk.runs} steps"
        if not self.round:
            return f"{stopped}, before the main path was explored in all combinations"
        return f"{stopped}: every path with fewer than {self.round} branches was explored, those with more only in part"

    def reach(self, node: Node, mask: int, parent: Node | None, taken: str) -> None:
        spot = node[0]
        state = settled(self.setting, node[1], mask, spot.base)
        node = spot, state
        known = self.reached.get(node, 0)
        fresh = mask & ~known
        if not fresh:
            return
        self.reached[node] = known | fresh
        self.walk.arrivals.setdefault(node, []).append(Arrival(fresh, parent, taken))
        waiting = self.waiting.get(spot)
        if waiting is None:
            waiting = self.waiting[spot] = {}
            heappush(self.heap, (spot.base, -len(spot.back), spot.at, len(self.reached), spot))
        waiting[state] = waiting.get(state, 0) | fresh

    def visit(self, spot: Spot, state: State, mask: int) -> None:
        node = (spot, state)
        steps = self.setting.branches[spot.branch].steps if spot.branch else self.setting.edition.steps
        if not spot.branch:
            for branch in self.anywhere:
                here = mask & self.branch_masks[branch.id] & in_reach(state, self.setting, self.needs[branch.id])
                if here and spot.at < len(steps):
                    self.enter_branch(branch, node, state, here, spot.at)
        if spot.at == len(steps):
            self.finish(spot, state, mask)
            return
        step = steps[spot.at]
        here = mask & self.masks[step.id]
        if mask & ~here:
            self.reach((self.next(spot), state), mask & ~here, node, "")
        for number, variant in enumerate(self.variants[step.id]):
            some = here & variant.mask
            if some:
                self.do(node, step, number, variant, some)

    def do(self, node: Node, step: Step, number: int, variant: Variant, mask: int) -> None:
        spot, state = node
        after, breaches = self.result(step, number, variant, state)
        self.walk.runs += 1
        for breach, at in breaches:
            self.walk.note(breach, step.id, at, self.round, mask, node)
        onward = self.next(spot)
        self.reach((onward, after), mask, node, "")
        open_branches = {spot.branch, *(name for name, _ in spot.back)}
        for name in step.branches:
            branch = self.setting.branches.get(name)
            if branch and branch.steps and name not in open_branches and mask & self.branch_masks[name]:
                self.enter_branch(branch, node, after, mask & self.branch_masks[name], spot.at + 1)

    def result(self, step: Step, number: int, variant: Variant, state: State) -> tuple[State, list[tuple[Breach, int]]]:
        key = (step.id, number, state)
        known = self.memo.get(key)
        if known is not None:
            return known
        state = lacking(state, variant.absent) if variant.absent else state
        breaches: list[tuple[Breach, int]] = []
        for check in self.step_checks:
            breaches += [(b, -1) for b in check(Beginning(self.setting, state, step))]
        after = entered = enter(self.setting, state, step)
        for at, act, before, became in play(self.setting, step, variant, entered):
            scene = Scene(self.setting, before, step, at, act, variant.acts[at], variant.absent)
            for ask in self.act_checks[act.verb]:
                breaches += [(b, at) for b in ask(scene)]
            after = became
        self.memo[key] = known = leave(self.setting, after, step), breaches
        return known

    def enter_branch(self, branch: Branch, node: Node, state: State, mask: int, onward: int) -> None:
        spot = node[0]
        self.walk.entered.add((spot, branch.id))
        base = self.setting.index.get(branch.rejoin, onward if not spot.branch else spot.base)
        back = (*spot.back, (spot.branch, onward)) if branch.rejoin == "same" else (("", base),)
        target = (Spot(branch.id, 0, back if branch.rejoin else (), spot.base), state)
        self.later.append((target, mask, node, branch.id))

    def next(self, spot: Spot) -> Spot:
        return Spot(spot.branch, spot.at + 1, spot.back, spot.base if spot.branch else spot.at + 1)

    def finish(self, spot: Spot, state: State, mask: int) -> None:
        if spot.branch and spot.back:
            branch, at = spot.back[-1]
            onward = Spot(branch, at, spot.back[:-1] if branch else (), at if not branch else spot.base)
            self.reach((onward, state), mask, (spot, state), "")
            return
        branch_left = self.setting.branches[spot.branch] if spot.branch else None
        last = branch_left.steps[-1] if branch_left else self.setting.edition.steps[-1]
        for check in self.end_checks:
            for breach in check(End(self.setting, state, last, branch_left)):
                self.walk.note(breach, last.id, -2, self.round, mask, (spot, state))


@dataclass(frozen=True, slots=True)
class Variant:
    """A step as some combinations know it."""

    mask: int
    acts: tuple[tuple[str, ...], ...]
    """The targets of each act: of several, those of the ensemble. A lone one stays, so that a rule can speak of it."""
    absent: tuple[str, ...]
    """Targets that are not part of the ensemble in these combinations: nothing is done to them."""


def play(setting: Setting, step: Step, variant: Variant, state: State) -> Iterator[tuple[int, Act, State, State]]:
    """Perform the acts of a step that has been entered: (place of the act, act, state before, state after)."""
    for at, (act, targets) in enumerate(zip(step.acts, variant.acts, strict=True)):
        there = tuple(t for t in targets if t not in variant.absent) if variant.absent else targets
        after = perform(setting, state, act, there)
        yield at, act, state, after
        state = after


def variants(setting: Setting, step: Step) -> Iterator[Variant]:
    """A step under each set of combinations that differ in which of its targets they have."""
    options = setting.options
    guarded = {t: setting.present[t] for a in step.acts for t in a.targets if t in setting.items}
    guarded = {t: mask for t, mask in guarded.items() if mask != options.all}
    groups: list[tuple[int, tuple[str, ...]]] = [(options.mask(step.when), ())]
    for target, mask in guarded.items():
        groups = [g for m, gone in groups for g in ((m & mask, gone), (m & ~mask, (*gone, target))) if g[0]]
    for mask, gone in groups:
        acts = tuple(tuple(t for t in a.targets if t not in gone) or a.targets for a in step.acts)
        yield Variant(mask, acts, gone)


def needs(setting: Setting, branch: Branch) -> frozenset[str]:
    """Items a branch takes off, changes, opens or cleans before putting them on itself (unguarded steps only)."""
    put_on: set[str] = set()
    out: set[str] = set()
    for step in branch.steps:
        if step.when:
            continue
        for act in step.acts:
            if act.verb == "put-on":
                put_on |= set(act.targets)
            elif act.verb in ("remove", "change-gloves", "sanitize", "open") and act.by == setting.wearer:
                out |= {t for t in act.targets if t in setting.items and t not in put_on and t not in HANDS}
    return frozenset(out)


def in_reach(state: State, setting: Setting, needed: frozenset[str]) -> int:
    """The combinations in which everything needed is worn, and nothing else lies over it."""
    if not needed <= state.worn:
        return 0
    if any(setting.gloves(n) for n in needed) and state.wearer.hand not in needed:
        return 0
    out = setting.options.all
    for name in needed:
        out &= setting.present[name]
        for over in setting.over.get(name, ()) if not setting.gloves(name) else ():
            if over in state.worn and over not in needed and not setting.gloves(over):
                out &= ~setting.present[over]
    return out


def explore(setting: Setting, checks: Iterable[Check], most_runs: int = MOST_RUNS) -> Walk:
    """Walk through everything an edition allows, asking the checks at every act, step and end."""
    return _Walker(setting, checks, most_runs).run()
