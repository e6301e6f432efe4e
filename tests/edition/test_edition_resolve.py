"""A protocol at a site becomes an edition: what applies is there, numbered and filled; what does not is gone."""

from __future__ import annotations

import dataclasses
from itertools import product
from pathlib import Path

import pytest

from docgen.edition import resolve
from docgen.findings import Where
from docgen.model.edition import Edition
from docgen.model.protocol import Protocol
from docgen.model.read import Read
from docgen.model.text import Run, Text
from docgen.source import read_protocol, read_site

HOME = Path(__file__).parents[2] / "protocols"
PROTOCOLS = {p.stem: read_protocol(p.read_bytes(), p.name) for p in sorted(HOME.glob("*.yaml"))}
SITES = {p.stem: read_site(p.read_bytes(), p.name) for p in sorted(HOME.glob("sites/*.yaml"))}

SOURCE = """
protocol: demo
code: IP-DEMO-01
title: Demo for {ward}
version: 2.1
effective: 2026-02-02
review: 2027-02-01
owner: Kestrel Bay Hospital
audience: Everybody
purpose: Try things out.
basis: [{source: Common practice, part: all, note: none}]
roles:
  wearer: {name: Wearer}
  observer: {name: Observer, contacts: false}
  assistant: {name: Assistant}
  runner: {name: Runner}
places:
  room: {name: patient room, order: 1}
  hall: {name: hall, order: 2}
supplies:
  rub: {name: hand rub, kind: agent}
  wipes: {name: wipes, kind: agent}
  bin: {name: bin, kind: container}
  spare: {name: spare gloves, kind: garment}
items:
  apron: {name: apron, kind: apron, covers: gown, when: {apron: tie}}
  gown: {name: gown, kind: gown}
options:
  apron:
    title: Apron
    choices: {none: {name: no apron}, tie: {name: apron with ties}}
    default: tie
  wash:
    title: Washing
    choices: {early: {name: early}, late: {name: late}}
cautions:
  front:
    {signal: warning, hazard: It is dirty., consequence: It can spread., avoid: Do not touch it., when: {apron: tie}}
  fall: {signal: caution, hazard: The floor is wet., consequence: You can fall., avoid: Do not run.}
phases:
  - id: only-apron
    title: Apron
    place: room
    steps:
      - id: apron-off
        headline: Remove the apron
        do: [Untie it., Roll it.]
        acts: [{remove: apron}, {discard: apron, into: bin}]
        cautions: [front, fall]
        branches: [torn]
        when: {apron: tie}
  - id: rest
    title: Rest
    place: room
    steps:
      - id: look
        headline: Look at {gown} and {rub}
        actor: observer
        acts: [{inspect: [apron, gown], by: observer}]
        hold: {until: "{gown} is seen"}
      - id: gown-off
        headline: Remove the gown
        actor: assistant
        acts: [{remove: gown}]
        cautions: [front, fall]
        branches: [torn, spill]
      - id: wipe
        headline: Wipe for {long}
        place: hall
        acts: [{sanitize: gown, using: wipes, time: {contact: wipes, seconds: [5, 10]}}]
        time: {until: it is dry}
        when: {wash: late}
branches:
  torn:
    question: Torn?
    steps:
      - {id: stop, headline: Stop, actor: runner, acts: [{put-on: spare}]}
      - {id: call, headline: Call {desk}, when: {wash: late}}
    rejoin: gown-off
  spill:
    question: Spilt?
    anywhere: true
    steps: [{id: mop, headline: Mop}]
    rejoin: same
  rare:
    question: Rare?
    steps: [{id: wait-a-bit, headline: Wait}]
    leave: Go home.
    when: {wash: early}
""".replace("headline: Call {desk}", 'headline: "Call {desk}"').replace("Wipe for {long}", '"Wipe for {long}"')

