"""Turn an edition into what stays the same while its acts happen: who, what, where, what lies over what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from docgen.analysis.sequence.options import Options, options_of
from docgen.model.edition import Act, Branch, Edition, Item, Role, Step, Supply

GARMENTS = frozenset({"gown", "coverall"})
EYES = frozenset({"face-shield", "goggles"})
RESPIRATORS = frozenset({"respirator", "mask"})
"""What seals to or ties over mouth and nose. A powered hood is its own kind: it comes off before the gown."""
HEAD = EYES | RESPIRATORS | {"hood", "powered-hood"}
FEET = frozenset({"boot-covers", "shoe-covers"})

HANDLING = frozenset({"remove", "put-on", "open", "touch", "sanitize", "wash", "discard", "change-gloves"})
"""Acts in which hands meet equipment."""
HYGIENE = frozenset({"sanitize", "rub-hands", "wash", "clean", "apply", "change-gloves"})
HANDS = frozenset({"bare", "hands"})
CLOTHING = frozenset({"clothing", "footwear"})
"""What is worn below the protective ensemble."""
BODY = frozenset({"skin", "face", "eyes"})


@dataclass(frozen=True, eq=False)
class Setting:
    """An edition with its lookups. `wearer` is the role `wearer`, or the first role when there is none of that name."""

    edition: Edition
    options: Options
    wearer: str
    items: dict[str, Item]
    supplies: dict[str, Supply]
    roles: dict[str, Role]
    orders: dict[str, int]
    """Place → its order; higher is cleaner."""
    present: dict[str, int]
    """Item → the combinations of options that have it."""
    optional: tuple[tuple[str, int, int], ...]
    """Items that some combinations lack: (item, the combinations that have it, the last step of the main path that acts
    on it, from 0, or −1)."""
    over: dict[str, tuple[str, ...]]
    """Item → the items that cover it."""
    thrown: frozenset[str]
    """Supplies that some step discards."""
    index: dict[str, int]
    """Step id → its place on the main path, from 0."""
    branches: dict[str, Branch]
    steps: dict[str, Step]
    home: dict[str, str]
    """Step id → the branch it belongs to; empty for the main path."""

    @property
    def kind(self) -> str:
        """`removing`, `putting-on` or `procedure`."""
        return self.edition.kind

    @property
    def profile(self) -> str:
        """`standard` or `enhanced`; a protocol that names none is judged as `standard`."""
        return self.edition.profile or "standard"

    def kind_of(self, thing: str) -> str:
        """The kind of an item; empty for anything else."""
        item = self.items.get(thing)
        return item.kind if item else ""

    def any_of(self, items: Iterable[str]) -> int:
        """The combinations that have any of these items."""
        out = 0
        for item in items:
            out |= self.present[item]
        return out

    def gloves(self, thing: str) -> bool:
        """Whether this is a pair of gloves."""
        return self.kind_of(thing) == "gloves"

    def own_hands(self, act: Act, target: str) -> bool:
        """Whether this target of a hygiene act means the hands, bare or gloved, of the one who acts."""
        return target in HANDS or self.gloves(target)

    def label(self, step: str) -> str:
        """How a step is called in a story: ``step 17 `hood-off` ``."""
        found = self.steps.get(step)
        return f"step {found.label} `{step}`" if found else f"`{step}`"

    def acts(self) -> Iterator[tuple[Step, int, Act]]:
        """Every act with its step and its place in the step."""
        for step in self.edition.all_steps():
            for at, act in enumerate(step.acts):
                yield step, at, act

    def find(self, verb: str, target: str, main: bool = True) -> list[str]:
        """Steps (of the main path, unless told otherwise) with such an act, in order."""
        steps = self.edition.steps if main else tuple(self.edition.all_steps())
        return [s.id for s in steps if any(a.verb == verb and target in a.targets for a in s.acts)]

    def last_handling(self, role: str) -> str:
        """The last step of the main path in which this role's hands meet something; empty when there is none."""
        steps = (s.id for s in reversed(self.edition.steps) if any(a.by == role and a.verb in HANDLING for a in s.acts))
        return next(steps, "")

    def row(self, step: str) -> tuple[Step, ...]:
        """The steps among which a step stands: the main path or its branch."""
        home = self.home.get(step, "")
        return self.branches[home].steps if home else self.edition.steps

    def watches(self, role: str) -> bool:
        """Whether a role watches and may not touch the wearer's equipment."""
        found = self.roles.get(role)
        return found is not None and (role == "observer" or not found.contacts)


def setting_of(edition: Edition) -> Setting:
    """Prepare an edition for analysis. Never fails: what a broken reference leaves open is reported elsewhere."""
    over: dict[str, list[str]] = {}
    for item in edition.items:
        for covered in item.covers:
            over.setdefault(covered, []).append(item.id)
    roles = {role.id: role for role in edition.roles}
    wearer = "wearer" if "wearer" in roles or not roles else next(iter(roles))
    options = options_of(edition)
    present = {item.id: options.mask(item.when) for item in edition.items}
    last = {t: n for n, step in enumerate(edition.steps) for act in step.acts for t in act.targets}
    return Setting(
        edition=edition,
        options=options,
        wearer=wearer,
        items={item.id: item for item in edition.items},
        supplies={supply.id: supply for supply in edition.supplies},
        roles=roles,
        orders={place.id: place.order for place in edition.places},
        present=present,
        optional=tuple((i, mask, last.get(i, -1)) for i, mask in present.items() if mask != options.all),
        over={covered: tuple(items) for covered, items in over.items()},
        thrown=frozenset(
            t for s in edition.all_steps() for a in s.acts if a.verb == "discard" for t in a.targets
        ).intersection(supply.id for supply in edition.supplies),
        index={step.id: n for n, step in enumerate(edition.steps)},
        branches={branch.id: branch for branch in edition.branches},
        steps={step.id: step for step in edition.all_steps()},
        home={step.id: "" for step in edition.steps}
        | {step.id: branch.id for branch in edition.branches for step in branch.steps},
    )
