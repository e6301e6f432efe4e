"""What authors write: one protocol. The shape of the YAML is the shape of these types (a site: `docgen.model.site`).

Keys are kebab-case in the files (`done-when`) and snake_case here. Descriptions become the JSON Schema, so the
schema and the model cannot drift apart. Times are whole seconds unless the field says otherwise; lengths are metres.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from docgen.model.scalar import (
    WHOLE,
    Code,
    Count,
    Day,
    Flag,
    Line,
    Lines,
    Name,
    Names,
    OneOrMany,
    Reason,
    Seconds,
    Version,
    Words,
    trouble,
)
from docgen.model.text import Words as Parsed

# --- small vocabularies -------------------------------------------------------------------------------------

SIGNALS = ("danger", "warning", "caution", "notice")
"""Signal words of ANSI Z535.4, gravest first."""

ITEM_KINDS = (
    "apron", "gown", "coverall", "hood", "face-shield", "goggles", "respirator", "powered-hood", "mask", "gloves",
    "boot-covers", "shoe-covers", "footwear", "clothing",
)  # fmt: skip
"""What an item is, as far as a rule or the drawing needs to know. `powered-hood`: a hood with its own blown air."""

VERBS = (
    "inspect", "sanitize", "remove", "put-on", "discard", "touch", "open", "move", "sit", "confirm", "hand-over",
    "change-gloves", "rub-hands", "wash", "clean", "apply", "collect", "wait", "note",
)  # fmt: skip
"""The closed set of acts. What each does to the state is documented in `docgen.analysis.sequence`."""

CAUTION_CLASSES = (
    "bare-skin", "snapping", "front-untouched", "zip-and-skin", "rolling-outward", "tear", "splash", "slip", "sharp",
    "fumes", "face-touch", "balance", "other",
)  # fmt: skip
"""What a caution is about, named by its author, so that rules can ask for it without reading prose."""

Fastening = Literal["zip", "flap", "ties", "neck-tie", "waist-tie", "lower-strap", "upper-strap", "buckle"]
_CautionClass = Literal[CAUTION_CLASSES]  # type: ignore[valid-type]  # a tuple of literals, spelled once above
_ItemKind = Literal[ITEM_KINDS]  # type: ignore[valid-type]
Side = Literal["outside", "inside", "rear-strap", "fastening"]
Signal = Literal["danger", "warning", "caution", "notice"]


def _kebab(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


class Shape(BaseModel):
    """A mapping of the source: no unknown keys, immutable, kebab-case."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=_kebab, populate_by_name=True)


def _exactly_one(keys: tuple[str, ...]) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


When = Annotated[dict[Name, Names], Field(min_length=1)]
"""Option → the choices under which this part belongs to the edition; every key must hold."""


class Time(Shape):
    """How long, or until when. Give `seconds`, or `until`, or `contact` (the label time of a supply, from the site)."""

    model_config = ConfigDict(json_schema_extra={"minProperties": 1})

    seconds: Seconds | None = None
    until: Words | None = Field(None, description="An end point that can be seen: `the gloves are dry`.")
    contact: Name | None = Field(None, description="A supply whose contact time the site gives.")

    @model_validator(mode="after")
    def _something(self) -> Time:
        if self.seconds is None and self.until is None and self.contact is None:
            raise trouble("time", "this time says nothing", "give `seconds`, `until` or `contact`")
        return self


# --- the parts of a protocol --------------------------------------------------------------------------------


class Role(Shape):
    """Somebody who acts."""

    name: Words = Field(description="What this person is called: `Trained observer`.")
    contacts: Flag = Field(True, description="May this role touch the wearer's equipment? The observer may not.")
    wears: Names | None = Field(None, description="Items (by kind) this role wears itself.")
    removes_by: Words | None = Field(None, description="How this role takes off its own equipment afterwards.")


class Place(Shape):
    """Somewhere steps happen."""

    name: Words = Field(description="What the room or area is called; a site may call it otherwise.")
    order: Count = Field(description="1 is the dirtiest; a sequence moves to equal or higher numbers.")


