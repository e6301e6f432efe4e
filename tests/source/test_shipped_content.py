"""The shipped protocols and sites: they read clean, stay terse, and keep the orders of published guidance."""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from docgen.model.protocol import Protocol, Step
from docgen.source import check_references, read_protocol, read_site

HOME = Path(__file__).parents[2] / "protocols"
PROTOCOLS = {p.stem: read_protocol(p.read_text("utf-8"), p.name) for p in sorted(HOME.glob("*.yaml"))}
SITES = {p.stem: read_site(p.read_text("utf-8"), p.name) for p in sorted((HOME / "sites").glob("*.yaml"))}
STEPS = {
    "enhanced-removal": 34,
    "enhanced-putting-on": 18,
    "everyday-removal": 10,
    "hand-rub": 8,
    "spill-cleanup": 15,
}
"""Protocol → steps of the main path under its default options, counted by hand in the files."""


def protocol(name: str) -> Protocol:
    value = PROTOCOLS[name].value
    assert value is not None, PROTOCOLS[name].findings
    return value


def combinations(of: Protocol) -> Iterator[dict[str, str]]:
    names = list(of.options)
    for chosen in itertools.product(*(of.options[n].choices for n in names)):
        yield dict(zip(names, chosen, strict=True))


def holds(when: dict | None, chosen: dict[str, str]) -> bool:
    return all(chosen[option] in choices for option, choices in (when or {}).items())


def path(of: Protocol, chosen: dict[str, str]) -> list[Step]:
    return [s for phase in of.phases for s in phase.steps if holds(s.when, chosen)]


def every_step(of: Protocol) -> Iterator[Step]:
    yield from (s for phase in of.phases for s in phase.steps)
    yield from (s for branch in of.branches.values() for s in branch.steps)


def defaults(of: Protocol) -> dict[str, str]:
    return {name: option.default or next(iter(option.choices)) for name, option in of.options.items()}


ENHANCED = list(combinations(protocol("enhanced-removal"))) if PROTOCOLS["enhanced-removal"].value else []


@pytest.mark.parametrize("name", [*PROTOCOLS, *SITES])
def test_shipped_files_read_without_findings(name):
    """Nothing is wrong with a shipped file, so that what a user sees first is clean."""
    read = PROTOCOLS.get(name) or SITES[name]

    assert read.findings == ()


@pytest.mark.parametrize("name", PROTOCOLS)
def test_shipped_references_lead_somewhere(name):
    """Every name in a shipped protocol is defined and used, and both sites fill its slots."""
    assert check_references(PROTOCOLS[name], list(SITES.values()), list(PROTOCOLS)) == ()


def test_the_shipped_set_is_what_the_pages_promise():
    """Five protocols and two sites, each marked as invented."""
    assert set(STEPS) == set(PROTOCOLS)
    assert {"harbour-north", "larkmoor"} == set(SITES)
    assert all(r.value.invented for r in [*PROTOCOLS.values(), *SITES.values()])


@pytest.mark.parametrize("name", PROTOCOLS)
def test_step_counts(name):
    """The main path is as long as its kind of work: a lost or doubled step shows here."""
    assert len(path(protocol(name), defaults(protocol(name)))) == STEPS[name]


@pytest.mark.parametrize("name", PROTOCOLS)
def test_headlines_fit_a_card(name):
    """No headline is longer than 48 characters or 7 words."""
    long = [s.headline.plain for s in every_step(protocol(name)) if len(s.headline.plain) > 48]
    wordy = [s.headline.plain for s in every_step(protocol(name)) if len(s.headline.plain.split()) > 7]

    assert long + wordy == []


@pytest.mark.parametrize("name", PROTOCOLS)
def test_technique_is_terse(name):
    """At most three lines of technique to a step, at most twelve words to a line."""
    bad = [
        (s.id, line.plain) for s in every_step(protocol(name)) for line in s.do or () if len(line.plain.split()) > 12
    ]
    bad += [(s.id, "lines") for s in every_step(protocol(name)) if len(s.do or ()) > 3]

    assert bad == []


@pytest.mark.parametrize("name", PROTOCOLS)
def test_sentences_are_short(name):
    """No sentence has more than 20 words: ASD-STE100's limit for procedural sentences, from memory."""
    texts = [
        t for s in every_step(protocol(name)) for t in (s.say, s.answer, s.done_when, *(s.do or ()), *(s.watch or ()))
    ]
    sentences = [x for t in texts if t for x in re.split(r"(?<=[.!?])\s+", t.plain)]

    assert [x for x in sentences if len(x.split()) > 20] == []


