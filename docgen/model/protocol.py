"""What authors write: one protocol, and one site that uses it. The shape of the YAML is the shape of these types.

Keys are kebab-case in the files (`done-when`) and snake_case here. Descriptions become the JSON Schema, so the
schema and the model cannot drift apart. Times are whole seconds unless the field says otherwise; lengths are metres.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError, core_schema

from docgen.model.text import Run
from docgen.model.text import Words as _Words

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

Side = Literal["outside", "inside", "rear-strap", "fastening"]
Signal = Literal["danger", "warning", "caution", "notice"]


def _kebab(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


class Shape(BaseModel):
    """A mapping of the source: no unknown keys, immutable, kebab-case."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=_kebab, populate_by_name=True)


# --- scalars ------------------------------------------------------------------------------------------------


class Words(_Words):
    """Inline Markdown of a field, parsed by the function the reader passes as context `inline`."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        def parse(value: Any, info: ValidationInfo) -> _Words:
            if isinstance(value, _Words):
                return value
            if not isinstance(value, str):
                raise PydanticCustomError("words", "a sentence was expected here")
            if not value.strip():
                raise PydanticCustomError("empty", "this must not be empty")
            inline = (info.context or {}).get("inline")
            return inline(value) if inline else _Words(value, (Run(value),))

        return core_schema.with_info_plain_validator_function(
            parse, serialization=core_schema.plain_serializer_function_ser_schema(lambda w: w.source)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "description": "Words; *emphasis*, **strong** and {slots} allowed."}


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _one_or_many(inner: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [inner, {"type": "array", "items": inner, "minItems": 1}]}


_NAME = {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"}

Name = Annotated[str, Field(pattern=_NAME["pattern"], max_length=64)]
"""Lower-case words joined by hyphens: `outer-gloves`."""
Names = Annotated[tuple[Name, ...], BeforeValidator(_as_list), Field(min_length=1), WithJsonSchema(_one_or_many(_NAME))]
Lines = Annotated[
    tuple[Words, ...], BeforeValidator(_as_list), Field(min_length=1),
    WithJsonSchema(_one_or_many({"type": "string", "minLength": 1})),
]  # fmt: skip
When = dict[Name, Names]
"""Option → the choices under which this part belongs to the edition; every key must hold."""


def _range(value: Any) -> Any:
    if isinstance(value, (str, int)):
        return (value, value)
    return value


def _ordered(value: tuple[int, int]) -> tuple[int, int]:
    if value[0] > value[1]:
        raise PydanticCustomError("order", "the smaller number comes first: [20, 30]")
    return value


Seconds = Annotated[
    tuple[Annotated[int, Field(ge=1, le=7200)], Annotated[int, Field(ge=1, le=7200)]],
    BeforeValidator(_range),
    AfterValidator(_ordered),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "integer", "minimum": 1},
                {"type": "array", "items": {"type": "integer", "minimum": 1}, "minItems": 2, "maxItems": 2},
            ],
            "description": "Seconds: one number, or [least, most].",
        }
    ),
]


class Time(Shape):
    """How long, or until when. Give `seconds`, or `until`, or `contact` (the label time of a supply, from the site)."""

    seconds: Seconds | None = None
    until: Words | None = Field(None, description="An end point that can be seen: `the gloves are dry`.")
    contact: Name | None = Field(None, description="A supply whose contact time the site gives.")

    @model_validator(mode="after")
    def _something(self) -> Time:
        if self.seconds is None and self.until is None and self.contact is None:
            raise PydanticCustomError("time", "give `seconds`, `until` or `contact`")
        return self


# --- the parts of a protocol --------------------------------------------------------------------------------


class Role(Shape):
    """Somebody who acts."""

    name: Words
    contacts: bool = Field(True, description="May this role touch the wearer's equipment? The observer may not.")
    wears: Names | None = Field(None, description="Items (by kind) this role wears itself.")
    removes_by: Words | None = Field(None, description="How this role takes off its own equipment afterwards.")


class Place(Shape):
    """Somewhere steps happen."""

    name: Words
    order: int = Field(description="1 is the dirtiest; a sequence moves to equal or higher numbers.", ge=0)


class Supply(Shape):
    """Something used up, or a container, seat or surface."""

    name: Words
    kind: Literal["agent", "container", "seat", "surface", "tool", "garment", "other"] = Field(
        "other", description="`agent`: what cleans hands, gloves or surfaces. `garment`: something put on later."
    )
    at: Names | None = Field(None, description="Places where it is at hand; everywhere if left out.")
    clean: bool | None = Field(None, description="For seats and surfaces: is it marked clean?")


class Item(Shape):
    """A protective item. Order in the file is the order of a picture from outside to inside where `covers` is silent."""

    name: Words
    kind: Literal[ITEM_KINDS]  # type: ignore[valid-type]  # a tuple of literals, spelled once above
    covers: Names | None = Field(None, description="Items whose surface or fastening lies under this one.")
    layer: Literal["outer", "inner", "single"] | None = Field(None, description="For gloves.")
    kept: bool = Field(False, description="Stays on at the end (scrubs, washable shoes); must be cleaned or inspected.")
    worn: bool = Field(True, description="For removal: worn at the start? For putting on: is it put on by this protocol?")
    clean: tuple[Literal["outside", "inside"], ...] | None = Field(
        None, description="Surfaces that are clean at the start. Without it: outside dirty, inside clean."
    )
    integrated_shield: bool = Field(False, description="A powered hood whose visor is part of it.")
    when: When | None = None


class Choice(Shape):
    """One way an option can be settled."""

    name: Words


class Option(Shape):
    """Something that differs between sites."""

    title: Words
    choices: dict[Name, Choice] = Field(min_length=1)
    default: Name | None = None


class Caution(Shape):
    """A hazard, what it leads to, and how to avoid it. No action of the procedure hides in here."""

    signal: Signal
    hazard: Words
    consequence: Words
    avoid: Words
    about: tuple[Literal[CAUTION_CLASSES], ...] | None = Field(  # type: ignore[valid-type]  # spelled once above
        None, description="What kind of hazard this is, so that rules can find it."
    )
    when: When | None = None


class Hold(Shape):
    """Nobody goes on until `by` has confirmed."""

    by: Name = "observer"
    until: Words = Field(description="What must be true: `the observer has seen both inner gloves`.")


class Act(Shape):
    """What a step does, in a form a program can reason about. Exactly one verb."""

    inspect: Names | None = Field(None, description="Items, or `ensemble`, `skin`, `clothing`, `area`, `supplies`.")
    sanitize: Names | None = Field(None, description="Gloves, footwear or another worn item.")
    remove: Names | None = Field(None, description="Items; several only with `combined: true`.")
    put_on: Names | None = None
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
    collect: Names | None = Field(None, description="Something picked up with a tool.")
    wait: Words | None = None
    note: Words | None = Field(None, description="Say or record something; nothing changes.")

    by: Name | None = Field(None, description="Role; the step's actor if left out.")
    using: Names | None = Field(None, description="Supplies.")
    touching: Side | None = Field(None, description="Which side the hands meet.")
    fastening: Literal["zip", "flap", "ties", "neck-tie", "waist-tie", "lower-strap", "upper-strap", "buckle"] | None = None
    into: Name | None = Field(None, description="A container (supply).")
    to: Name | None = Field(None, description="A place, or a role for `hand-over`.")
    on: Name | None = Field(None, description="A surface (supply).")
    time: Time | None = None
    combined: bool = Field(False, description="These items come off as one movement.")

    @model_validator(mode="after")
    def _one_verb(self) -> Act:
        verbs = [v for v in VERBS if getattr(self, v.replace("-", "_")) is not None]
        if len(verbs) != 1:
            what = "two verbs: " + " and ".join(f"`{v}`" for v in verbs) if verbs else "no verb"
            raise PydanticCustomError("verb", "an act has exactly one verb; here there is {what}", {"what": what})
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
    def words(self) -> _Words | None:
        """The words of `confirm`, `wait` or `note`."""
        value = getattr(self, self.verb.replace("-", "_"))
        return value if isinstance(value, _Words) else None


class Step(Shape):
    """One numbered thing to do. `id` never changes; its number is given when an edition is resolved."""

    id: Name
    headline: Words = Field(description="The imperative for posters, cards and checklists: verb first, few words.")
    say: Words | None = Field(None, description="What the observer reads aloud, word for word.")
    answer: Words | None = Field(None, description="What the wearer says back.")
    do: Lines | None = Field(None, description="The technique, in short lines.")
    watch: Lines | None = Field(None, description="What the observer looks for.")
    done_when: Words | None = Field(None, description="The end state that can be seen.")
    actor: Name = "wearer"
    place: Name | None = None
    acts: tuple[Act, ...] = ()
    uses: Names | None = Field(None, description="Supplies used, beyond those the acts name.")
    hold: Hold | None = None
    time: Time | None = None
    cautions: Names | None = None
    branches: Names | None = Field(None, description="Branches that are offered at this step.")
    when: When | None = None
    picture: Literal["front", "back", "hands", "none"] | None = None


class Branch(Shape):
    """What to do when something is found."""

    question: Words = Field(description="What is found, as a question: `Tear in an inner glove?`")
    steps: tuple[Step, ...] = Field(min_length=1)
    rejoin: Name | None = Field(None, description="Step at which the main path goes on; `same` = where it was left.")
    leave: Words | None = Field(None, description="Instead of rejoining: how this path ends.")
    anywhere: bool = Field(False, description="May happen at every step, not only where a step names it.")
    tell: Words | None = Field(None, description="Who is told.")
    when: When | None = None


class Phase(Shape):
    """A stretch of the sequence with one purpose."""

    id: Name
    title: Words
    place: Name | None = Field(None, description="Where its steps happen, unless a step says otherwise.")
    steps: tuple[Step, ...] = Field(min_length=1)


class Basis(Shape):
    """A published source this protocol rests on."""

    source: str = Field(min_length=3)
    part: str | None = None
    note: str | None = None


class Approval(Shape):
    """Who approved, in which capacity, when."""

    by: str
    role: str
    on: datetime.date


class Silence(Shape):
    """A wording rule switched off for this protocol, with the reason."""

    rule: str
    reason: str = Field(min_length=10)


class Abbreviation(Shape):
    """A short form staff know, and what it stands for."""

    short: str
    long: Words


class Protocol(Shape):
    """The one source."""

    protocol: Name = Field(description="Name of this protocol in file names; never changes.")
    code: str = Field(description="Document identifier as printed.", pattern=r"^[A-Z0-9][A-Z0-9-]{1,15}$")
    title: Words
    kind: Literal["removing", "putting-on", "procedure"] = "procedure"
    version: str = Field(pattern=r"^\d+\.\d+$", description='Quote it: "2.1".')
    effective: datetime.date
    review: datetime.date
    status: Literal["draft", "approved", "released", "withdrawn"] = "draft"
    approval: Approval | None = None
    owner: Words
    audience: Words
    purpose: Words
    profile: Literal["standard", "enhanced"] | None = Field(None, description="Which severity the safety rules take.")
    signal_scheme: Literal["ansi-z535", "procedure-writing"] = "ansi-z535"
    invented: bool = Field(False, description="An example: setting and people are invented.")
    pairs_with: Name | None = Field(None, description="The protocol that puts on what this one takes off, or back.")
    minutes: Annotated[int, Field(ge=1, le=180)] | None = Field(None, description="Stated time for the whole.")
    basis: tuple[Basis, ...] = Field(min_length=1)
    abbreviations: tuple[Abbreviation, ...] = ()
    changes: Lines | None = Field(None, description="What changes with this version, for the notice.")
    reason: Words | None = Field(None, description="Why this version was made, for the notice.")
    roles: dict[Name, Role] = Field(min_length=1)
    places: dict[Name, Place] = Field(default_factory=dict)
    supplies: dict[Name, Supply] = Field(default_factory=dict)
    items: dict[Name, Item] = Field(default_factory=dict)
    options: dict[Name, Option] = Field(default_factory=dict)
    cautions: dict[Name, Caution] = Field(default_factory=dict)
    phases: tuple[Phase, ...] = Field(min_length=1)
    branches: dict[Name, Branch] = Field(default_factory=dict)
    silence: tuple[Silence, ...] = ()


# --- the site -----------------------------------------------------------------------------------------------


class SiteSupply(Shape):
    """What a site knows of a supply."""

    product: Words | None = Field(None, description="The product's name, as staff know it.")
    contact_seconds: Annotated[int, Field(ge=1, le=7200)] | None = Field(
        None, description="Seconds a surface must stay visibly wet, from the product's label."
    )


class Waiver(Shape):
    """A safety rule set aside here, by somebody, for a reason, for a time."""

    rule: str
    steps: Names | None = None
    protocol: Name
    reason: str = Field(min_length=10)
    by: str
    on: datetime.date
    review: datetime.date


class SheetChoice(Shape):
    """Which sheet an artifact is printed on, and from how far it must be readable."""

    sheet: str | None = Field(None, description="`A2`, `18x24in`, `ID-1`, `Letter`, …")
    distance: Annotated[float, Field(gt=0, le=10)] | None = Field(None, description="Metres.")


class UseOf(Shape):
    """How a site uses one protocol."""

    options: dict[Name, Name] = Field(default_factory=dict)
    languages: tuple[str, ...] | None = None


class Posting(Shape):
    """A place where a printed copy hangs or is carried."""

    id: Name
    location: str
    protocol: Name
    artifact: Literal["poster", "cards", "script", "checklist", "notice"]
    sheet: str | None = None
    languages: tuple[str, ...] = ("en",)
    quantity: Annotated[int, Field(ge=1, le=10000)] = 1
    laminated: bool = False
    walk: int = Field(0, description="Place in the walking order.")


class Site(Shape):
    """One facility or unit."""

    site: Name
    name: Words
    unit: Words | None = None
    invented: bool = False
    languages: tuple[str, ...] = ("en",)
    protocols: dict[Name, UseOf] = Field(min_length=1)
    values: dict[Name, Words] = Field(default_factory=dict, description="What fills `{slots}`.")
    places: dict[Name, Words] = Field(default_factory=dict, description="What rooms are called here.")
    supplies: dict[Name, SiteSupply] = Field(default_factory=dict)
    sheets: dict[Literal["poster", "cards", "script", "checklist", "notice"], SheetChoice] = Field(default_factory=dict)
    speech_rate: Annotated[int, Field(ge=40, le=250)] | None = Field(None, description="Words a minute, read aloud.")
    address: str | None = Field(None, description="The site's own address for the code on sheets; none by default.")
    postings: tuple[Posting, ...] = ()
    waivers: tuple[Waiver, ...] = ()