class Supply(Shape):
    """Something used up, or a container, seat or surface."""

    name: Words = Field(description="What it is called; a site may name its product.")
    kind: Literal["agent", "container", "seat", "surface", "tool", "garment", "other"] = Field(
        "other", description="`agent`: what cleans hands, gloves or surfaces. `garment`: something put on later."
    )
    at: Names | None = Field(None, description="Places where it is at hand; everywhere if left out.")
    clean: Flag | None = Field(None, description="For seats and surfaces: is it marked clean?")


class Item(Shape):
    """A protective item. Where `covers` is silent, the order in the file is the order from outside to inside."""

    name: Words = Field(description="What staff call it.")
    kind: _ItemKind = Field(description="What it is, as far as a rule or the drawing needs to know.")
    covers: Names | None = Field(None, description="Items whose surface or fastening lies under this one.")
    layer: Literal["outer", "inner", "single"] | None = Field(None, description="For gloves.")
    kept: Flag = Field(False, description="Stays on at the end (scrubs, washable shoes); must be cleaned or inspected.")
    worn: Flag = Field(True, description="Removal: worn at the start? Putting on: is it put on here?")
    clean: Annotated[tuple[Literal["outside", "inside"], ...], OneOrMany()] | None = Field(
        None, description="Surfaces that are clean at the start. Without it: outside dirty, inside clean."
    )
    integrated_shield: Flag = Field(False, description="A powered hood whose visor is part of it.")
    when: When | None = Field(None, description="Only in editions with these choices: `{apron: [tie, tear-off]}`.")


class Choice(Shape):
    """One way an option can be settled."""

    name: Words = Field(description="What this choice is called: `Apron with ties`.")


class Option(Shape):
    """Something that differs between sites."""

    title: Words = Field(description="What is being chosen: `Apron`.")
    choices: dict[Name, Choice] = Field(min_length=1, description="The ways to settle it.")
    default: Name | None = Field(None, description="The choice of a site that names none.")


class Caution(Shape):
    """A hazard, what it leads to, and how to avoid it. No action of the procedure hides in here."""

    signal: Signal = Field(description="How grave it is, by ANSI Z535.4.")
    hazard: Words = Field(description="What is dangerous: `The outside of the gloves is contaminated.`")
    consequence: Words = Field(description="What it leads to: `Bare skin that touches it can carry infection.`")
    avoid: Words = Field(description="How to avoid it: `Touch only the inside.`")
    about: Annotated[tuple[_CautionClass, ...], Field(min_length=1), OneOrMany()] | None = Field(
        None, description="What kind of hazard this is, so that rules can find it."
    )
    when: When | None = Field(None, description="Only in editions with these choices.")


class Hold(Shape):
    """Nobody goes on until `by` has confirmed."""

    by: Name = Field("observer", description="The role that confirms.")
    until: Words = Field(description="What must be true: `the observer has seen both inner gloves`.")