@pytest.mark.parametrize("name", PROTOCOLS)
def test_cautions_are_short(name):
    """A whole caution has at most 24 words, so that two lines of a poster hold it."""
    cautions = protocol(name).cautions.items()
    words = {n: sum(len(w.plain.split()) for w in (c.hazard, c.consequence, c.avoid)) for n, c in cautions}

    assert {n: count for n, count in words.items() if count > 24} == {}


@pytest.mark.parametrize("name", ["enhanced-removal", "enhanced-putting-on"])
def test_every_enhanced_step_can_be_called_and_confirmed(name):
    """The observer states the step, the wearer says it back, the observer sees it complete.

    Source: CDC trained observer training, pages 12 and 16.
    """
    missing = [s.id for s in every_step(protocol(name)) if not (s.say and s.answer and s.done_when and s.watch)]

    assert missing == []


@pytest.mark.parametrize("name", PROTOCOLS)
def test_every_protocol_says_what_it_rests_on(name):
    """Sources with what was taken from them, an approver, and a review date within two years."""
    p = protocol(name)

    assert p.basis and all(b.part for b in p.basis)
    assert p.approval and p.approval.on < p.effective
    assert datetime.date(2026, 12, 1) < p.review <= p.effective + datetime.timedelta(days=730)
    assert p.reason and p.changes


def test_the_sites_choose_differently():
    """Every option is settled in two ways, so that every choice but one apron is exercised by a real edition."""
    north, south = SITES["harbour-north"].value, SITES["larkmoor"].value

    for name in PROTOCOLS:
        a, b = north.protocols[name].options, south.protocols[name].options
        assert set(a) == set(b) == set(protocol(name).options)
        assert all(a[option] != b[option] for option in a)
    assert {a.sheet for a in north.sheets.values()}.isdisjoint({b.sheet for b in south.sheets.values()})


@pytest.mark.parametrize("name", SITES)
def test_both_directions_of_a_site_wear_the_same(name):
    """Whoever puts on by one sheet removes the same ensemble by the other."""
    site = SITES[name].value

    assert site.protocols["enhanced-removal"].options == site.protocols["enhanced-putting-on"].options


@pytest.mark.parametrize("name", SITES)
def test_contact_times_in_words_are_those_of_the_label(name):
    """`3 minutes` in the text and 180 seconds for the program are the same time."""
    site = SITES[name].value
    said = {"wipe-time": "disinfectant-wipes", "spill-time": "spill-disinfectant"}

    for slot, supply in said.items():
        minutes = int(site.values[slot].plain.split()[0])
        assert minutes * 60 == site.supplies[supply].contact_seconds


@pytest.mark.parametrize("name", SITES)
def test_postings_are_in_walking_order_and_used(name):
    """8 to 12 postings, each of a protocol that the site uses, no two at the same place of the walk."""
    site = SITES[name].value
    walk = [p.walk for p in site.postings]

    assert 8 <= len(site.postings) <= 12
    assert len(set(walk)) == len(walk)
    assert {p.protocol for p in site.postings} == set(site.protocols)


@pytest.mark.parametrize("name", SITES)
def test_what_hangs_is_what_is_made(name):
    """A posting that names a sheet names the one that this site prints that artifact on."""
    site = SITES[name].value
    made = {(p.id, p.sheet): {**site.sheets, **site.protocols[p.protocol].sheets}[p.artifact] for p in site.postings}

    assert {key: key[1] or choice.sheet for key, choice in made.items()} == {k: c.sheet for k, c in made.items()}


# --- the enhanced removal in all its combinations, by a simpler reckoning than the sequence analysis ------------------


def acts(steps: list[Step]) -> list[tuple[str, tuple[str, ...], str]]:
    return [(a.verb, a.targets, a.by or s.actor) for s in steps for a in s.acts]


def test_there_are_24_enhanced_combinations():
    """Three aprons, two moments for boot covers, two garments, two respirators."""
    assert len(ENHANCED) == 24


