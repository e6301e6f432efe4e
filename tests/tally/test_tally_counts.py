"""Totals are what an independent count of the same sessions gives, and nothing is added up in silence."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from statistics import median

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tally_kit import as_json, entry, record

from docgen.artifacts.svg import Drawings
from docgen.model.sheet import BLACK
from docgen.tally import LENGTH, Tally, as_csv, as_text, bar, for_page, read_record, tally
from docgen.tally import as_json as printed
from docgen.tally.count import StepCount
from docgen.tally.write import shares, text_bar

UNHURRIED = settings(deadline=None)
RESULTS = ("done", "prompted", "missed", "unfinished")
VISIT = st.tuples(
    st.sampled_from(["wash", "dry", "rub"]), st.sampled_from(RESULTS), st.integers(0, 99), st.integers(0, 2)
)
SESSION = st.fixed_dictionaries(
    {
        "visits": st.lists(VISIT, min_size=1, max_size=4, unique_by=lambda visit: visit[0]),
        "site": st.sampled_from(["north", "south"]),
        "version": st.sampled_from(["1.0", "1.10", "1.9"]),
        "month": st.integers(1, 12),
    }
)
PLAIN = st.lists(SESSION, min_size=1, max_size=8)
OUTCOME = {"unfinished": "open"}


def read(plain):
    """Sessions of plain descriptions, through the files that a reader would save."""
    out = []
    for p in plain:
        prints = f"{p['site'][0].upper()}{p['version'].replace('.', '')}".ljust(10, "0")
        value = record(
            *(entry(*visit, label=str(1 + ["wash", "dry", "rub"].index(visit[0]))) for visit in p["visits"]),
            site=p["site"], version=p["version"], fingerprint=prints, unit=f"Unit {p['site']}",
            began=(when := f"2026-{p['month']:02d}-07T10:00:00+01:00"), ended=when,
        )  # fmt: skip
        told = read_record(as_json(value), "x")
        assert told.session, told.findings
        out.append(told.session)
    return out


def counted(sessions, together=False):
    return Tally(tally(sessions, {}, {}, together), together)


@given(PLAIN)
@UNHURRIED
def test_the_table_sums_to_what_a_count_of_the_descriptions_gives(plain):
    """Rows of the CSV, added up with `csv` and `Counter`, against the descriptions: no code of ours in between."""
    rows = list(csv.DictReader(io.StringIO(as_csv(counted(read(plain))))))

    found = Counter()
    for row in rows:
        for result in ("done", "prompted", "missed", "open"):
            found[row["site"], row["version"], row["month"], row["step"], result] += int(row[result])
        found[row["step"], "breaches"] += int(row["breaches"])
        found[row["step"], "seconds"] += float(row["seconds"] or 0)
    wanted = Counter()
    for p in plain:
        for step, result, seconds, breaches in p["visits"]:
            wanted[p["site"], p["version"], f"2026-{p['month']:02d}", step, OUTCOME.get(result, result)] += 1
            wanted[step, "breaches"] += breaches
            wanted[step, "seconds"] += seconds
    assert +found == +wanted


@given(PLAIN)
@UNHURRIED
def test_medians_are_medians(plain):
    """The middle of the times, by the standard library, for each step of each text."""
    for group in json.loads(printed(counted(read(plain))))["groups"]:
        texts = [(e["site"], e["version"]) for e in group["editions"]]
        for step in group["steps"]:
            visits = [v for p in plain if (p["site"], p["version"]) in texts for v in p["visits"]]
            times = [seconds for name, _, seconds, _ in visits if name == step["step"]]
            assert step["seconds-median"] == median(times)


@given(PLAIN, st.randoms(use_true_random=False))
@UNHURRIED
def test_the_order_of_files_does_not_matter(plain, chance):
    """Shuffled, the result has the same bytes."""
    shuffled = chance.sample(plain, len(plain))

    assert printed(counted(read(plain))) == printed(counted(read(shuffled)))


@given(PLAIN)
@UNHURRIED
def test_texts_are_counted_apart_unless_asked_for(plain):
    """As many groups as texts; together, one that names each of them and has all sessions."""
    texts = {(p["site"], p["version"]) for p in plain}
    apart, (one,) = counted(read(plain)).groups, counted(read(plain), together=True).groups

    assert {(e[2], e[0]) for g in apart for e in g.editions} == texts
    assert all(len(g.editions) == 1 for g in apart)
    assert {(e[2], e[0]) for e in one.editions} == texts
    assert one.sessions == len(plain) == sum(g.sessions for g in apart)
    said = "\n".join(as_text(counted(read(plain), together=True)))
    assert ("counted together" in said) == (len(texts) > 1)


@given(PLAIN)
@UNHURRIED
def test_units_and_steps_are_two_ways_to_the_same_totals(plain):
    """What is in the months of units is what is in the steps."""
    for g in counted(read(plain)).groups:
        for result in ("done", "prompted", "missed", "open", "breaches"):
            assert sum(getattr(s, result) for s in g.steps) == sum(getattr(s, result) for s in g.stretches)
        assert sum(s.sessions for s in g.stretches) == g.sessions


def test_versions_are_ordered_as_numbers():
    """1.10 is newer than 1.9."""
    sessions = read(
        {"visits": [("wash", "done", 1, 0)], "site": "north", "version": v, "month": 1} for v in ("1.9", "1.10")
    )

    assert [e[0] for e in counted(sessions, together=True).groups[0].editions] == ["1.10", "1.9"]


def test_a_number_that_another_step_has_now_is_not_said_twice():
    """Added up, an older text's step keeps its words and loses a number that means another step today."""
    old = read_record(as_json(record(entry("soap", label="1"), version="1.0", fingerprint="0000000001")), "x").session
    new = read_record(as_json(record(entry("rub", label="1"), version="1.1", fingerprint="0000000002")), "x").session

    (group,) = counted([old, new], together=True).groups

    assert [(s.step, s.label, s.headline) for s in group.steps] == [("rub", "1", "Do rub"), ("soap", "", "Do soap")]


