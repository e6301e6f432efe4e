"""What comes out of reading: typed values, positions, and messages a clinician can act on."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docgen.findings import Where
from docgen.model.protocol import Protocol
from docgen.source import check_references, check_site, read_protocol, read_site, site_starter, starter
from docgen.source.sites import LANGUAGES

GOOD = (Path(__file__).parent / "broken" / "good-protocol.yaml").read_text("utf-8")
JARGON = re.compile(
    r"pydantic|\b(dict|dictionary|tuple|str|int|model|input|instance|NoneType|literal|regex|pattern)\b|validat|should",
    re.I,
)


def protocol(text: str = GOOD) -> Protocol:
    value = read_protocol(text, "x.yaml").value
    assert value is not None
    return value


def test_numbers_and_words_need_no_quotes() -> None:
    """A version, an answer or a name that YAML would guess about arrives as typed."""
    text = GOOD.replace('version: "1.0"', "version: 1.10").replace("purpose: Clean the handle.", "purpose: no")
    read = protocol(text.replace("title: Side", "title: 1:30"))
    assert read.version == "1.10"
    assert read.purpose.plain == "no"
    assert read.options["side"].title.plain == "1:30"


def test_one_or_many() -> None:
    """A list of one may be written without brackets."""
    first = protocol().phases[0].steps[0]
    assert first.acts[0].targets == ("handle",)
    assert first.cautions == ("wet",)
    time = "{wait: It dries., time: {seconds: 20}}"
    step = protocol(GOOD.replace("{clean: handle, using: wipes}", time, 1)).phases[0].steps[0]
    assert step.acts[0].time and step.acts[0].time.seconds == (20, 20)
    assert step.acts[0].words and step.acts[0].words.plain == "It dries."


def test_positions_lead_to_keys_and_values() -> None:
    """`at` gives the value, `key` its key, both fall back to what stands around."""
    read = read_protocol(GOOD, "x.yaml")
    rows = GOOD.split("\n")
    where = read.at("phases", 0, "steps", 0, "headline")
    assert where == Where("x.yaml", where.line, 19, "        headline: Wipe the handle")
    assert rows[where.line - 1] == where.excerpt
    assert read.key("phases", 0, "steps", 0, "headline").column == 9
    assert read.at("phases", 0, "steps", 0, "say") == read.at("phases", 0, "steps", 0)
    assert read.at("nowhere") == read.at()


def test_keys_are_kebab_case_only() -> None:
    """`done_when` is a misspelling, not a second spelling."""
    text = GOOD.replace("        cautions: wet", "        done_when: It is dry.")
    found = read_protocol(text, "x.yaml").findings
    assert [(f.rule, f.hint) for f in found] == [("source/unknown-key", "did you mean `done-when`?")]


def test_hints_give_the_likely_word() -> None:
    """Keys, values and names: the nearest one that exists."""
    text = GOOD.replace("headline: Take", "hedline: Take").replace("kind: agent", "kind: agnet")
    assert [f.hint for f in read_protocol(text, "x.yaml").findings] == [
        "did you mean `agent`?",
        "did you mean `headline`?",
    ]


def test_messages_speak_no_programmers_language() -> None:
    """Every kind of wrong value, at every key of the good protocol: no word of the library in any message."""
    lines = GOOD.split("\n")
    wrong = ["[]", "{}", "[a, b]", "{a: b}", "zz zz", '""', "-1", "[[a]]", "true", "99999", "2026-13-01"]
    seen = set()
    for n, line in enumerate(lines):
        head = re.match(r"( *(?:- )?[a-z-]+:)(?: |$)", line)
        if not head:
            continue
        for value in wrong:
            text = "\n".join([*lines[:n], f"{head[1]} {value}", *lines[n + 1 :]])
            for each in read_protocol(text, "x.yaml").findings:
                seen.add(each.rule)
                assert not JARGON.search(each.message), each.message
                assert not JARGON.search(each.hint), each.hint
                assert each.where.line > 0
    assert {"source/wrong-kind", "source/name", "source/date", "source/unknown-value", "source/empty-value"} <= seen


def test_the_starter_is_clean_and_teaches() -> None:
    """`docgen new` gives a file without findings, invented, with more notes than keys unexplained."""
    text = starter("hand-hygiene")
    read = read_protocol(text, "hand-hygiene.yaml")
    assert read.findings + check_references(read) == ()
    assert read.value is not None
    assert read.value.protocol == "hand-hygiene"
    assert read.value.invented
    assert text.count("#") > 30
    assert len(max(text.split("\n"), key=len)) <= 120


def test_the_starter_is_clean_at_a_site() -> None:
    """Its placeholders are all there is to fill."""
    read = read_protocol(starter("x"), "x.yaml")
    site = read_site(
        "site: s\nname: S\nprotocols: {x: {}}\nvalues: {wet-time: 1 minute, store-phone: '555'}\n", "s.yaml"
    )
    assert check_references(read, [site]) + check_site(site, {"x": read}) == ()


def test_the_first_site_is_clean_but_for_its_blanks() -> None:
    """Beside all shipped protocols: no error, and a warning for every blank that sheets would show."""
    folder = Path(__file__).parents[2] / "protocols"
    reads = {p.stem: read_protocol(p.read_bytes(), p.name) for p in sorted(folder.glob("*.yaml"))}
    text = site_starter("ward-7", [read.value for read in reads.values() if read.value])
    site = read_site(text, "ward-7.yaml")
    found = site.findings + check_site(site, reads)
    found += tuple(f for read in reads.values() for f in check_references(read, [site], tuple(reads)))

    assert {f.rule for f in found} == {"source/to-be-written"}
    assert len(found) == sum(line.count(": ‹") for line in text.split("\n") if not line.startswith("#")) == 10
    assert site.value is not None
    assert set(site.value.protocols) == set(reads)
    assert len(max(text.split("\n"), key=len)) <= 120


def test_the_first_site_of_any_options_is_clean() -> None:
    """Also of a protocol whose option has no default, and without anything to fill."""
    read = read_protocol(re.sub(r"\n *default: .*", "", GOOD), "door-handle.yaml")
    assert read.value is not None
    site = read_site(site_starter("s", [read.value]), "s.yaml")

    assert {f.rule for f in site.findings + check_site(site, {"door-handle": read})} <= {"source/to-be-written"}
    assert check_references(read, [site]) == ()
    with pytest.raises(ValueError, match="lower-case"):
        site_starter("Ward 7", [read.value])
    with pytest.raises(ValueError, match="a protocol to use"):
        site_starter("ward-7", [])


@pytest.mark.parametrize("name", ["", "Two Words", "a_b", "-a", "a" * 65, "1a", "a\nb"])
def test_a_starter_has_a_proper_name(name: str) -> None:
    """The name goes into a file name and into the file."""
    with pytest.raises(ValueError, match="lower-case words joined by hyphens"):
        starter(name)


def test_languages_are_those_of_iso_639() -> None:
    """Against the locales of CLDR as Babel ships them (outside source: Unicode CLDR)."""
    from babel import localedata

    cldr = {tag.split("_")[0] for tag in localedata.locale_identifiers()}
    assert {tag for tag in cldr if len(tag) == 2} <= LANGUAGES
    assert len(LANGUAGES) == 184  # 183 in use (ISO 639-1, from memory) and `bh`, since withdrawn
    assert not {"qx", "xx", "zz", "uk-"} & LANGUAGES


def test_an_unreadable_protocol_is_not_checked_further() -> None:
    """It has findings of its own; nothing is guessed on top of them."""
    read = read_protocol("a: b\n", "x.yaml")
    assert read.value is None
    assert check_references(read) == ()