@pytest.mark.parametrize("chosen", ENHANCED, ids=lambda c: "-".join(c.values()))
class TestEnhancedCombination:
    def removals(self, chosen: dict[str, str]) -> list[str]:
        done = acts(path(protocol("enhanced-removal"), chosen))
        return [t for verb, targets, _ in done if verb == "remove" for t in targets]

    def test_everything_worn_comes_off_once(self, chosen):
        """Conservation: each item worn is removed exactly once or kept; new gloves are put on, then removed."""
        items = protocol("enhanced-removal").items
        worn = [n for n, i in items.items() if holds(i.when, chosen) and not i.kept]

        assert sorted(worn) == sorted(self.removals(chosen))

    def test_what_covers_comes_off_first(self, chosen):
        """Layering: the order is a linear extension of `covers`, or both come off in one movement."""
        items = protocol("enhanced-removal").items
        order: dict[str, int] = {}
        for n, (verb, targets, _) in enumerate(acts(path(protocol("enhanced-removal"), chosen))):
            if verb == "remove":
                order |= dict.fromkeys(targets, n)

        assert [(a, b) for a in order for b in items[a].covers or () if b in order and order[a] > order[b]] == []

    def test_published_order(self, chosen):
        """Outer gloves, then face items; respirator after the garment; a powered hood before it.

        Sources: CDC guidance on PPE for VHF (2015 text, from memory) and its training pages 09 and 11 of powered
        respirator with gown.
        """
        order = self.removals(chosen)
        at = {name: n for n, name in enumerate(order)}
        garment = at[chosen["outer-garment"]]

        assert at["outer-gloves"] < garment < at["inner-gloves"] < at["new-gloves"] == len(order) - 1
        if chosen["respirator"] == "n95":
            assert at["outer-gloves"] < at["face-shield"] < at["hood"] < garment < at["inner-gloves"] < at["respirator"]
        else:
            assert at["outer-gloves"] < at["powered-hood"] < garment
        if chosen["apron"] != "none":
            assert at["apron"] == 0
        late = at["boot-covers"] > at["outer-gloves"]
        assert late == (chosen["boot-covers"] == "late")

    def test_hands_are_cleaned_between_removals(self, chosen):
        """Between every two removals the wearer sanitizes gloves, rubs bare hands or puts on new gloves.

        Source: World Health Organization, Steps to take off PPE including coverall.
        """
        cleaned = True
        for verb, targets, by in acts(path(protocol("enhanced-removal"), chosen)):
            if verb == "remove":
                assert cleaned, targets
                cleaned = False
            elif by == "wearer" and verb in ("sanitize", "rub-hands", "put-on"):
                cleaned = True

    def test_assistant_cleans_gloves_after_each_contact(self, chosen):
        """After a step with contact, the assistant's next act is to sanitize (common practice, no source)."""
        touched_in = ""
        for step in path(protocol("enhanced-removal"), chosen):
            for verb, _, by in acts([step]):
                if by != "assistant" or verb in ("inspect", "discard"):
                    continue
                if verb == "sanitize":
                    touched_in = ""
                else:
                    assert touched_in in ("", step.id)
                    touched_in = step.id
        assert not touched_in

    def test_the_observer_never_touches(self, chosen):
        """Source: CDC guidance on PPE for VHF, 2014 to 2015 text, from memory."""
        done = acts(path(protocol("enhanced-removal"), chosen))

        assert {verb for verb, _, by in done if by == "observer"} <= {"inspect", "confirm", "note"}

    def test_flap_then_sanitize_then_zip(self, chosen):
        """Source: CDC training page 12 of powered respirator with coverall."""
        if chosen["outer-garment"] == "coverall":
            steps = [s.id for s in path(protocol("enhanced-removal"), chosen)]
            at = steps.index("open-flap")

            assert steps[at : at + 3] == ["open-flap", "sanitize-after-flap", "unzip-coverall"]

    def test_bare_hands_are_rubbed_at_once_after_gloves(self, chosen):
        """After gloves that bare the hands: their discard, then hand hygiene, then anything else."""
        done = acts(path(protocol("enhanced-removal"), chosen))
        for n, (verb, targets, _) in enumerate(done):
            if verb == "remove" and targets in (("inner-gloves",), ("new-gloves",)):
                assert [v for v, _, _ in done[n + 1 : n + 3]] == ["discard", "rub-hands"]

    def test_every_removal_is_discarded_into_a_container_at_that_place(self, chosen):
        """Source: CDC trained observer training, page 16: disposed of in the right container."""
        p = protocol("enhanced-removal")
        for phase in p.phases:
            for step in (s for s in phase.steps if holds(s.when, chosen)):
                off = [t for a in step.acts if a.verb == "remove" for t in a.targets]
                into = {t: a.into for a in step.acts if a.verb == "discard" for t in a.targets}
                for item in off:
                    container = p.supplies[into[item]]
                    assert container.kind == "container"
                    assert (step.place or phase.place) in container.at

    def test_the_end(self, chosen):
        """Last gloves, bare-hand hygiene, inspection by all three, then the clean area."""
        done = acts(path(protocol("enhanced-removal"), chosen))

        assert [verb for verb, _, _ in done[-5:]] == ["rub-hands", "inspect", "inspect", "inspect", "move"]
        assert {"wearer", "assistant", "observer"} == {by for _, _, by in done[-4:-1]}
