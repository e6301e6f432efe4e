"""Two languages on one sheet: each in its own direction, tagged, and both proven by the read-back."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pikepdf
import pytest
from test_language_sheets import (
    APPROVED,
    PROTOCOL,
    SITE,
    Exit,
    Project,
    Severity,
    Wanted,
    make,
    rules,
    verify,
    words_on,
)

from docgen.build.words import Which, update
from docgen.language import po_text
from docgen.project import shipped
from docgen.source.catalogue import read_catalogue

WORDS = {"fa": "نص", "sl": "besedilo"}
"""A word of each language, put before everything, so that its script and direction are there."""


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    """The small protocol, begun in a language of either direction."""
    (tmp_path / "protocols" / "sites").mkdir(parents=True)
    text = PROTOCOL.replace("owner:", APPROVED, 1)
    text = text.replace("        actor:", "        answer: It is open.\n        actor:")
    (tmp_path / "protocols" / "airing.yaml").write_text(text, "utf-8")
    site = SITE.replace("[en, es]", "[en]\nbeside: [fa, sl]")
    (tmp_path / "protocols" / "sites" / "north.yaml").write_text(site, "utf-8")
    monkeypatch.chdir(tmp_path)
    for tag in WORDS:
        assert update(Project(), Which(languages=(tag,))).status == Exit.CLEAN
        fill(tag)
    return tmp_path


def fill(tag: str) -> None:
    """Translate everything into a few words; slots and numbers stay."""
    for path in Path("locales", tag).glob("*.po"):
        found = read_catalogue(path.read_text("utf-8"), str(path), tag, path.stem).value
        assert found
        entries = tuple(replace(e, translation=words(tag, n, e.source)) for n, e in enumerate(found.entries))
        path.write_text(po_text(replace(found, entries=entries)), "utf-8")


def words(tag: str, n: int, source: str) -> str:
    """A short text that no other is like."""
    letters = "".join({"fa": "ابتثجحخدذر", "sl": "abcdefghij"}[tag][int(d)] for d in str(n))
    if source in ("DANGER", "WARNING", "CAUTION", "NOTICE"):
        return f"{letters * 4} {WORDS[tag]}"
    kept = " ".join(re.findall(r"\{[^}]*\}|\d+", source))
    mark = "**" if "**" in source else ""
    unit = {"fa": "ثانیه", "sl": "sekund"}[tag] if "seconds" in source else ""
    metres = "m" if source.endswith(" m") else ""
    return " ".join(filter(None, (f"{mark}{WORDS[tag]}{mark}", letters, kept, unit, metres)))


def languages(path: Path) -> dict[str, list[str]]:
    """Language of each structure element that names one → its exact text, where it gives it."""
    out: dict[str, list[str]] = {}

    def walk(element) -> None:
        if isinstance(element, pikepdf.Array):
            for each in element:
                walk(each)
        elif isinstance(element, pikepdf.Dictionary) and "/S" in element:
            if "/Lang" in element:
                out.setdefault(str(element.Lang), []).append(str(element.get("/ActualText", "")))
            walk(element.get("/K", pikepdf.Array()))

    with pikepdf.open(path) as pdf:
        walk(pdf.Root.StructTreeRoot.K)
    return out


def errors(outcome):
    """What stops publishing."""
    return [f.message for f in outcome.findings if f.severity is Severity.ERROR]


def test_a_site_asks_for_the_wearers_language_beside_each(home):
    """One script for each pair, and the other sheets in the site's own language; all agree with their source."""
    outcome = make(Project(), Wanted(artifacts=("script",)))
    assert errors(outcome) == []
    assert sorted(p.name for p in Path("out/airing/1.0/north").iterdir()) == ["en", "en+fa", "en+sl"]
    assert verify(Project(), [Path("out")]).status == Exit.CLEAN


@pytest.mark.parametrize("pair", ["en+fa", "fa+en", "sl+fa", "fa+sl", "en+sl"])
@pytest.mark.parametrize("artifact", ["script", "poster", "cards"])
def test_any_pair_in_any_direction(home, pair, artifact):
    """Both languages stand there, each paragraph of the second is tagged with it, and right-to-left text is exact."""
    outcome = make(Project(), Wanted(artifacts=(artifact,), languages=(pair,)))
    assert errors(outcome) == []
    _, second = pair.split("+")
    file = next(Path("out").rglob(f"*{pair}-{artifact}*.pdf"))
    tagged = languages(file)
    assert second in tagged
    if second == "fa":
        assert all(text.startswith(("نص", "“")) or "نص" in text for text in tagged["fa"])
    if "en" in pair:
        assert {"open", "window"} <= set(words_on(file).lower().replace(".", "").split())


@pytest.mark.parametrize(
    ("template", "old", "new"),
    [
        ("script/main.md.j2", "words=beside(step.say)", "words=beside(step.headline)"),
        ("script/main.md.j2", "words=beside(step.answer)", "words=beside(step.headline)"),
        ("house/caution.md.j2", "{{ beside(caution.avoid) }}", ""),
    ],
)
def test_a_text_lost_in_the_second_language_is_found(home, template, old, new):
    """A template that drops a text, or puts another in its place, in the second language only."""
    text = (shipped("templates") / template).read_text("utf-8")
    assert old in text
    mine = home / "mine" / template
    mine.parent.mkdir(parents=True)
    mine.write_text(text.replace(old, new), "utf-8")
    wanted = Wanted(artifacts=("script",), languages=("en+sl",))
    outcome = make(Project(templates=home / "mine"), wanted)
    lost = {"readback/text-missing", "readback/text-altered", "readback/caution-missing"}
    assert rules(outcome, Severity.ERROR) & lost
    assert any("in `sl`" in message for message in errors(outcome))


def test_a_second_language_that_lacks_a_caution_makes_no_sheet(home):
    """What is missing beside is as missing as on a sheet of its own."""
    path = Path("locales/sl/airing.po")
    text = path.read_text("utf-8")
    at = text.index('msgctxt "caution.draught.avoid"')
    path.write_text(f"{text[:at]}#, fuzzy\n{text[at:]}", "utf-8")
    outcome = make(Project(), Wanted(artifacts=("script",), languages=("en+sl",)))
    assert rules(outcome, Severity.ERROR) == {"language/outdated"}
    assert not Path("out/airing/1.0/north/en+sl").exists()


def test_a_second_language_nobody_has_begun_is_listed(home):
    """No pair, and a warning that says why."""
    outcome = make(Project(), Wanted(artifacts=("script",), languages=("en+vi",)))
    assert rules(outcome) == {"build/no-catalogue"}
