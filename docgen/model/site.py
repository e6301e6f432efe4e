"""What a facility or unit writes: which protocols it uses, how, and with what. The shape of the YAML of a site."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from docgen.model.protocol import Shape
from docgen.model.scalar import DECIMAL, WHOLE, Count, Day, Flag, Languages, Line, Name, Names, Reason, Words

Artifact = Literal["poster", "cards", "script", "checklist", "notice"]


class SiteSupply(Shape):
    """What a site knows of a supply."""

    product: Words | None = Field(None, description="The product's name, as staff know it.")
    contact_seconds: Annotated[int, Field(ge=1, le=7200), WHOLE] | None = Field(
        None, description="Seconds a surface must stay visibly wet, from the product's label."
    )


class Waiver(Shape):
    """A safety rule set aside here, by somebody, for a reason, for a time."""

    rule: Line = Field(description="The rule's name as findings print it: `sequence/…`.")
    steps: Names | None = Field(None, description="The steps it is set aside for; all if left out.")
    protocol: Name = Field(description="The protocol it is set aside for.")
    reason: Reason = Field(description="Why; printed in the approval record.")
    by: Line = Field(description="Who decided it.")
    on: Day = Field(description="The day it was decided, year-month-day.")
    review: Day = Field(description="The day it ends unless renewed, year-month-day.")


class SheetChoice(Shape):
    """Which sheet an artifact is printed on, and from how far it must be readable."""

    sheet: Line | None = Field(None, description="`A2`, `18x24in`, `ID-1`, `Letter`, …")
    distance: Annotated[float, Field(gt=0, le=10), DECIMAL] | None = Field(None, description="Metres.")


class UseOf(Shape):
    """How a site uses one protocol."""

    options: dict[Name, Name] = Field(default_factory=dict, description="Option → the choice made here.")
    languages: Languages | None = Field(None, description="Instead of the site's languages.")
    sheets: dict[Artifact, SheetChoice] = Field(
        default_factory=dict, description="Instead of the site's sheets, for this protocol."
    )


class Posting(Shape):
    """A place where a printed copy hangs or is carried."""

    id: Name = Field(description="A name that never changes: `north-door`.")
    location: Line = Field(description="Where the copy hangs or is kept, so that a stranger finds it.")
    protocol: Name = Field(description="The protocol it shows.")
    artifact: Artifact = Field(description="What hangs there.")
    sheet: Line | None = Field(None, description="The sheet size; the site's own if left out.")
    languages: Languages = Field(("en",), description="One copy for each.")
    quantity: Annotated[int, Field(ge=1, le=10000), WHOLE] = Field(1, description="Copies for each language.")
    laminated: Flag = Field(False, description="Is it laminated?")
    walk: Count = Field(0, description="Place in the walking order.")
    keeper: Line | None = Field(None, description="Who sees to it that the right copy is there: a person or a role.")


class Site(Shape):
    """One facility or unit."""

    site: Name = Field(description="Name of this site in file names; never changes.")
    name: Words = Field(description="The facility, as printed.")
    unit: Words | None = Field(None, description="The unit, as printed.")
    invented: Flag = Field(False, description="An example: the site is invented.")
    languages: Languages = Field(("en",), description="Languages the sheets are made in: `en`, `es`, `zh-Hans`.")
    beside: Languages | None = Field(
        None, description="Languages of wearers: a script with each of these beside each language of the sheets."
    )
    protocols: dict[Name, UseOf] = Field(min_length=1, description="The protocols in use here.")
    values: dict[Name, Words] = Field(default_factory=dict, description="What fills `{slots}`.")
    places: dict[Name, Words] = Field(default_factory=dict, description="What rooms are called here.")
    supplies: dict[Name, SiteSupply] = Field(default_factory=dict, description="Products and contact times here.")
    sheets: dict[Artifact, SheetChoice] = Field(default_factory=dict, description="Sheet and distance by artifact.")
    speech_rate: Annotated[int, Field(ge=40, le=250), WHOLE] | None = Field(None, description="Words a minute, aloud.")
    address: Line | None = Field(None, description="The site's own address for the code on sheets; none by default.")
    retraining: Literal["always", "doing", "sequence", "never"] = Field(
        "doing",
        description="When staff practise before they use a new version: always, when it changes what people do, when "
        "the sequence itself changes, or never.",
    )
    postings: tuple[Posting, ...] = Field((), description="Where printed copies hang or are carried.")
    waivers: tuple[Waiver, ...] = Field((), description="Safety rules set aside here.")