SITE = """
site: east
name: Kestrel Bay Hospital, East
unit: Ward 4
protocols:
  demo: {options: {wash: late}}
values: {ward: Ward *4*, long: 2 minutes, desk: +1 555 0100, unused: x}
places: {hall: corridor B}
supplies:
  wipes: {product: Dunmarrow wipes, contact-seconds: 60}
  rub: {product: Hesperol}
sheets: {poster: {sheet: A2, distance: 2}}
speech-rate: 110
waivers:
  - {rule: sequence/x, steps: look, protocol: demo, reason: Only a demo., by: Ada, on: 2026-01-01, review: 2027-01-01}
  - {rule: sequence/y, protocol: other, reason: Only a demo., by: Ada, on: 2026-01-01, review: 2027-01-01}
"""


def read(text: str = SOURCE) -> Read[Protocol]:
    found = read_protocol(text, "demo.yaml")
    assert found.findings == ()
    return found


def site(text: str = SITE):
    found = read_site(text, "east.yaml")
    assert found.findings == ()
    return found


def at_site(protocol: str = SOURCE, place: str = SITE) -> Edition:
    edition, findings = resolve(read(protocol), site(place))
    assert findings == ()
    assert edition is not None
    return edition


def with_choices(**choices: str) -> Edition:
    edition, findings = resolve(read(), None, choices)
    assert findings == ()
    assert edition is not None
    return edition


def texts(value) -> list[Text]:
    if isinstance(value, Text):
        return [value] if value else []
    if isinstance(value, tuple):
        return [t for each in value for t in texts(each)]
    if dataclasses.is_dataclass(value) and not isinstance(value, (Where, Run)):
        return [t for f in dataclasses.fields(value) for t in texts(getattr(value, f.name))]
    return []


def test_a_site_chooses_and_defaults_fill_the_rest() -> None:
    """Options in the protocol's order; nothing is left open."""
    edition = at_site()
    assert edition.options == (("apron", "tie"), ("wash", "late"))
    assert edition.open_options == ()
    assert [t.plain for t in edition.option_texts] == ["Apron", "apron with ties", "Washing", "late"]
    assert all(not part.when for part in (*edition.all_steps(), *edition.branches, *edition.items))


def test_what_does_not_apply_is_gone_and_numbers_close_up() -> None:
    """Steps, items, cautions, branches and empty phases; then 1 to n and A1 to An."""
    edition = with_choices(apron="none", wash="early")
    assert [(s.number, s.label, s.id) for s in edition.steps] == [(1, "1", "look"), (2, "2", "gown-off")]
    assert [(p.number, p.id, p.steps) for p in edition.phases] == [(1, "rest", ("look", "gown-off"))]
    assert [i.id for i in edition.items] == ["gown"]
    assert edition.step("look").acts[0].targets == ("gown",)
    assert [c.id for c in edition.step("gown-off").cautions] == ["fall"]
    assert [(b.id, b.letter, [s.label for s in b.steps]) for b in edition.branches] == [
        ("torn", "A", ["A1"]), ("spill", "B", ["B1"]),
    ]  # fmt: skip


def test_a_branch_that_no_step_of_the_edition_offers_is_gone() -> None:
    """`rare` applies, but is offered nowhere; `spill` may happen anywhere."""
    assert "rare" not in [b.id for b in with_choices(wash="early").branches]
    only_apron = SOURCE.replace("branches: [torn, spill]", "branches: [spill]")
    edition, _ = resolve(read(only_apron), None, {"apron": "none", "wash": "late"})
    assert edition is not None
    assert [b.id for b in edition.branches] == ["spill"]
    assert edition.step("gown-off").branches == ("spill",)


def test_slots_are_filled_by_values_products_places_and_items() -> None:
    """A site's words go in as they were parsed, once; the keys and the unfilled words stay beside them."""
    edition = at_site()
    assert edition.title.plain == "Demo for Ward 4"
    assert edition.title.runs == (Run("Demo for "), Run("Ward "), Run("4", emphasis=True))
    assert edition.title.source == "Demo for {ward}"
    assert edition.title.unfilled == (Run("Demo for "), Run(slot="ward"))
    assert edition.step("look").headline.plain == "Look at gown and Hesperol"
    assert edition.step("call").headline.plain == "Call +1 555 0100"
    assert dict(edition.values)["rub"].key == "supply.rub.product"
    assert [slot for slot, _ in edition.values] == ["desk", "gown", "long", "rub", "ward"]
    assert edition.value_map()["long"] == (Run("2 minutes"),)


