"""What must hang, what hangs, and what people say of it."""

from __future__ import annotations

import csv
import datetime
import io
import string
import subprocess
import sys
from collections import Counter
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import example, given, settings
from hypothesis import strategies as st
from postings_kit import DAY, PAGES, SITE, histories, home, release, site, withdrawn

from docgen import cli
from docgen.model.posting import STATES, Copy, Hung
from docgen.release import lists
from docgen.release.copies import COLUMNS, added, parse
from docgen.release.marking import Mark, Told, from_list, marked
from docgen.release.orders import orders, paper, pouches
from docgen.release.postings import found, hanging, plan

TODAY = DAY(2030, 3, 10)
SIDES = {"poster": 1, "cards": 2, "script": 2, "checklist": 2, "notice": 2}
V1, TRAY = release(), release("tray-care")
V2 = release(version="1.1", effective=DAY(2030, 6, 1))


def hung(of=V1, posting="door", artifact="poster", sheet="A3", language="en", there=2, on=DAY(2030, 3, 2)):
    copy = Copy(of.protocol, artifact, sheet, language, of.version, of.editions[0].fingerprint)
    return Hung(on, posting, "Door of the day ward, left", copy, there, "Ada Invented")


def task(tasks, posting, language="en"):
    return next(t for t in tasks if t.spot.key == (posting, language))


# --- the record ---------------------------------------------------------------------------------------------


words = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=12)
lines = st.builds(
    Hung,
    st.dates(DAY(2000, 1, 1), DAY(2100, 1, 1)),
    words, words,
    st.builds(Copy, words, words, words, words, words, words),
    st.integers(0, 9999), words, words | st.just(""),
)  # fmt: skip


@settings(deadline=None)
@given(st.lists(lines, max_size=6))
@example([replace(hung(), by="'=1", note="'")])
def test_a_record_comes_back_as_it_was_written(many):
    """Commas, quotation marks, letters of all scripts and signs that a spreadsheet would calculate."""
    text = added(added("", many[:2]), many[2:])

    back, findings = parse(text, "x.csv")

    assert findings == ()
    assert [replace(h) for h in back] == [replace(h) for h in many]


@settings(deadline=None)
@given(st.lists(lines, min_size=1, max_size=6))
def test_no_cell_begins_as_a_formula(many):
    """Read by the standard library's csv module, as a spreadsheet would."""
    for row in list(csv.reader(io.StringIO(added("", many))))[1:]:
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)


def test_a_line_that_cannot_be_read_is_named():
    """With the number of the line; the other lines are still read, and nothing is thrown."""
    text = added("", [hung(), hung()]).replace("2030-03-02", "yesterday", 1)

    back, findings = parse(text, "x.csv")

    assert len(back) == 1
    assert [(f.where.line, f.message) for f in findings] == [(2, "`yesterday` is not a day such as 2026-03-31")]


@pytest.mark.parametrize("text", ["posting,there\ndoor,1\n", '"', "\0", "date;posting\n", "1,2\n" * 3])
def test_a_record_of_another_shape_is_refused(text):
    """Never a traceback, never a line that nobody wrote."""
    back, findings = parse(text, "x.csv")

    assert back == ()
    assert all(f.rule == "postings/unreadable" for f in findings)


def test_later_lines_take_the_place_of_earlier_ones():
    """By day, whatever the order in the file: lines of two people are merged by version control."""
    up, down = hung(on=DAY(2030, 3, 2)), hung(there=0, on=DAY(2030, 6, 1))

    assert hanging([up]) == (up,)
    assert hanging([up, down]) == hanging([down, up]) == ()


# --- the plan -----------------------------------------------------------------------------------------------


def test_a_first_release_is_put_up_everywhere():
    """In walking order, with nothing to take down."""
    tasks = plan(site(), (), histories(V1, TRAY), TODAY)

    assert [(t.spot.posting, t.spot.language, t.missing) for t in tasks] == [
        ("desk", "en", 1), ("door", "en", 2), ("door", "es", 2), ("pockets", "en", 7), ("shelf", "en", 3)
    ]  # fmt: skip
    assert not any(t.down for t in tasks)


