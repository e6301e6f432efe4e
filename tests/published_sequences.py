"""The published removal sequences the rules are tested against, as editions.

Only the order of removals and hygiene is the published one; a poster prints no containers, times, cautions, holds or
branches, so those the profile asks for are added around it. Sources:
- CDC, Sequence for Putting On and Removing Personal Protective Equipment (poster), examples 1 and 2;
- CDC, Using PPE (2020), table reproduced in J Nucl Med Technol;
- CDC, PPE: Confirmed Patients and Clinically Unstable Patients Suspected to have VHF, training pages on N95 and gown,
  powered respirator and gown, powered respirator and coverall; the full N95 order is from memory of the 2015 text;
- World Health Organization, Steps to take off PPE including coverall (poster); steps 10, 13 to 16 from memory.
"""

from __future__ import annotations

from sequence_kit import ASSISTANT, EXPOSURE, OBSERVER, WEARER, branch, edition, item, step

GLOVES = ("snapping", "bare-skin")

# --- general precautions (profile `standard`) ---------------------------------------------------------------

_STD_ITEMS = (
    item("goggles", "goggles"),
    item("gloves", "gloves", "gown", layer="single"),
    item("gown", "gown"),
    item("respirator", "respirator"),
)
_GLOVES_OFF = step(
    "gloves-off", "remove gloves touching=inside", "discard gloves into=waste", place="room", about=GLOVES
)
_GOGGLES_OFF = step("goggles-off", "remove goggles touching=rear-strap", "discard goggles into=reuse")
_GOWN_OFF = step("gown-off", "remove gown touching=inside", "discard gown into=waste")
_LEAVE = step("leave-room", "move wearer to=removal-area")
_RESPIRATOR_OFF = step(
    "respirator-off",
    "open respirator fastening=lower-strap touching=rear-strap",
    "open respirator fastening=upper-strap touching=rear-strap",
    "remove respirator touching=rear-strap",
    "discard respirator into=waste",
    about=("front-untouched",),
)
_RUB = step("rub-hands", "rub-hands bare using=rub")
_GOWN_AND_GLOVES = step(
    "gown-and-gloves-off",
    "remove gown+gloves combined touching=outside",
    "discard gown+gloves into=waste",
    place="room",
    about=GLOVES,
)

STD_EX1 = edition(_STD_ITEMS, (_GLOVES_OFF, _GOGGLES_OFF, _GOWN_OFF, _LEAVE, _RESPIRATOR_OFF, _RUB))
STD_EX2 = edition(_STD_ITEMS, (_GOWN_AND_GLOVES, _GOGGLES_OFF, _LEAVE, _RESPIRATOR_OFF, _RUB))
STD_2020 = edition(
    _STD_ITEMS,
    (
        _GLOVES_OFF,
        _GOWN_OFF,
        _LEAVE,
        step("rub-after-exit", "rub-hands bare using=rub"),
        _GOGGLES_OFF,
        _RESPIRATOR_OFF,
        _RUB,
    ),
)

# --- enhanced isolation (profile `enhanced`) ----------------------------------------------------------------


def sanitize(id: str, gloves: str, *more: str, **kw):
    return step(id, f"sanitize {gloves} using=rub", *more, **kw)


def off(id: str, what: str, side: str, *before: str, into: str = "waste", **kw):
    return step(id, *before, f"remove {what} touching={side}", f"discard {what} into={into}", **kw)


