"""A protocol at a site, resolved: options chosen, slots filled, steps numbered. Immutable, of no one language."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from docgen.findings import NOWHERE, Where
from docgen.model.text import NO_TEXT, Runs, Text

When = tuple[tuple[str, tuple[str, ...]], ...]
"""Option → choices under which a part applies. Empty in an edition resolved for a site; kept in the general edition
of a protocol alone, so that the sequence analysis can explore every combination."""

ARTIFACTS = ("poster", "cards", "script", "checklist", "notice")
"""The printed artifacts, in the order people meet them."""

READER = "reader"
SCREENS = (READER, "index")
"""What is made for screens: the script one step at a time, and the page of an edition's folder."""


@dataclass(frozen=True, slots=True)
class Time:
    """How long: seconds from–to (0, 0 = not given) and the visible end point, if any."""

    least: int = 0
    most: int = 0
    until: Text = NO_TEXT
    contact: str = ""
    """Supply whose label gives the seconds: unknown in a general edition, filled in at a site."""


@dataclass(frozen=True, slots=True)
class Act:
    """One act of a step. Fields as in `docgen.model.protocol.Act`; `by` is always a role."""

    verb: str
    targets: tuple[str, ...]
    by: str
    using: tuple[str, ...] = ()
    touching: str = ""
    fastening: str = ""
    into: str = ""
    to: str = ""
    on: str = ""
    time: Time | None = None
    combined: bool = False
    words: Text = NO_TEXT
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Caution:
    """A hazard as it is printed before a step."""

    id: str
    signal: str
    hazard: Text
    consequence: Text
    avoid: Text
    about: tuple[str, ...] = ()
    when: When = ()
    where: Where = NOWHERE

    @property
    def texts(self) -> tuple[Text, Text, Text]:
        """Hazard, consequence, how to avoid it: the order in which they are printed."""
        return (self.hazard, self.consequence, self.avoid)


@dataclass(frozen=True, slots=True)
class Hold:
    """Nobody goes on until role `by` has confirmed `until`."""

    by: str
    until: Text


@dataclass(frozen=True, slots=True)
class Step:
    """One step of this edition."""

    id: str
    number: int
    """From 1 on the main path; from 1 within its branch."""
    label: str
    """As printed: `17` on the main path, `A1` in branch A."""
    phase: str
    """Phase id; empty in a branch."""
    headline: Text
    actor: str
    place: str = ""
    say: Text = NO_TEXT
    answer: Text = NO_TEXT
    do: tuple[Text, ...] = ()
    watch: tuple[Text, ...] = ()
    done_when: Text = NO_TEXT
    acts: tuple[Act, ...] = ()
    uses: tuple[str, ...] = ()
    hold: Hold | None = None
    time: Time | None = None
    cautions: tuple[Caution, ...] = ()
    branches: tuple[str, ...] = ()
    picture: str = ""
    when: When = ()
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of the main path. `letter` is unused by phases: they carry a number, branches carry letters."""

    id: str
    number: int
    title: Text
    steps: tuple[str, ...]
    """Ids, in order."""


@dataclass(frozen=True, slots=True)
class Branch:
    """What to do when something is found."""

    id: str
    letter: str
    """As printed: A, B, …; its steps are A1, A2, …"""
    question: Text
    steps: tuple[Step, ...]
    rejoin: str
    """Step id, `same` (where it was left), or empty when `leave` says how this path ends."""
    leave: Text = NO_TEXT
    tell: Text = NO_TEXT
    anywhere: bool = False
    when: When = ()
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Role:
    """Somebody who acts; `mark` is the shape printed beside their steps."""

    id: str
    name: Text
    mark: str
    contacts: bool = True
    wears: tuple[str, ...] = ()
    removes_by: Text = NO_TEXT


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere steps happen; a higher `order` is cleaner."""

    id: str
    name: Text
    order: int


@dataclass(frozen=True, slots=True)
class Supply:
    """Something used; `product` and `contact` (seconds, 0 = not given) come from the site."""

    id: str
    name: Text
    kind: str
    at: tuple[str, ...] = ()
    clean: bool | None = None
    product: Text = NO_TEXT
    contact: int = 0


@dataclass(frozen=True, slots=True)
class Item:
    """A protective item of the ensemble this edition wears."""

    id: str
    name: Text
    kind: str
    covers: tuple[str, ...] = ()
    layer: str = ""
    kept: bool = False
    worn: bool = True
    clean: tuple[str, ...] = ("inside",)
    """Surfaces clean at the start."""
    integrated_shield: bool = False
    when: When = ()
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Basis:
    """A published source."""

    source: str
    part: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Approval:
    """Who approved, in which capacity, when."""

    by: str
    role: str
    on: datetime.date