def test_a_new_release_replaces_what_was_recorded():
    """Exactly the copies that were recorded come down."""
    tasks = plan(site(), [hung()], histories(V1, V2), TODAY)
    door = task(tasks, "door")

    assert [(o.copy.version, o.copies, o.recorded) for o in door.down] == [("1.0", 2, True)]
    assert (door.target.copy.version, door.missing) == ("1.1", 2)


def test_where_nobody_recorded_anything_the_old_one_is_looked_for():
    """Old copies hang although nobody wrote it down."""
    door = task(plan(site(), [], histories(V1, V2), TODAY), "door", "es")

    assert [(o.copy.version, o.copies, o.recorded) for o in door.down] == [("1.0", 0, False)]


def test_what_is_up_is_not_printed_again():
    """Two of two: nothing; one of two: one."""
    assert not task(plan(site(), [hung()], histories(V1), TODAY), "door").open
    assert task(plan(site(), [hung(there=1)], histories(V1), TODAY), "door").missing == 1


def test_a_withdrawn_version_comes_down_and_nothing_goes_up():
    """What it replaced does not come back by itself."""
    past = histories(V1, V2, gone=(withdrawn(V2, DAY(2030, 7, 1)),))
    door = task(plan(site(), [hung(V2)], past, DAY(2030, 7, 2)), "door")

    assert [o.why for o in door.down] == ["withdrawn: The rub was recalled"]
    assert (door.target, door.missing) == (None, 0)


def test_a_place_that_is_no_longer_listed_is_cleared():
    """The record remembers where it was."""
    (gone,) = [t for t in plan(site(), [hung(posting="attic")], histories(V1), TODAY) if not t.spot.listed]

    assert [o.copy.version for o in gone.down] == ["1.0"]
    assert gone.spot.location == "Door of the day ward, left"


def test_another_sheet_than_the_one_released_is_said():
    """Nothing is printed on a size that was never released."""
    door = task(
        plan(site(SITE.replace("poster: {sheet: A3}", "poster: {sheet: A2}")), [], histories(V1), TODAY), "door"
    )

    assert door.lack == "the poster of v1.0 is released on `A3`, not `A2`"
    assert door.missing == 0


def test_a_language_that_is_not_released_is_said():
    """And its old copy comes down all the same."""
    tasks = plan(site(), [hung(language="es")], histories(V1, release(version="1.1", languages=("en",))), TODAY)

    assert task(tasks, "door", "es").lack == "v1.1 is not released in `es`"
    assert [o.copy.version for o in task(tasks, "door", "es").down] == ["1.0"]


def test_one_protocol_may_be_planned_alone():
    """At the version that was named."""
    tasks = plan(site(), (), histories(V1, V2, TRAY), TODAY, {"lens-care": "1.0"})

    assert {t.target.copy.version for t in tasks} == {"1.0"}
    assert {t.spot.protocol for t in tasks} == {"lens-care"}


# --- the print list -----------------------------------------------------------------------------------------