TEAR = branch(
    "torn-glove",
    sanitize("torn-sanitize", "inner-gloves"),
    off("torn-off", "inner-gloves", "inside", about=GLOVES),
    step("torn-rub", "rub-hands bare using=rub"),
    step("torn-new", "put-on inner-gloves using=new-pair", "inspect inner-gloves by=observer"),
    rejoin="sanitize-inner",
    tell="Infection prevention is told.",
)
SOILED = branch(
    "soiled", step("soiled-shower", "wash skin using=rub"), rejoin="", leave="Occupational health takes over."
)
_ENH_BRANCHES = (EXPOSURE, TEAR, SOILED)
_ENH_ITEMS = (
    item("apron", "apron", "gown"),
    item("boot-covers", "boot-covers", "shoes"),
    item("outer-gloves", "gloves", "inner-gloves gown", layer="outer"),
    item("face-shield", "face-shield", "hood"),
    item("hood", "hood", "respirator"),
    item("gown", "gown", "scrubs"),
    item("respirator", "respirator"),
    item("inner-gloves", "gloves", layer="inner"),
    item("new-gloves", "gloves", layer="inner", worn=False),
    item("shoes", "footwear", kept=True),
    item("scrubs", "clothing", kept=True, clean=("outside", "inside")),
)
_START = (
    step("engage", "confirm by=observer", "inspect area+supplies by=observer", place="removal-area"),
    step("inspect-all", "inspect ensemble", "inspect ensemble by=observer", hold=True),
    step("wipe-soil", "sanitize ensemble using=wipes"),
    sanitize("sanitize-start", "outer-gloves"),
)
_OUTER = (
    off("apron-off", "apron", "rear-strap"),
    step("inspect-again", "inspect ensemble"),
    sanitize("sanitize-after-apron", "outer-gloves"),
    off("boot-covers-off", "boot-covers", "outside"),
    sanitize("sanitize-before-outer", "outer-gloves"),
    off("outer-gloves-off", "outer-gloves", "inside", about=("snapping",)),
    step(
        "inspect-inner", "inspect inner-gloves", "inspect inner-gloves by=observer", hold=True, branches=("torn-glove",)
    ),
    sanitize("sanitize-inner", "inner-gloves"),
)
_GOWN = (off("gown-off", "gown", "outside"), sanitize("sanitize-after-gown", "inner-gloves"))
_CHANGE = (
    off("inner-gloves-off", "inner-gloves", "inside", about=GLOVES),
    step("rub-before-new", "rub-hands bare using=rub"),
    step("new-gloves-on", "put-on new-gloves using=new-pair", hold=True),
)
_SHOES = (
    step("clean-shoes", "sanitize shoes using=wipes"),
    sanitize("sanitize-before-last", "new-gloves"),
    off("new-gloves-off", "new-gloves", "inside", about=GLOVES),
    step("rub-last", "rub-hands bare using=rub"),
)


def end(*others: str) -> tuple:
    looks = [f"inspect skin+clothing by={who}" for who in ("wearer", *others)]
    return (
        step("inspect-body", *looks, hold=True, branches=("soiled",)),
        step("leave-area", "move wearer to=clean-area"),
    )


ENH_N95_GOWN = edition(
    _ENH_ITEMS,
    (
        *_START,
        *_OUTER,
        off("face-shield-off", "face-shield", "rear-strap", into="reuse"),
        sanitize("sanitize-after-shield", "inner-gloves"),
        off("hood-off", "hood", "outside"),
        sanitize("sanitize-after-hood", "inner-gloves"),
        *_GOWN,
        *_CHANGE,
        _RESPIRATOR_OFF,
        sanitize("sanitize-after-respirator", "new-gloves"),
        *_SHOES,
        *end("observer"),
    ),
    _ENH_BRANCHES,
    "enhanced",
    roles=(WEARER, OBSERVER),
)

_PAPR_ITEMS = tuple(i for i in _ENH_ITEMS if i.kind not in ("respirator", "hood", "face-shield"))
_PAPR = item("powered-hood", "powered-hood", "gown", integrated_shield=True)
_PAPR_OFF = (
    off("powered-hood-off", "powered-hood", "outside", into="reuse", actor="assistant"),
    sanitize("sanitize-after-powered-hood", "inner-gloves", "sanitize outer-gloves by=assistant using=rub"),
)
ENH_PAPR_GOWN = edition(
    (*_PAPR_ITEMS[:3], _PAPR, *_PAPR_ITEMS[3:]),
    (*_START, *_OUTER, *_PAPR_OFF, *_GOWN, *_CHANGE, *_SHOES, *end("observer", "assistant")),
    _ENH_BRANCHES,
    "enhanced",
    roles=(WEARER, OBSERVER, ASSISTANT),
)