@dataclass(frozen=True, slots=True)
class Waiver:
    """A safety rule set aside at this site."""

    rule: str
    steps: tuple[str, ...]
    reason: str
    by: str
    on: datetime.date
    review: datetime.date
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """Sheet name and reading distance in metres (0 = the artifact's own default)."""

    sheet: str = ""
    distance: float = 0.0


@dataclass(frozen=True, slots=True)
class Edition:
    """Everything the later stages know. Two editions with the same `fingerprint` tell people to do the same."""

    protocol: str
    code: str
    title: Text
    kind: str
    version: str
    effective: datetime.date
    review: datetime.date
    status: str
    owner: Text
    audience: Text
    purpose: Text
    profile: str
    """`standard`, `enhanced`, or empty: no ensemble."""
    signal_scheme: str
    invented: bool
    pairs_with: str
    minutes: int
    basis: tuple[Basis, ...]
    approval: Approval | None
    abbreviations: tuple[tuple[str, Text], ...]
    changes: tuple[Text, ...]
    reason: Text
    roles: tuple[Role, ...]
    places: tuple[Place, ...]
    supplies: tuple[Supply, ...]
    items: tuple[Item, ...]
    options: tuple[tuple[str, str], ...]
    """Option → choice, for this site; empty in a general edition."""
    open_options: tuple[tuple[str, tuple[str, ...]], ...]
    """Option → all its choices, in a general edition; empty once resolved for a site."""
    phases: tuple[Phase, ...]
    steps: tuple[Step, ...]
    branches: tuple[Branch, ...]
    silenced: tuple[tuple[str, str], ...]
    """Wording rules switched off → reason."""
    site: str
    site_name: Text
    unit: Text
    sheets: tuple[tuple[str, SheetChoice], ...]
    waivers: tuple[Waiver, ...]
    speech_rate: int
    """Words a minute set by the site; 0 = the language's."""
    address: str
    values: tuple[tuple[str, Text], ...]
    """Slot → what fills it, for every slot this edition uses: a site's value (key `value.<slot>`), or the name of a
    supply (its product), place or item under that thing's own key. `runs` are in this language."""
    language: str = "en"
    translation: str = ""
    """Revision of the catalogue this language came from; empty for the source language."""
    unreviewed: bool = False
    """A translation that no qualified person has revised: every sheet says so, and it can't be released."""
    draft: bool = False
    """Printed with a DRAFT band."""
    fingerprint: str = ""
    """Ten characters; see `docgen.edition.fingerprint`."""
    retraining: str = ""
    """From which degree of change on staff practise before they use a new version: the site's rule."""
    beside: str = ""
    """A second language that stands beside the edition's own, for those who listen and answer in it."""
    beside_texts: tuple[Text, ...] = ()
    """The texts of the edition in that language, under their keys."""
    option_texts: tuple[Text, ...] = ()
    """`option.<id>.title` and, for the choice made (all of them in a general edition), `choice.<id>.<choice>.name`."""

    @property
    def languages(self) -> str:
        """`es`, or `es+ar` with a second language beside: as in names of files and folders, and on the stamp."""
        return f"{self.language}+{self.beside}" if self.beside else self.language

    def all_steps(self) -> Iterator[Step]:
        """Main path, then each branch."""
        yield from self.steps
        for branch in self.branches:
            yield from branch.steps

    def role(self, id: str) -> Role:
        """The role of that id."""
        return next(r for r in self.roles if r.id == id)

    def branch(self, id: str) -> Branch:
        """The branch of that id."""
        return next(b for b in self.branches if b.id == id)

    def step(self, id: str) -> Step:
        """The step of that id, on the main path or in a branch."""
        return next(s for s in self.all_steps() if s.id == id)

    def sheet(self, artifact: str) -> SheetChoice:
        """The site's choice of sheet, or an empty one."""
        return dict(self.sheets).get(artifact, SheetChoice())

    def value_map(self) -> Mapping[str, Runs]:
        """Slot → runs."""
        return {slot: text.runs for slot, text in self.values}


@dataclass(frozen=True, slots=True)
class Stamp:
    """What every sheet and card side carries, as values; `docgen.compose` words it, the read-back checks it."""

    code: str
    version: str
    effective: datetime.date
    review: datetime.date
    fingerprint: str
    language: str
    translation: str
    site: str
    artifact: str
    sheet: int
    """From 1."""
    sheets: int