def test_totals_are_those_counted_from_the_list():
    """Outside check: the CSV read with csv and counted with collections.Counter, the sheets of paper by hand:
    3 pages on both sides are 2 leaves; 5 sides of cards are 3 cards, of which two A6 lie on an A4 (ISO 216)."""
    tasks = plan(site(), (), histories(V1, TRAY), TODAY)
    made = orders(tasks, SIDES, "A4")
    copies: Counter = Counter()
    leaves: Counter = Counter()
    film: Counter = Counter()
    for row in csv.DictReader(io.StringIO(lists.work_list(tasks))):
        number = int(row["copies"])
        copies[row["artifact"], row["language"]] += number
        per_copy = (PAGES[row["artifact"]][1] + SIDES[row["artifact"]] - 1) // SIDES[row["artifact"]]
        if row["laminated"] == "yes":
            film[row["sheet"]] += number * per_copy
        if row["artifact"] == "cards":
            leaves["A4"] += -(-number * per_copy // 2)
        else:
            leaves[row["sheet"]] += number * per_copy

    assert {(o.target.copy.artifact, o.target.copy.language): o.copies for o in made} == copies
    assert paper(made) == dict(leaves) == {"A3": 4, "A4": 2 + 3 + 11}
    assert {sheet: n for sheet, (n, _) in pouches(made).items()} == dict(film) == {"A3": 4, "A6": 21}


def test_pouches_leave_a_seal():
    """3 mm of clear film all round (common practice): an A3 of 297 by 420 mm (ISO 216) needs 303 by 426."""
    made = orders(plan(site(), (), histories(V1), TODAY), SIDES, "A4")

    assert pouches(made)["A3"][1] == (303, 426)


# --- the audit ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("record", "past", "today", "state"),
    [
        ([hung()], histories(V1, V2), TODAY, "current"),
        ([hung(there=1)], histories(V1), TODAY, "few"),
        ([hung()], histories(V1, V2), DAY(2030, 6, 1), "outdated"),
        ([hung(), hung(V2)], histories(V1, V2), DAY(2030, 6, 1), "outdated"),
        ([hung()], histories(V1, gone=(withdrawn(V1, TODAY),)), TODAY, "withdrawn"),
        ([hung(V2)], histories(V1, V2), TODAY, "early"),
        ([hung(V2)], histories(V1), TODAY, "unknown"),
        ([hung(sheet="A2")], histories(V1), TODAY, "other sheet"),
        ([hung(), hung(there=0, on=DAY(2030, 3, 5))], histories(V1), TODAY, "empty"),
        ([hung(TRAY)], histories(V1, TRAY), TODAY, "not listed"),
        ([hung(on=DAY(2030, 4, 1))], histories(V1), TODAY, "not recorded"),
        ([], histories(V1), TODAY, "not recorded"),
        ([], {}, TODAY, "nothing released"),
    ],
)
def test_every_state_is_told_from_the_others(record, past, today, state):
    """A place is current only with what is in force, in full, and with nothing else beside it."""
    seen = next(f for f in found(site(), record, past, today) if f.spot.key == ("door", "en"))

    assert seen.state == state
    assert seen.state in STATES


# --- what people say ----------------------------------------------------------------------------------------


TOLD = Told("Ada Invented", TODAY, TODAY)


def say(marks, record=(), past=None, told=TOLD):
    past = past or histories(V1, V2)
    return marked(marks, told, plan(site(), record, past, told.today), tuple(record), "quay", past)


def test_done_takes_down_the_old_and_puts_up_the_new():
    """One word from a person: a line for each."""
    said = say([Mark("door", "en")], [hung()], told=Told("Ada", DAY(2030, 6, 1), DAY(2030, 6, 1)))

    assert [(h.copy.version, h.there) for h in said.lines] == [("1.0", 0), ("1.1", 2)]
    assert said.findings == ()


@pytest.mark.parametrize(
    ("mark", "told", "because"),
    [
        (Mark("dor"), TOLD, "no posting `dor`"),
        (Mark("door", "fr"), TOLD, "no copy in `fr`"),
        (Mark("door", "en"), Told("Ada", DAY(2030, 4, 1), TODAY), "2030-04-01 is still to come"),
        (Mark("door", "en", version="7.0"), TOLD, "never released"),
        (Mark("door", "en", version="1.0"), Told("Ada", DAY(2029, 1, 1), TODAY), "was released on"),
        (Mark("door", "en", version="1.0", copies=0), Told("Ada", DAY(2030, 3, 1), TODAY), "already says"),
    ],
)
def test_what_cannot_be_is_not_recorded(mark, told, because):
    """Each with its reason, and no line."""
    said = say([mark], [hung()], told=told)

    assert said.lines == ()
    assert because in said.findings[0].message


