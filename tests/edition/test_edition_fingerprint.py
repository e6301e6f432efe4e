"""The fingerprint: the same for every sheet that tells people the same, another one after any change that matters."""

from __future__ import annotations

import base64
import dataclasses
import datetime
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.edition import canonical, fingerprint, resolve
from docgen.edition.identity import LEFT_OUT
from docgen.findings import Where
from docgen.model.edition import Edition, Waiver
from docgen.model.stamp import BASE32 as ALPHABET
from docgen.model.text import Run, Text
from docgen.source import read_protocol, read_site

HOME = Path(__file__).parents[2] / "protocols"
FLAGSHIP = (HOME / "enhanced-removal.yaml").read_text("utf-8")
SMALL = (HOME / "spill-cleanup.yaml").read_text("utf-8")
SITE = (HOME / "sites" / "larkmoor.yaml").read_text("utf-8")


def made(protocol: str = FLAGSHIP, site: str = SITE) -> Edition:
    edition, findings = resolve(read_protocol(protocol, "p.yaml"), read_site(site, "s.yaml"))
    assert findings == ()
    assert edition is not None
    return edition


EVERYDAY = (HOME / "everyday-removal.yaml").read_text("utf-8")
EDITION = made()
DAY = datetime.date(2026, 2, 3)
WAIVER = Waiver("sequence/x", ("inspect",), "It is only an example.", "Ada Quillon", DAY, DAY)
assert EDITION.approval is not None


def leaves(value: Any, path: tuple = ()) -> Iterator[tuple[tuple, Any]]:
    """Every value inside an edition with the way to it."""
    if isinstance(value, tuple):
        yield path, value
        for n, each in enumerate(value):
            yield from leaves(each, (*path, n))
    elif dataclasses.is_dataclass(value) and not isinstance(value, (Where, Text)):
        for f in dataclasses.fields(value):
            yield from leaves(getattr(value, f.name), (*path, f.name))
    else:
        yield path, value


def changed(value: Any) -> Any:
    """The smallest change of a value."""
    if isinstance(value, Text):
        return replace(value, source=value.source + "x")
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)):
        return value + 1
    if isinstance(value, datetime.date):
        return value + datetime.timedelta(days=1)
    if isinstance(value, str):
        return value + "x"
    if isinstance(value, tuple):
        return value[:-1] if value else (*value, "x")
    return "x" if value is None else None


def put(value: Any, path: tuple, new: Any) -> Any:
    """The edition with one value inside replaced."""
    if not path:
        return new
    step, rest = path[0], path[1:]
    if isinstance(value, tuple):
        return (*value[:step], put(value[step], rest, new), *value[step + 1 :])
    return replace(value, **{step: put(getattr(value, step), rest, new)})


def test_every_field_counts_unless_it_is_left_out_for_a_reason() -> None:
    """Each value anywhere inside an edition is changed once: another fingerprint, except for what is declared."""
    missed, moved = [], []
    seen = 0
    small = replace(made(EVERYDAY), waivers=EDITION.waivers or (WAIVER,))
    before = fingerprint(small)
    for path, value in leaves(small):
        if isinstance(value, Where):
            continue
        other = fingerprint(put(small, path, changed(value))) != before
        seen += 1
        if path[0] in LEFT_OUT and other:
            moved.append(path)
        if path[0] not in LEFT_OUT and not other:
            missed.append(path)
    assert seen > 600
    assert missed == []
    assert moved == []


def test_what_is_left_out_exists_and_is_explained() -> None:
    """The table of exceptions names real fields and says why."""
    names = {f.name for f in dataclasses.fields(Edition)}
    assert set(LEFT_OUT) <= names
    assert all(len(reason) > 5 for reason in LEFT_OUT.values())


def test_order_counts() -> None:
    """Two steps swapped are another procedure."""
    steps = EDITION.steps
    assert fingerprint(replace(EDITION, steps=(steps[1], steps[0], *steps[2:]))) != EDITION.fingerprint


def translated(value: Any) -> Any:
    """Every text in other words, as a translation has it."""
    if isinstance(value, Text):
        return replace(value, runs=tuple(Run(f"«{r.text}»", isolate=r.isolate) for r in value.runs))
    if isinstance(value, tuple):
        return tuple(translated(each) for each in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, Where):
        return replace(value, **{f.name: translated(getattr(value, f.name)) for f in dataclasses.fields(value)})
    return value


def test_no_language_changes_it() -> None:
    """All words translated, another language and catalogue revision: the same fingerprint."""
    other = replace(translated(EDITION), language="es", translation="r7")
    assert other.steps[0].headline.plain != EDITION.steps[0].headline.plain
    assert fingerprint(other) == EDITION.fingerprint


def test_where_it_was_written_changes_nothing() -> None:
    """Comments, blank lines, quotes, folds and the order of keys are not content."""
    moved = "# a note\n\n" + FLAGSHIP.replace(
        "title: Removing enhanced isolation PPE", "title: 'Removing enhanced\n  isolation PPE'"
    )
    assert moved.count("isolation PPE") == FLAGSHIP.count("isolation PPE")
    assert made(moved).fingerprint == EDITION.fingerprint
    assert made(moved).steps[0].where != EDITION.steps[0].where


