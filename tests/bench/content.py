"""Turn a seed into an invented protocol of any length, so that every round of a measurement sets other words.

A step has a headline, a spoken sentence with its answer, three details, two things to watch for and an end state; every
third step has a caution of its own. 30 steps come to 17 pages in five artifacts, with 90 boxes to tick.
"""

from __future__ import annotations

import random
from pathlib import Path

# fmt: off
VERBS = ("Check", "Open", "Close", "Lift", "Fold", "Turn", "Wipe", "Hold", "Lower", "Raise", "Empty", "Rinse", "Cover")
THINGS = (
    "apron", "basin", "blanket", "bottle", "bowl", "cabinet", "chair", "clamp", "cover", "curtain", "drawer",
    "folder", "frame", "handle", "label", "lamp", "lid", "locker", "mat", "monitor", "pillow", "rail", "screen",
    "sheet", "shelf", "stand", "stool", "strap", "table", "tray", "trolley", "tube", "valve", "window",
)
KINDS = ("left", "right", "upper", "lower", "inner", "outer", "small", "large", "empty", "blue", "green", "spare")
PLACES = ("door", "sink", "window", "wall", "desk", "bed", "corner", "hatch", "shelf", "counter")
# fmt: on


def _words(rng: random.Random) -> dict[str, str]:
    thing, other = rng.sample(THINGS, 2)
    return {
        "verb": rng.choice(VERBS), "thing": f"{rng.choice(KINDS)} {thing}", "other": f"{rng.choice(KINDS)} {other}",
        "place": rng.choice(PLACES), "n": str(rng.randint(2, 90)),
    }  # fmt: skip


STEP = """\
      - id: step-{at}
        headline: "{verb} the {thing} {at} by the {place}"
        say: "{verb} the {thing} now, and keep the {other} away from the {place} until you have done so."
        answer: "The {thing} is done."
        do:
          - "Stand at the {place} with the {other} on your left."
          - "Move the {thing} by {n} centimetres, and wait for {n} seconds."
          - "Look at the {other} once more before you let go of the {thing}."
        watch:
          - "The {thing} touches the {other}."
          - "The {other} is nearer than {n} centimetres to the {place}."
        done-when: "The {thing} rests at the {place}."
"""
CAUTION = """\
  caution-{at}:
    signal: {signal}
    hazard: "The {thing} {at} is heavy."
    consequence: "It can hurt your foot."
    avoid: "Do not lift the {thing} alone."
    about: [other]
"""
HEAD = """\
protocol: {name}
code: IP-BM-{code:04d}
title: "{title}"
kind: procedure
version: "1.0"
effective: 2026-01-12
review: 2027-07-12
status: approved
approval: {{by: "Odile Marchetti-Rao, RN", role: Infection Prevention Manager, on: 2025-12-08}}
owner: Infection Prevention, Kestrel Bay Hospital
audience: All staff
purpose: "To set many words."
invented: true
reason: "This is the first version."
changes: ["Everything is new."]
basis:
  - {{source: Kestrel Bay Hospital, part: invented, note: Nothing of this is true.}}
roles:
  wearer: {{name: Nurse}}
  observer: {{name: Observer}}
places:
  room: {{name: room, order: 1}}
cautions:
{cautions}phases:
{phases}"""
SITE = """\
site: bench
name: Kestrel Bay Hospital
unit: Ward {ward}
invented: true
languages: [en]
protocols:
  {name}: {{}}
sheets:
  poster: {{sheet: A1, distance: 1.0}}
  cards: {{sheet: A6, distance: 0.4}}
  script: {{sheet: A4, distance: 0.5}}
  checklist: {{sheet: A4, distance: 0.4}}
  notice: {{sheet: A4, distance: 0.4}}
"""


def protocol(steps: int, seed: int, name: str = "bench", edited: int | None = None) -> str:
    """YAML of a protocol. `edited`: a step, from 1, whose spoken sentence has another end."""
    rng = random.Random(seed)
    cautions, phases = [], []
    for at in range(1, steps + 1):
        if at % 15 == 1:
            phases.append(f'  - id: phase-{at}\n    title: "Part {at // 15 + 1}"\n    place: room\n    steps:\n')
        said = {**_words(rng), "at": str(at)}
        step = STEP.format(**said)
        if at == edited:
            step = step.replace("until you have done so", "until I tell you")
        if at % 3 == 0:
            cautions.append(CAUTION.format(**said, signal=rng.choice(("warning", "caution"))))
            step += f"        cautions: caution-{at}\n"
        phases.append(step)
    title = f"Moving the {rng.choice(THINGS)} {seed}"
    return HEAD.format(name=name, code=seed, title=title, cautions="".join(cautions), phases="".join(phases))


def site(name: str = "bench", ward: int = 1) -> str:
    """YAML of the site that uses it."""
    return SITE.format(name=name, ward=ward)


def folder(at: Path, steps: int, seeds: range) -> Path:
    """A folder of protocols, one for each seed, each used by a site of its own."""
    sites = at / "sites"
    sites.mkdir(parents=True)
    for seed in seeds:
        name = f"bench-{seed}"
        (at / f"{name}.yaml").write_text(protocol(steps, seed, name), "utf-8")
        text = site(name, seed).replace("site: bench", f"site: bench-{seed}")
        (sites / f"bench-{seed}.yaml").write_text(text, "utf-8")
    return at
