"""The YAML door: text stays text, everything has its place, and hostile files end in findings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.model.layout import House
from docgen.source import check_references, door, read, read_protocol, read_site
from docgen.source.door import NOTHING, open_text

HOME = Path(__file__).parents[2] / "protocols"
SHIPPED = sorted([*HOME.glob("*.yaml"), *HOME.glob("sites/*.yaml")])
BROKEN = sorted((Path(__file__).parent / "broken").glob("*.yaml"))


def rules(source: str | bytes) -> list[str]:
    return [f.rule.removeprefix("source/") for f in open_text(source, "x.yaml").findings]


@pytest.mark.parametrize("text", ["no", "NO", "1:30", "010", "1.10", "2026-01-01", "0x1F", "true", "1_000", "=", ".5"])
def test_scalars_stay_the_text_that_was_typed(text: str) -> None:
    """YAML 1.1 would make false, 90, 8, 1.1, a date, 31, true or 1000 of these."""
    assert open_text(f"a: {text}\n", "x.yaml").data == {"a": text}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_the_data_is_what_pyyaml_reads_without_guessing(path: Path) -> None:
    """The same mappings, lists and texts as PyYAML's own BaseLoader, which resolves no types either."""
    opened = open_text(path.read_bytes(), path.name)
    assert opened.findings == []
    assert opened.data == yaml.BaseLoader(path.read_text("utf-8")).get_single_data()


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_value_and_key_is_where_its_position_says(path: Path) -> None:
    """Line, column and excerpt of each key and each one-line text point at the characters themselves."""
    opened = open_text(path.read_bytes(), path.name)
    rows = path.read_text("utf-8").split("\n")
    for key, where in opened.keys.items():
        assert where.excerpt == rows[where.line - 1]
        assert where.excerpt[where.column - 1 :].startswith(str(key[-1]))
    for spot, where in opened.positions.items():
        value = opened.data
        for step in spot:
            value = value[step]
        if isinstance(value, str):
            rest = where.excerpt[where.column - 1 :]
            assert rest.startswith(("'", '"', ">", "|")) or value.startswith(rest[:8].split(",")[0].rstrip(" }]"))