WHO_COVERALL = edition(
    (
        item("apron", "apron", "coverall"),
        item("hood", "hood", "coverall"),
        item("goggles", "goggles", "respirator"),
        item("outer-gloves", "gloves", "inner-gloves coverall", layer="outer"),
        item("coverall", "coverall", "scrubs"),
        item("respirator", "mask"),
        item("boots", "footwear"),
        item("inner-gloves", "gloves", layer="inner"),
        item("scrubs", "clothing", kept=True, clean=("outside", "inside")),
    ),
    (
        step(
            "guided",
            "confirm by=observer",
            "inspect area+supplies by=observer",
            "inspect ensemble",
            place="removal-area",
            hold=True,
        ),
        step("wipe-soil", "sanitize ensemble using=wipes"),
        sanitize("hygiene-2", "outer-gloves"),
        off("apron-off", "apron", "rear-strap"),
        sanitize("hygiene-4", "outer-gloves"),
        off("hood-off", "hood", "rear-strap"),
        sanitize("hygiene-6", "outer-gloves"),
        step(
            "coverall-and-gloves-off",
            "open coverall fastening=zip",
            "remove coverall+outer-gloves combined touching=inside",
            "discard coverall+outer-gloves into=waste",
            about=("zip-and-skin", "snapping"),
        ),
        sanitize("hygiene-8", "inner-gloves", hold=True),
        off("goggles-off", "goggles", "rear-strap", into="reuse"),
        sanitize("hygiene-10", "inner-gloves"),
        off(
            "mask-off",
            "respirator",
            "rear-strap",
            "open respirator fastening=lower-strap",
            "open respirator fastening=upper-strap",
        ),
        sanitize("hygiene-12", "inner-gloves"),
        off("boots-off", "boots", "inside", into="reuse"),
        sanitize("hygiene-14", "inner-gloves"),
        off("inner-gloves-off", "inner-gloves", "inside", about=GLOVES),
        step("hygiene-16", "rub-hands bare using=rub"),
        step(
            "inspect-body",
            "inspect skin+clothing",
            "inspect skin+clothing by=observer",
            hold=True,
            branches=("soiled",),
        ),
    ),
    (EXPOSURE, SOILED),
    "enhanced",
    roles=(WEARER, OBSERVER),
)

CDC_COVERALL = edition(
    (
        item("outer-gloves", "gloves", "inner-gloves coverall", layer="outer"),
        item("powered-hood", "powered-hood", "coverall", integrated_shield=True),
        item("coverall", "coverall", "scrubs"),
        *_PAPR_ITEMS[-4:],
    ),
    (
        *_START,
        *_OUTER[5:],
        *_PAPR_OFF,
        step("open-flap", "open coverall fastening=flap", about=("zip-and-skin",)),
        sanitize("sanitize-after-flap", "inner-gloves"),
        step("unzip", "open coverall fastening=zip", about=("zip-and-skin",)),
        step("peel", "touch coverall touching=outside", actor="assistant"),
        sanitize("sanitize-after-peel", "inner-gloves", "sanitize outer-gloves by=assistant using=rub"),
        off("coverall-off", "coverall", "inside", "sit chair", about=("zip-and-skin",)),
        sanitize("sanitize-after-coverall", "inner-gloves"),
        *_CHANGE,
        *_SHOES,
        *end("observer", "assistant"),
    ),
    _ENH_BRANCHES,
    "enhanced",
    roles=(WEARER, OBSERVER, ASSISTANT),
)

PUBLISHED = {
    "STD-EX1": STD_EX1,
    "STD-EX2": STD_EX2,
    "STD-2020": STD_2020,
    "ENH-N95-GOWN": ENH_N95_GOWN,
    "ENH-PAPR-GOWN": ENH_PAPR_GOWN,
    "ENH-WHO-COVERALL": WHO_COVERALL,
}

ORDERS = {
    "STD-EX1": "gloves goggles gown respirator hygiene",
    "STD-EX2": "gown+gloves goggles respirator hygiene",
    "STD-2020": "gloves gown hygiene goggles respirator hygiene",
    "ENH-N95-GOWN": "hygiene apron hygiene boot-covers hygiene outer-gloves hygiene face-shield hygiene hood hygiene "
    "gown hygiene inner-gloves hygiene respirator hygiene shoes hygiene new-gloves hygiene",
    "ENH-PAPR-GOWN": "hygiene apron hygiene boot-covers hygiene outer-gloves hygiene powered-hood hygiene gown hygiene "
    "inner-gloves hygiene shoes hygiene new-gloves hygiene",
    "ENH-WHO-COVERALL": "hygiene apron hygiene hood hygiene coverall+outer-gloves hygiene goggles hygiene respirator "
    "hygiene boots hygiene inner-gloves hygiene",
}
"""The published orders, transcribed by hand from the sources: what comes off, and `hygiene` of hands or gloves."""