def test_sheets_postings_languages_and_approval_change_nothing() -> None:
    """What is printed where, in which language, and who has approved it so far."""
    assert (
        made(site=SITE.replace("24x36in", "A1").replace("speech-rate: 110", "speech-rate: 120")).fingerprint
        == EDITION.fingerprint
    )
    assert made(site=SITE.replace("quantity: 3", "quantity: 5")).fingerprint == EDITION.fingerprint
    assert made(site=SITE.replace("languages: [en]", "languages: [en, es]")).fingerprint == EDITION.fingerprint
    draft = FLAGSHIP.replace("status: approved", "status: draft").replace("by: Dr. Imre Solvane", "by: Someone Else")
    assert made(draft).fingerprint == EDITION.fingerprint
    other = SITE.replace("spill-time: 10 minutes", "spill-time: 11 minutes")  # a value of another protocol
    assert made(site=other).fingerprint == EDITION.fingerprint


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Dunmarrow disinfectant wipes", "Other wipes"),
        ("contact-seconds: 120", "contact-seconds: 121"),
        ("+1 555 0173", "+1 555 0174"),
        ("removal area (bay 8, red floor)", "removal area"),
        ("unit: Critical Care Unit", "unit: Ward 3"),
        ("respirator: powered-hood, apron: tie", "respirator: powered-hood, apron: none"),
    ],
)
def test_what_a_site_changes_for_people_changes_it(old: str, new: str) -> None:
    """Products, contact times, numbers to call, room names, choices."""
    assert old in SITE
    assert made(site=SITE.replace(old, new, 1)).fingerprint != EDITION.fingerprint


WORDED = {"title", "headline", "hazard", "avoid", "question", "done-when", "say", "name", "purpose", "leave"}


def test_every_word_of_a_source_counts() -> None:
    """Each line of a protocol that holds words: one word more gives another fingerprint."""
    before = made(SMALL).fingerprint
    lines = SMALL.split("\n")
    said = 0
    for n, line in enumerate(lines):
        key = line.strip(" -").split(":")[0]
        if key not in (
            "title",
            "headline",
            "hazard",
            "avoid",
            "question",
            "done-when",
            "say",
            "name",
            "purpose",
            "leave",
        ):
            continue
        if line.rstrip().endswith(("}", "{", "|", ">", ":", '"', "'")) or "{" in line:
            continue
        if not line.rstrip().endswith("."):
            line += "."
        other = made("\n".join([*lines[:n], line[:-1] + " indeed", *lines[n + 1 :]])).fingerprint
        assert other != before, line
        said += 1
    assert said > 40


def test_it_is_sha256_in_crockfords_base_32() -> None:
    """Recomputed with RFC 4648's base 32 and Crockford's alphabet (from memory: no I, L, O, U)."""
    digest = hashlib.sha256(canonical(EDITION)).digest()
    rfc4648 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
    expected = base64.b32encode(digest).decode()[:10].translate(str.maketrans(rfc4648, ALPHABET))
    assert fingerprint(EDITION) == expected
    assert set("ILOU") & set(ALPHABET) == set()
    assert len(set(ALPHABET)) == 32


def test_the_canonical_form_is_plain_sorted_json() -> None:
    """Anyone can read it and write it again byte for byte."""
    text = canonical(EDITION).decode("utf-8")
    data = json.loads(text)
    assert json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":")) == text
    assert data["title"] == "Removing enhanced isolation PPE"
    assert "where" not in data["steps"][0]


@given(st.text(max_size=30), st.text(max_size=30))
def test_words_do_not_run_into_each_other(first: str, second: str) -> None:
    """Moving characters from one field into the next is a change: fields are kept apart."""
    owner, audience = EDITION.owner, EDITION.audience
    one = replace(EDITION, owner=replace(owner, source=first + second), audience=replace(audience, source=""))
    two = replace(EDITION, owner=replace(owner, source=first), audience=replace(audience, source=second))
    assert (fingerprint(one) == fingerprint(two)) == (second == "")


def test_two_processes_agree() -> None:
    """Another hash seed, time zone and locale: the same fingerprint."""
    code = (
        "import sys; from docgen.source import *; from docgen.edition import *;"
        "r = read_protocol(open(sys.argv[1], 'rb').read(), 'p'); s = read_site(open(sys.argv[2], 'rb').read(), 's');"
        "print(resolve(r, s)[0].fingerprint)"
    )
    paths = [str(HOME / "enhanced-removal.yaml"), str(HOME / "sites" / "larkmoor.yaml")]
    said = set()
    for seed, zone in (("1", "UTC"), ("2", "Asia/Kolkata")):
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C"}
        done = subprocess.run([sys.executable, "-c", code, *paths], env=env, capture_output=True, text=True, check=True)
        said.add(done.stdout.strip())
    assert said == {EDITION.fingerprint}