class Act(Shape):
    """What a step does, in a form a program can reason about. Exactly one verb."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(VERBS))

    inspect: Names | None = Field(None, description="Items, or `ensemble`, `skin`, `clothing`, `area`, `supplies`.")
    sanitize: Names | None = Field(None, description="Gloves, footwear or another worn item.")
    remove: Names | None = Field(None, description="Items; several only with `combined: true`.")
    put_on: Names | None = Field(None, description="Items, or supplies that are garments.")
    discard: Names | None = Field(None, description="Items already off (or supplies) → `into` a container.")
    touch: Names | None = Field(None, description="Items or supplies touched without anything else happening.")
    open: Names | None = Field(None, description="A fastening of these items: see `fastening`.")
    move: Names | None = Field(None, description="Roles that move → `to` a place.")
    sit: Names | None = Field(None, description="A seat (supply).")
    confirm: Words | None = Field(None, description="What somebody confirms aloud.")
    hand_over: Names | None = Field(None, description="Supplies or items → `to` a role.")
    change_gloves: Names | None = Field(None, description="Off, bare-hand hygiene, new pair on, in one act.")
    rub_hands: Names | None = Field(None, description="`bare`: hand hygiene on bare hands.")
    wash: Names | None = Field(None, description="`bare` (soap and water), `skin`, `face`, `eyes`, or an item.")
    clean: Names | None = Field(None, description="A surface (supply).")
    apply: Names | None = Field(None, description="An agent (supply) → `on` a surface.")
    collect: Names | None = Field(None, description="Something (supply) picked up with a tool.")
    wait: Words | None = Field(None, description="What is waited for; see `time`.")
    note: Words | None = Field(None, description="Say or record something; nothing changes.")

    by: Name | None = Field(None, description="Role; the step's actor if left out.")
    using: Names | None = Field(None, description="Supplies.")
    touching: Side | None = Field(None, description="Which side the hands meet.")
    fastening: Fastening | None = Field(None, description="What is opened, or by what the item is held.")
    into: Name | None = Field(None, description="A container (supply).")
    to: Name | None = Field(None, description="A place, or a role for `hand-over`.")
    on: Name | None = Field(None, description="A surface (supply).")
    time: Time | None = Field(None, description="How long, or until when.")
    combined: Flag = Field(False, description="These items come off as one movement.")

    @model_validator(mode="after")
    def _one_verb(self) -> Act:
        verbs = [v for v in VERBS if getattr(self, v.replace("-", "_")) is not None]
        if not verbs:
            raise trouble("verb", "this act has no verb", "write what is done: `remove: hood`")
        if len(verbs) > 1:
            both = " and ".join(f"`{v}`" for v in verbs)
            raise trouble("verb", "this act has more than one verb: {both}", "write one act for each", both=both)
        return self

    @property
    def verb(self) -> str:
        """The one verb, in kebab-case."""
        return next(v for v in VERBS if getattr(self, v.replace("-", "_")) is not None)

    @property
    def targets(self) -> tuple[str, ...]:
        """What the verb acts on; empty for `confirm`, `wait` and `note`."""
        value = getattr(self, self.verb.replace("-", "_"))
        return value if isinstance(value, tuple) else ()

    @property
    def words(self) -> Parsed | None:
        """The words of `confirm`, `wait` or `note`."""
        value = getattr(self, self.verb.replace("-", "_"))
        return value if isinstance(value, Parsed) else None


class Step(Shape):
    """One numbered thing to do. `id` never changes; its number is given when an edition is resolved."""

    id: Name = Field(description="A name that never changes: `outer-gloves-off`. The number is given later.")
    headline: Words = Field(description="The imperative for posters, cards and checklists: verb first, few words.")
    say: Words | None = Field(None, description="What the observer reads aloud, word for word.")
    answer: Words | None = Field(None, description="What the wearer says back.")
    do: Lines | None = Field(None, description="The technique, in short lines.")
    watch: Lines | None = Field(None, description="What the observer looks for.")
    done_when: Words | None = Field(None, description="The end state that can be seen.")
    actor: Name = Field("wearer", description="The role that does it.")
    place: Name | None = Field(None, description="Where; the phase's place if left out.")
    acts: tuple[Act, ...] = Field((), description="What is done, in order, for the sequence check and the figure.")
    uses: Names | None = Field(None, description="Supplies used, beyond those the acts name.")
    hold: Hold | None = Field(None, description="Nobody goes on until somebody has confirmed.")
    time: Time | None = Field(None, description="How long, or until when.")
    cautions: Names | None = Field(None, description="Cautions printed before this step.")
    branches: Names | None = Field(None, description="Branches that are offered at this step.")
    when: When | None = Field(None, description="Only in editions with these choices: `{apron: [tie, tear-off]}`.")
    picture: Literal["front", "back", "hands", "none"] | None = Field(
        None, description="The view of the figure, where the computed one is not the right one."
    )


class Branch(Shape):
    """What to do when something is found."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(("rejoin", "leave")))

    question: Words = Field(description="What is found, as a question: `Tear in an inner glove?`")
    steps: tuple[Step, ...] = Field(min_length=1, description="What is done then, in order.")
    rejoin: Name | None = Field(None, description="Step at which the main path goes on; `same` = where it was left.")
    leave: Words | None = Field(None, description="Instead of rejoining: how this path ends.")
    anywhere: Flag = Field(False, description="May happen at every step, not only where a step names it.")
    tell: Words | None = Field(None, description="Who is told.")
    when: When | None = Field(None, description="Only in editions with these choices.")

    @model_validator(mode="after")
    def _one_end(self) -> Branch:
        if self.rejoin is None and self.leave is None:
            hint = "add `rejoin:` with a step (or `same`), or `leave:` with how it ends"
            raise trouble("branch-end", "this branch rejoins nowhere", hint)
        if self.rejoin is not None and self.leave is not None:
            raise trouble("branch-end", "this branch both rejoins and leaves", "keep either `rejoin` or `leave`")
        return self