def test_names_of_the_sources_are_shown_for_checklists():
    """A checklist knows ids and numbers only; the sources have the words, and the name of the unit."""
    bare = read_record(as_json(record({**entry("wash"), "headline": "", "label": ""}, unit="")), "x").session

    (group,) = tally([bare], {"0123456789": {"wash": ("1", "Wash your hands")}}, {"north": "Ward 3"}, False)

    assert (group.steps[0].label, group.steps[0].headline) == ("1", "Wash your hands")
    assert group.stretches[0].unit == "Ward 3"


@pytest.mark.parametrize("form", [printed, as_csv, lambda t: "\n".join(as_text(t)), lambda t: repr(for_page(t))])
def test_nobody_is_named_unless_asked_for(form):
    """Neither names nor remarks are in any form of the result."""
    people = {"wearer": "Name One", "observer": "Name Two", "remarks": "Name Three was late"}
    session = read_record(as_json(record(entry("wash"), names=people)), "x").session

    assert "Name" not in form(counted([session]))
    assert "Name One" in printed(Tally((), False, (), (session,)))


def test_a_formula_stays_a_text():
    """A headline that a spreadsheet would run is shown to it as words (OWASP, CSV injection)."""
    session = read_record(as_json(record({**entry("wash"), "headline": "=1+1"})), "x").session

    assert "'=1+1" in as_csv(counted([session]))


COUNTS = st.tuples(*[st.integers(0, 1000)] * 4)


@given(COUNTS)
@UNHURRIED
def test_bars_are_as_long_as_their_counts(counts):
    """Parts add up to the whole; what is there is seen; what is not is not; more is never shorter."""
    of = StepCount("wash", "1", "Wash", *counts, 0, ())
    parts = shares(of, 20)

    assert sum(parts) == (20 if sum(counts) else 0) == len(text_bar(of))
    for a, n in zip(counts, parts, strict=True):
        assert (a > 0) == (n > 0)
        for b, m in zip(counts, parts, strict=True):
            assert a <= b or n >= m


@given(COUNTS)
@UNHURRIED
def test_drawn_bars_are_within_their_box(counts):
    """No part leaves the drawing, and one is drawn for each count."""
    shapes = bar(StepCount("wash", "1", "Wash", *counts, 0, ()))

    assert bool(shapes) == bool(sum(counts))
    for shape in shapes:
        for _, numbers in shape.path:
            assert all(-0.01 <= x <= LENGTH + 0.01 for x in numbers[::2])
    assert Drawings().svg(shapes, LENGTH, 14, "", "bar").startswith('<svg class="bar"')


def test_a_bar_begins_at_the_reading_edge():
    """Mirrored on a page that is read from right to left: what was not done stands at the other end."""
    of = StepCount("wash", "1", "Wash", 1, 0, 3, 0, 0, ())
    ahead, mirrored = bar(of), bar(of, rtl=True)

    solid = [next(shape.path[0][1][0] for shape in one if shape.fill == BLACK) for one in (ahead, mirrored)]
    assert solid[0] > LENGTH / 5 and solid[1] < 1


def test_nothing_counted_is_said():
    """An empty result is not an empty screen."""
    assert list(as_text(counted([]))) == ["no session was counted"]