@pytest.mark.parametrize("path", BROKEN, ids=lambda p: p.stem)
def test_the_pure_python_parser_refuses_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where PyYAML was built without libyaml, the same rules are found on the same lines."""
    source = path.read_bytes().partition(b"#> ")[0]
    fast = open_text(source, path.name)
    monkeypatch.setattr(door, "_LOADER", yaml.Loader)
    slow = open_text(source, path.name)
    assert slow.data == fast.data or (slow.data is NOTHING and fast.data is NOTHING)
    assert [f.rule for f in slow.findings] == [f.rule for f in fast.findings]
    assert slow.positions == fast.positions or fast.data is NOTHING


def test_what_yaml_adds_to_text_is_refused() -> None:
    """Tags, anchors, aliases, merge keys, several documents and double keys each have a rule."""
    assert rules("a: !!python/object:os.system x\n") == ["tag"]
    assert rules("a: &x b\nc: *x\n") == ["anchor", "alias"]
    assert rules("a: {<<: {b: c}}\n") == ["merge-key"]
    assert rules("a: b\n---\nc: d\n") == ["several-documents"]
    assert rules("a: b\na: c\n") == ["duplicate-key"]
    assert rules("? [a]\n: b\n") == ["key"]
    assert rules("a: b\n'': c\n") == ["key"]


def test_the_first_of_two_equal_keys_counts_and_both_lines_are_named() -> None:
    """Neither silently wins: it is an error that says where the other one is."""
    opened = open_text("a: b\nc: d\na: e\n", "x.yaml")
    assert opened.data == {"a": "b", "c": "d"}
    assert "line 1" in opened.findings[0].message
    assert opened.findings[0].where.line == 3


def test_an_alias_bomb_costs_nothing() -> None:
    """Ten levels of ten aliases are one finding each, not ten to the tenth texts."""
    bomb = "a0: &a0 x\n" + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]\n" for n in range(1, 11))
    assert set(rules(bomb)) == {"anchor", "alias"}
    assert len(rules(bomb)) == 21


@pytest.mark.parametrize(
    "deep", ["[" * 100_000, "{a: " * 33, "- " * 5000, "a:\n" + "".join(" " * n + "- \n" for n in range(1, 40))]
)
def test_nesting_has_an_end(deep: str) -> None:
    """Deep nesting is refused before anything recurses."""
    found = rules(deep)
    assert found
    assert set(found) <= {"too-deep", "syntax", "empty-value"}


def test_size_has_an_end() -> None:
    """A million bytes are read, one more is not."""
    assert rules("a: " + "b" * (door.MAX_BYTES - 4) + "\n") == []
    assert rules("a: " + "b" * (door.MAX_BYTES - 3) + "\n") == ["too-large"]
    assert rules("a: " + "é" * (door.MAX_BYTES // 2) + "\n") == ["too-large"]


DECEIVING = [
    *(0x00, 0x07, 0x1B, 0x7F, 0x85, 0xFFFD, 0xE000, 0xE0041),  # controls, the trace of damage, private, invisible tags
    *(0x200B, 0x200E, 0x2028, 0x202E, 0x2066, 0xFEFF),  # zero width, direction marks, line separator
]


@pytest.mark.parametrize("character", [chr(c) for c in DECEIVING], ids=lambda c: f"U+{ord(c):04X}")
def test_characters_that_deceive_are_refused_raw_and_escaped(character: str) -> None:
    """Controls, bidirectional controls, invisible and private characters: in text, in comments, and as escapes."""
    assert rules(f"a: b{character}c\n") == ["unsafe-character"]
    assert rules(f"a: b  # c{character}d\n") == ["unsafe-character"]
    assert rules(f'a: "b\\U{ord(character):08x}c"\n') == ["unsafe-character"]


def test_letters_of_other_scripts_are_welcome() -> None:
    """Joiners and marks that Persian, Hindi or Khmer need are no deception."""
    text = "نمی\u200cخواهم क्\u200dष ភាសា 中文 \u00a0 é"
    assert open_text(f"a: {text}\n", "x.yaml").data == {"a": text}


def test_reading_goes_on_after_a_refused_character() -> None:
    """One bad character does not hide the other problems of the file."""
    found = read_protocol("title: a\u202eb\nkin: procedure\n", "x.yaml").findings
    assert {"source/unsafe-character", "source/unknown-key", "source/missing"} <= {f.rule for f in found}


def test_bytes_that_are_not_utf8_are_shown_where_they_are() -> None:
    """Line and column count characters, not bytes."""
    found = open_text("a: é\nb: é".encode() + b"\xff\n", "x.yaml").findings
    assert [(f.where.line, f.where.column) for f in found] == [(2, 5)]


def test_words_after_a_hash_are_not_lost_in_silence() -> None:
    """`#2` after a blank would be a comment; a comment proper has a blank after its `#`."""
    assert rules("a: take glove #2 off\n") == ["lost-words"]
    assert rules("a: take it  # a comment\n") == []
    assert rules("a: 'take glove #2 off'\n") == []


def test_values_left_out_are_named_once() -> None:
    """A key without a value is one finding, not also a missing key."""
    found = read_site("site: a\nname:\nprotocols: {x: {}}\n", "s.yaml").findings
    assert [(f.rule, f.where.line, f.where.column) for f in found] == [("source/empty-value", 2, 1)]
    assert rules("a: ~\nb: null\nc: ''\n") == ["empty-value", "empty-value"]


def test_a_flood_of_problems_is_cut_and_says_so() -> None:
    """Thousands of wrong keys are answered within a breath, by the first hundred and a note."""
    found = read_protocol("".join(f"wrong-{n}: x\n" for n in range(20_000)), "x.yaml").findings
    assert len(found) == 101
    assert found[-1].rule == "source/more"


def test_other_shapes_go_through_the_same_door() -> None:
    """Layouts and other files get the same places and refusals."""
    good = read(House, "colours: {ink: '#000000'}\nstyles:\n  body: {size: 1.2, fixed: true}\n", "look.yaml")
    assert good.value is not None
    assert good.value.styles["body"].size == 1.2
    bad = read(House, "colours: {ink: black}\nstyles: {body: {size: big, wieght: bold}}\n", "look.yaml")
    assert [(f.where.line, f.where.column) for f in bad.findings] == [(1, 16), (2, 23), (2, 28)]
    assert "weight" in bad.findings[2].hint


KEYS = st.from_regex(r"[a-z]{1,6}", fullmatch=True)
JSON = st.recursive(
    st.text(st.characters(codec="utf-8", exclude_categories=("C",)), min_size=1, max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, JSON, min_size=1, max_size=4))
def test_json_is_read_as_it_is(data: dict) -> None:
    """YAML 1.2 contains JSON: any tree of texts written by the json module comes back equal."""
    text = json.dumps(data, ensure_ascii=False)
    if door._UNSAFE.search(text):
        return
    assert open_text(text, "x.yaml").data == data


PIECES = st.sampled_from(
    [
        *[
            "a",
            "b: ",
            "- ",
            "\n",
            "  ",
            "{",
            "}",
            "[",
            "]",
            ",",
            ":",
            "?",
            "*a",
            "&a ",
            "!!x ",
            "'",
            '"',
            "|\n",
            ">-\n",
        ],
        *[
            "#",
            "<<: ",
            "---\n",
            "...\n",
            "%YAML 1.2\n",
            "\t",
            "\\",
            "\\x",
            "~",
            "\u202e",
            "é",
            "{x}",
            "**",
            "0",
            "\x00",
        ],
        *["protocol: ", "phases:\n", "roles: ", "steps:\n", "site: "],
    ]
)


@settings(max_examples=400)
@given(st.lists(PIECES, max_size=40).map("".join))
def test_yaml_like_text_never_gives_a_traceback(text: str) -> None:
    """Whatever it is, it is a value or findings that stand inside the file."""
    for reader in (read_protocol, read_site):
        result = reader(text, "x.yaml")
        assert (result.value is None) == bool(result.findings)
        rows = text.count("\n") + text.count("\r") + 1
        assert all(f.where.file == "x.yaml" and f.where.line <= rows + 1 for f in result.findings)


@settings(max_examples=300)
@given(st.binary(max_size=60))
def test_bytes_never_give_a_traceback(data: bytes) -> None:
    """Nor does anything that is not text at all."""
    assert read_protocol(data, "x.yaml").findings


GOOD = (Path(__file__).parent / "broken" / "good-protocol.yaml").read_text("utf-8")


@settings(max_examples=300)
@given(st.data())
def test_a_damaged_protocol_never_gives_a_traceback(data: st.DataObject) -> None:
    """A good protocol with a piece cut out and something put in: read, checked, and answered."""
    start = data.draw(st.integers(0, len(GOOD)))
    end = data.draw(st.integers(start, min(len(GOOD), start + 30)))
    text = GOOD[:start] + data.draw(st.lists(PIECES, max_size=3).map("".join)) + GOOD[end:]
    result = read_protocol(text, "x.yaml")
    check_references(result, [read_site("site: s\nname: S\nprotocols: {door-handle: {}}\n", "s.yaml")])
    assert (result.value is None) == bool(result.findings)