class Phase(Shape):
    """A stretch of the sequence with one purpose."""

    id: Name = Field(description="A name that never changes: `outer-layer`.")
    title: Words = Field(description="What this stretch is for, in a few words.")
    place: Name | None = Field(None, description="Where its steps happen, unless a step says otherwise.")
    steps: tuple[Step, ...] = Field(min_length=1, description="Its steps, in order.")


class Basis(Shape):
    """A published source this protocol rests on."""

    source: Line = Field(description="Author, title, year.")
    part: Line | None = Field(None, description="Chapter, table or page.")
    note: Line | None = Field(None, description="What was taken from it.")


class Approval(Shape):
    """Who approved, in which capacity, when."""

    by: Line = Field(description="Name.")
    role: Line = Field(description="In which capacity.")
    on: Day = Field(description="The day of approval, year-month-day.")


class Silence(Shape):
    """A wording rule switched off for this protocol, with the reason."""

    rule: Line = Field(description="The rule's name as findings print it: `wording/vague`.")
    reason: Reason = Field(description="Why it does not apply here.")


class Abbreviation(Shape):
    """A short form staff know, and what it stands for."""

    short: Line = Field(description="The short form: `PPE`.")
    long: Words = Field(description="What it stands for.")


class Protocol(Shape):
    """The one source."""

    protocol: Name = Field(description="Name of this protocol in file names; never changes.")
    code: Code = Field(description="Document identifier as printed, unique among your documents: `IP-ENH-02`.")
    title: Words = Field(description="What the procedure is, as printed on top of every sheet.")
    kind: Literal["removing", "putting-on", "procedure"] = Field(
        "procedure", description="`removing` or `putting-on` protective equipment, or any other procedure."
    )
    version: Version = Field(description="Two numbers, `2.1`; it rises with every issue.")
    effective: Day = Field(description="The day from which it holds, year-month-day.")
    review: Day = Field(description="The day by which it must be reviewed, year-month-day.")
    status: Literal["draft", "approved", "released", "withdrawn"] = Field(
        "draft", description="`approved` and later need an `approval`."
    )
    approval: Approval | None = Field(None, description="Who approved, in which capacity, when.")
    owner: Words = Field(description="Who answers for this document.")
    audience: Words = Field(description="Who it is for.")
    purpose: Words = Field(description="What it is for, in one sentence.")
    profile: Literal["standard", "enhanced"] | None = Field(None, description="Which severity the safety rules take.")
    signal_scheme: Literal["ansi-z535", "procedure-writing"] = Field(
        "ansi-z535", description="The scheme of signal words; the two are never mixed."
    )
    invented: Flag = Field(False, description="An example: setting and people are invented.")
    pairs_with: Name | None = Field(None, description="The protocol that puts on what this one takes off, or back.")
    minutes: Annotated[int, Field(ge=1, le=180), WHOLE] | None = Field(None, description="Stated time for the whole.")
    basis: tuple[Basis, ...] = Field(min_length=1, description="The published sources it rests on.")
    abbreviations: tuple[Abbreviation, ...] = Field((), description="Short forms used, and what they stand for.")
    changes: Lines | None = Field(None, description="What changes with this version, for the notice.")
    reason: Words | None = Field(None, description="Why this version was made, for the notice.")
    roles: dict[Name, Role] = Field(min_length=1, description="Who acts; `wearer` is the usual actor.")
    places: dict[Name, Place] = Field(default_factory=dict, description="Where steps happen.")
    supplies: dict[Name, Supply] = Field(default_factory=dict, description="What is used, sat on, or thrown into.")
    items: dict[Name, Item] = Field(default_factory=dict, description="The protective items, outermost first.")
    options: dict[Name, Option] = Field(default_factory=dict, description="What differs between sites.")
    cautions: dict[Name, Caution] = Field(default_factory=dict, description="Hazards, named by steps.")
    phases: tuple[Phase, ...] = Field(min_length=1, description="The main path, in stretches.")
    branches: dict[Name, Branch] = Field(default_factory=dict, description="What to do when something is found.")
    silence: tuple[Silence, ...] = Field((), description="Wording rules switched off, each with its reason.")
