"""Finished sheets and pages in several languages, as `docgen make` writes them, for the checkers of others."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

from workbench import ROOT, project

from docgen.build.bench import Bench, back, composed, faces_of
from docgen.build.figures import pictures
from docgen.build.prepare import Prepared, Wanted, prepare
from docgen.build.shelf import Asked
from docgen.language import own_name
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.model.sheet import Document

SITE = "harbour-north"
LANGUAGES = ("en", "ar", "hi")
"""Left to right, right to left, and a script whose vowel signs stand around their letters."""


class Spoken(NamedTuple):
    """An edition in one language and everything at hand to make its artifacts."""

    edition: Edition
    analysis: Analysis
    change: Change | None
    bench: Bench


@cache
def prepared(protocol: str, *languages: str) -> tuple[Prepared, Wanted]:
    """A shipped protocol at the example site, its catalogues read; drafts, since no translation is revised yet."""
    asked = Asked((ROOT / "protocols" / f"{protocol}.yaml",), (SITE,))
    wanted = Wanted(asked, languages=languages, draft=any(tag != "en" for tag in languages))
    return prepare(project(), wanted), wanted


@cache
def spoken(protocol: str, language: str) -> Spoken:
    """The edition in a language."""
    all_of_it, wanted = prepared(protocol, language)
    (ready,) = all_of_it.ready(wanted)
    assert all_of_it.bench is not None
    return Spoken(ready.edition, ready.analysis, ready.change, all_of_it.bench)


@cache
def placed(protocol: str, language: str, artifact: str) -> Document:
    """One artifact, laid out."""
    return laid(spoken(protocol, language), artifact)


def laid(of: Spoken, artifact: str) -> Document:
    """One artifact of an edition, by the templates of its bench."""
    composition, findings = composed(of.edition, of.analysis, artifact, of.bench, of.change)
    assert composition is not None, findings
    layout, choice = of.bench.layouts[artifact], of.edition.sheet(artifact)
    drawn = pictures(of.edition, of.analysis, of.bench.words.get(of.edition.language))
    document, findings = back().place(
        composition, of.edition, layout, of.bench.house, faces_of(of.bench.project), drawn,
        sheet=choice.sheet or layout.sheet, distance=choice.distance or None,
    )  # fmt: skip
    assert document is not None, findings
    return document


@cache
def sheet(protocol: str, language: str, artifact: str, press: str = "") -> bytes:
    """The PDF file of one artifact; `press`: cards imposed on that sheet."""
    document: Document | None = placed(protocol, language, artifact)
    if press:
        document = back().impose(document, press)
        assert document is not None
    return back().write(document, faces_of(project()))


def kept(data: bytes, folder: Path, name: str = "sheet.pdf") -> Path:
    """The bytes as a file, for programs that read files."""
    file = folder / name
    file.write_bytes(data)
    return file


@cache
def reader(protocol: str, *languages: str) -> bytes:
    """The reader of an edition; with a switch if it speaks several languages."""
    of = [spoken(protocol, language) for language in languages]
    return _page("reader", of)


@cache
def front(protocol: str, language: str, *siblings: str) -> bytes:
    """The page of an edition's folder, with one sheet of each kind, its picture, and a reader."""
    of = spoken(protocol, language)
    made = {artifact: f"{artifact}.pdf" for artifact in ("poster", "checklist")}
    images = {name: back().thumbnail(sheet(protocol, language, artifact)) for artifact, name in made.items()}
    files = [{"name": "reader.html", "artifact": "reader", "sheet": "", "pages": 0, "size": "200 KiB"}]
    files += [{"name": n, "artifact": a, "sheet": "A4", "pages": 2, "size": "90 KiB"} for a, n in made.items()]
    names = tuple((tag, own_name(tag)) for tag in siblings)
    return _page("index", [of], {"files": tuple(files), "siblings": names}, images)


def _page(artifact: str, of: list[Spoken], more: dict | None = None, images: dict | None = None) -> bytes:
    pairs, bench = [(s.edition, s.analysis) for s in of], of[0].bench
    words = {tag: catalogue for s in of for tag, catalogue in s.bench.words.items()}
    composed_, findings = back().page(artifact, pairs, bench.templates, words, more)
    assert composed_ is not None, findings
    data, _, findings = back().write_page(composed_, pairs, bench.house, words, faces_of(project()), images)
    assert data is not None, findings
    return data