def test_a_value_is_never_parsed_again() -> None:
    """Stars and braces in a value are its characters."""
    edition = at_site(place=SITE.replace("2 minutes", r"'\*2\* {{x}} - 3'"))
    assert edition.step("wipe").headline.plain == "Wipe for *2* {x} - 3"


def test_what_the_site_knows_is_in() -> None:
    """Names of places, products, contact times, sheets, speech rate and the waivers of this protocol."""
    edition = at_site()
    assert (edition.site, edition.site_name.plain, edition.unit.plain) == (
        "east",
        "Kestrel Bay Hospital, East",
        "Ward 4",
    )
    assert [p.name.plain for p in edition.places] == ["patient room", "corridor B"]
    wipes = next(s for s in edition.supplies if s.id == "wipes")
    assert (wipes.name.plain, wipes.product.plain, wipes.contact) == ("wipes", "Dunmarrow wipes", 60)
    time = edition.step("wipe").acts[0].time
    assert time is not None and (time.least, time.most, time.contact) == (60, 60, "wipes")
    assert edition.sheet("poster").sheet == "A2" and edition.sheet("poster").distance == 2.0
    assert edition.sheet("cards").sheet == ""
    assert edition.speech_rate == 110
    assert [(w.rule, w.steps, w.where.line > 0) for w in edition.waivers] == [("sequence/x", ("look",), True)]


def test_a_protocol_may_have_sheets_of_its_own_at_a_site() -> None:
    """They stand before the site's; what they do not name stays the site's."""
    own = SITE.replace("{wash: late}}", "{wash: late}, sheets: {poster: {sheet: A3}, cards: {sheet: A7}}}")
    edition = at_site(place=own)
    assert (edition.sheet("poster").sheet, edition.sheet("cards").sheet) == ("A3", "A7")


def test_only_supplies_in_use_are_listed() -> None:
    """`wipes` only serve the late wash; `spare` is put on in a branch."""
    assert [s.id for s in with_choices(wash="early").supplies] == ["rub", "bin", "spare"]
    assert [s.id for s in with_choices(wash="late", apron="none").supplies] == ["rub", "wipes", "spare"]


def test_who_acts_where() -> None:
    """Marks by role, the phase's place unless the step has its own, holds and acts with their roles."""
    edition = at_site()
    assert {r.id: r.mark for r in edition.roles} == {
        "wearer": "circle", "observer": "square", "assistant": "triangle", "runner": "diamond",
    }  # fmt: skip
    assert [s.place for s in edition.steps] == ["room", "room", "room", "hall"]
    assert edition.step("gown-off").acts[0].by == "assistant"
    assert edition.step("look").hold is not None
    assert edition.step("look").hold.by == "observer"


def test_keys_name_every_text() -> None:
    """The contexts of the catalogues: unique, and each with its source."""
    edition = at_site()
    keys = [t.key for t in texts(edition)]
    assert {
        "protocol.title",
        "step.apron-off.do.1",
        "step.apron-off.do.2",
        "step.look.hold",
        "caution.fall.avoid",
    } <= set(keys)
    assert {"branch.torn.question", "phase.rest.title", "item.gown.name", "role.runner.name", "time.wipe.until"} <= set(
        keys
    )
    by_key: dict[str, set[str]] = {}
    for text in texts(edition):
        by_key.setdefault(text.key, set()).add(text.source)
    assert all(len(sources) == 1 for sources in by_key.values())


def test_the_general_edition_keeps_every_part_with_its_condition() -> None:
    """For the sequence analysis: options open, `when` kept, open slots shown."""
    edition, findings = resolve(read(), None)
    assert findings == ()
    assert edition is not None
    assert edition.options == ()
    assert edition.open_options == (("apron", ("none", "tie")), ("wash", ("early", "late")))
    assert edition.step("apron-off").when == (("apron", ("tie",)),)
    assert [i.when for i in edition.items] == [(("apron", ("tie",)),), ()]
    assert edition.step("apron-off").cautions[0].when == (("apron", ("tie",)),)
    assert len(edition.steps) == 4
    assert edition.title.plain == "Demo for ‹ward›"
    assert edition.step("look").headline.plain == "Look at gown and hand rub"
    assert [t.key for t in edition.option_texts if t.key.startswith("choice.wash")] == [
        "choice.wash.early.name", "choice.wash.late.name",
    ]  # fmt: skip
    time = edition.step("wipe").acts[0].time
    assert time is not None and (time.least, time.most, time.contact) == (5, 10, "wipes")