def filled(tasks, change):
    """The work list as somebody fills it in."""
    rows = list(csv.DictReader(io.StringIO(lists.work_list(tasks))))
    for row in rows:
        change(row)
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), delimiter=";")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def test_a_list_comes_back_row_by_row():
    """Marked rows become lines, blank rows are counted, wrong rows are named with their line and reason."""
    past, later = histories(V1, V2), DAY(2030, 6, 2)
    record = (hung(),)
    tasks = plan(site(), record, past, later)

    def change(row):
        match (row["what"], row["posting"], row["language"]):
            case ("down", "door", "en"):
                row.update(done="x", by="Ada")
            case ("up", "door", "en"):
                row.update(done="1", by="Ada", date="2030-06-01")
            case ("up", "door", "es"):
                row.update(done="x", by="Ada", fingerprint="AAAAA-AAAAA")
            case ("up", "pockets", _):
                row.update(done="maybe", by="Ada")
            case ("up", "desk", _):
                row.update(done="x")

    said = from_list(filled(tasks, change), "l.csv", Told("", later, later), tasks, record, "quay", past)

    assert [(h.posting, h.copy.version, h.there, str(h.on)) for h in said.lines] == [
        ("door", "1.0", 0, "2030-06-02"), ("door", "1.1", 1, "2030-06-01")
    ]  # fmt: skip
    reasons = " | ".join(f.message for f in said.findings)
    assert "`AAAAA-AAAAA` is not the fingerprint" in reasons
    assert "`maybe` is not a number of copies" in reasons
    assert "nobody is named" in reasons
    assert all(f.where.line for f in said.findings)
    assert said.blank == len(filled(tasks, lambda row: None).splitlines()) - 1 - 5


def test_a_list_given_twice_records_once():
    """The second time every row is said to be known, by whom and since when."""
    past = histories(V1)
    tasks = plan(site(), (), past, TODAY)
    text = filled(tasks, lambda row: row.update(done="x", by="Ada"))
    first = from_list(text, "l.csv", TOLD, tasks, (), "quay", past)
    again = from_list(text, "l.csv", TOLD, tasks, first.lines, "quay", past)

    assert len(first.lines) == 4
    assert again.lines == ()
    assert all("already put up" in f.message and "by Ada" in f.message for f in again.findings)


@settings(deadline=None)
@given(st.text(string.printable, max_size=300))
def test_any_list_is_read_without_a_fault(text):
    """Whatever somebody gives as a list becomes lines or findings."""
    past = histories(V1)
    head = "what,posting,language,protocol,artifact,sheet,version,copies,done,by\n"
    said = from_list(head + text, "l.csv", TOLD, plan(site(), (), past, TODAY), (), "quay", past)

    assert said.lines == ()


# --- on the disk --------------------------------------------------------------------------------------------


def docgen(place, *args, code=0):
    result = CliRunner().invoke(cli.docgen, [*args, "--protocols", str(place.protocols), "--today", "2030-03-10"])
    assert result.exit_code == code, result.output
    return result


def test_from_plan_to_audit(tmp_path):
    """A round: plan, done, audit; the record is one line for each sheet at each place."""
    place = home(tmp_path, V1, TRAY)

    planned = docgen(place, "postings", "plan")
    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada Invented", "--all")
    audit = docgen(place, "postings", "status")

    assert "4 × A3" in planned.output
    assert "Ben Invented: desk (en)" in planned.output
    assert "quay: 5 of 5 current" in audit.output
    rows = list(csv.DictReader(io.StringIO(place.record.read_text("utf-8"))))
    assert tuple(rows[0]) == COLUMNS
    assert Counter(row["posting"] for row in rows) == {"door": 2, "desk": 1, "pockets": 1, "shelf": 1}
    assert {(row["date"], row["by"]) for row in rows} == {("2030-03-10", "Ada Invented")}


def test_an_outdated_copy_is_an_error(tmp_path):
    """Exit status 1: people may follow it."""
    place = home(tmp_path, V1, release(version="1.1", effective=DAY(2030, 3, 9)))
    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "--version", "1.0", "door")

    audit = docgen(place, "postings", "status", code=1)

    assert "outdated" in audit.output
    assert "[postings/outdated]" in audit.output


def test_a_broken_record_is_left_as_it_is(tmp_path):
    """Nothing is added to a file that can't be read: what is wrong is said, and the bytes stay."""
    place = home(tmp_path, V1)
    place.record.write_text("date,posting\nx,y\n", "utf-8")

    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "--all", code=1)

    assert place.record.read_text("utf-8") == "date,posting\nx,y\n"


def test_two_people_at_once_lose_nothing(tmp_path):
    """Six processes record one place each at the same time; every line is there, once."""
    postings = "".join(
        f"  - {{id: p{n}, location: Place {n}, protocol: lens-care, artifact: poster, walk: {n}}}\n" for n in range(6)
    )
    place = home(tmp_path, V1, text=SITE + postings)
    command = [sys.executable, "-c", "from docgen.cli import main; main()", "postings", "done", "--site", "quay",
               "--protocols", str(place.protocols), "--today", "2030-03-10"]  # fmt: skip
    running = [
        subprocess.Popen([*command, "--by", f"Person {n}", f"p{n}"], stdout=subprocess.DEVNULL) for n in range(6)
    ]

    assert [r.wait(120) for r in running] == [0] * 6
    back, findings = parse(place.record.read_text("utf-8"), "x")
    assert findings == ()
    assert sorted((h.posting, h.by) for h in back) == [(f"p{n}", f"Person {n}") for n in range(6)]
    assert sorted(p.name for p in place.record.parent.iterdir()) == ["quay.copies.csv", "quay.yaml"]


def test_a_killed_run_leaves_nothing_in_the_way(tmp_path):
    """Killed outright while it is alone with the record: the record stays, and the next run has its turn."""
    place = home(tmp_path, V1)
    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "desk")
    before = place.record.read_bytes()
    hold = (
        "import os, sys, time, pathlib\nfrom docgen.publish import amending\n"
        "with amending(pathlib.Path(sys.argv[1])):\n    print('held', flush=True)\n    time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", hold, str(place.record)], stdout=subprocess.PIPE) as other:
        assert other.stdout.readline() == b"held\n"
        other.kill()
    assert place.record.read_bytes() == before

    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "pockets")

    assert place.record.read_bytes().startswith(before)
    assert sorted(p.name for p in place.record.parent.iterdir()) == ["quay.copies.csv", "quay.yaml"]


def test_a_full_disk_leaves_the_record_as_it_was(tmp_path, monkeypatch):
    """And says so; the half-written file is gone."""
    import errno

    from docgen.publish import disk

    place = home(tmp_path, V1)
    docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "desk")
    before = place.record.read_bytes()

    def full(path, data):
        path.write_bytes(data[:10])
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    monkeypatch.setattr(disk, "write", full)
    result = docgen(place, "postings", "done", "--site", "quay", "--by", "Ada", "pockets", code=1)

    assert "no space left on device" in result.output
    assert place.record.read_bytes() == before
    assert sorted(p.name for p in place.record.parent.iterdir()) == ["quay.copies.csv", "quay.yaml"]


def test_a_posting_on_a_sheet_that_is_not_made_is_said_before_a_release():
    """Nothing could be hung there: the site's own sheet is another."""
    from docgen.source import check_site, read_site

    text = SITE.replace("artifact: poster, languages", "artifact: poster, sheet: A2, languages")
    found = [f for f in check_site(read_site(text, "quay.yaml"), {"lens-care": None, "tray-care": None})
             if f.rule == "source/other-sheet"]  # fmt: skip

    assert [f.message for f in found] == ["the poster of `lens-care` is made on A3 here, and this posting asks for A2"]
    assert found[0].where.line


def test_machine_forms(tmp_path):
    """JSON for programs: the same numbers as the text."""
    import json

    place = home(tmp_path, V1, TRAY)
    (planned,) = json.loads(docgen(place, "postings", "plan", "--format", "json").output)
    (audit,) = json.loads(docgen(place, "postings", "status", "--format", "json").stdout)

    assert planned["paper"] == {"A3": 4, "A4": 16}
    assert [t["missing"] for t in planned["tasks"]] == [1, 2, 2, 7, 3]
    assert planned["not-confirmed"]["Ada Invented"] == [["door", "en"], ["door", "es"]]
    assert audit["states"]["not recorded"] == 5


def test_days_are_days():
    """`datetime` is used for dates only: a record has no time of day."""
    assert isinstance(hung().on, datetime.date)
    assert not isinstance(hung().on, datetime.datetime)