def problems(protocol: str = SOURCE, place: str = SITE) -> list[tuple[str, str]]:
    edition, findings = resolve(read(protocol), site(place))
    assert edition is None
    return [(f.rule.removeprefix("edition/"), f.site) for f in findings]


def test_what_stands_in_the_way_is_said() -> None:
    """No edition is made with a hole in it, whatever was checked before."""
    assert problems(place=SITE.replace("demo: {options: {wash: late}}", "demo: {}")) == [("missing-option", "east")]
    assert problems(place=SITE.replace("wash: late", "wash: never")) == [("unknown-choice", "east")]
    assert problems(place=SITE.replace("wash: late", "wash: late, colour: red")) == [("unknown-option", "east")]
    assert problems(place=SITE.replace("long: 2 minutes, ", "")) == [("unfilled-slot", "east")]
    assert problems(place=SITE.replace(", contact-seconds: 60", "")) == [("missing-contact-time", "east")]
    assert (
        problems(place=SITE.replace("  demo:", "  other:"))
        == [("not-used-here", "east"), ("missing-option", "east")][:1]
    )
    gone = SITE.replace("wash: late", "wash: late, apron: none")
    assert problems(SOURCE.replace("    rejoin: gown-off", "    rejoin: apron-off"), gone) == [
        ("rejoins-nowhere", "east")
    ]
    unguarded = SOURCE.replace("        when: {apron: tie}\n", "")
    assert ("item-not-there", "east") in problems(unguarded, gone)


def test_unreadable_sources_have_findings_of_their_own() -> None:
    """Nothing is made of them and nothing is said twice."""
    assert resolve(read_protocol("a: b", "x.yaml"), None) == (None, ())
    assert resolve(read(), read_site("a: b", "x.yaml")) == (None, ())


@pytest.mark.parametrize("name", PROTOCOLS)
def test_every_combination_of_every_shipped_protocol_resolves(name: str) -> None:
    """Numbers run from 1 without a gap, every name leads somewhere, no slot or condition is left over."""
    value = PROTOCOLS[name].value
    assert value is not None
    for choices in product(*(option.choices for option in value.options.values())):
        edition, findings = resolve(PROTOCOLS[name], None, dict(zip(value.options, choices, strict=True)))
        assert findings == ()
        assert edition is not None
        assert [s.number for s in edition.steps] == list(range(1, len(edition.steps) + 1))
        assert [i for p in edition.phases for i in p.steps] == [s.id for s in edition.steps]
        assert [p.number for p in edition.phases] == list(range(1, len(edition.phases) + 1))
        assert [b.letter for b in edition.branches] == list("ABCDEFGH"[: len(edition.branches)])
        known = {x.id for group in (edition.items, edition.supplies, edition.roles, edition.places) for x in group}
        branches = {b.id for b in edition.branches}
        ids = {s.id for s in edition.steps}
        for step in edition.all_steps():
            assert edition.role(step.actor)
            assert set(step.branches) <= branches
            for act in step.acts:
                named = {*act.using, act.into, act.to, act.on} - {""}
                assert named <= known
                assert not {t for t in act.targets if t in value.items} - known
        assert all(b.rejoin in ids | {"same", ""} for b in edition.branches)
        assert all(not run.slot and "{" not in run.text for t in texts(edition) for run in t.runs)


@pytest.mark.parametrize(("name", "place"), list(product(PROTOCOLS, SITES)))
def test_every_shipped_protocol_resolves_at_every_site(name: str, place: str) -> None:
    """The two invented sites use all of them, with nothing open."""
    edition, findings = resolve(PROTOCOLS[name], SITES[place])
    assert findings == ()
    assert edition is not None
    assert not any("‹" in t.plain for t in texts(edition))
    assert len(edition.fingerprint) == 10
