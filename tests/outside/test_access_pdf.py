"""Sheets, as those meet them who cannot see them: judged by checkers for PDF/UA-1, by poppler, and by damaging them."""

from __future__ import annotations

import io
import re
import subprocess
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import pikepdf
import pytest
from access_kit import LANGUAGES, kept, laid, placed, sheet, spoken
from conftest import module, tool

from docgen.build.bench import composed
from docgen.build.expected import expected
from docgen.findings import Severity
from docgen.model.edition import ARTIFACTS
from docgen.readback import examine

SHEETS = [
    *(("hand-rub", language, artifact, "") for language in LANGUAGES for artifact in ARTIFACTS),
    *(("enhanced-removal", language, "cards", "A4") for language in LANGUAGES),
    ("enhanced-removal", "en", "checklist", ""),
    ("everyday-removal", "en+ar", "script", ""),
]
EXPLAINED = {
    "TXT-004": ("ar", "each Arabic letter has several shapes with a code of their own, all mapped to the one letter"),
    "TAG-003": ("ar", "MuPDF joins letters of neighbouring words; the exact words stand in the structure"),
    "FIG-012": ("hi", "vowel signs are counted as if they were no letters; `test_figures_have_words` counts them"),
}
"""What outloud warns of: the language in which it does, and why nothing is to be mended."""


def named(case: tuple[str, ...]) -> str:
    return " ".join(filter(None, case))


@pytest.mark.parametrize("case", SHEETS, ids=named)
def test_checkers_of_pdf_ua_find_no_error(case, tmp_path):
    """outloud (PDF/UA-1 and WCAG 2.2) and pdfua (16 rules of PDF/UA-1): no error, no warning but explained ones."""
    outloud, pdfua = module("outloud"), module("pdfua")
    protocol, language, artifact, press = case
    file = kept(sheet(protocol, language, artifact, press), tmp_path)

    said = {f.rule: (f.severity, f.message) for f in outloud.check(str(file)).findings if f.severity != "info"}

    spoken_in = language.split("+")
    left = {rule: why for rule, why in said.items() if rule not in EXPLAINED or EXPLAINED[rule][0] not in spoken_in}
    assert left == {} and all(severity == "warning" for severity, _ in said.values())
    assert [f"{f.rule_id}: {f.message}" for f in pdfua.validate(file).findings] == []


def test_checkers_do_find_errors(tmp_path):
    """A control for the test above: the same sheet without its structure fails with both."""
    outloud, pdfua = module("outloud"), module("pdfua")
    with pikepdf.open(io.BytesIO(sheet("hand-rub", "en", "poster"))) as pdf:
        del pdf.Root.StructTreeRoot, pdf.Root.MarkInfo
        pdf.save(file := tmp_path / "untagged.pdf")

    assert {f.severity for f in outloud.check(str(file)).findings} >= {"error"}
    assert pdfua.validate(file).exit_code == 3


# --- the structure against the edition ------------------------------------------------------------------------------


@dataclass
class Element:
    """One element of a structure, as found."""

    role: str
    ref: str
    text: str = ""
    depth: int = 0


def by_poppler(data: bytes, folder) -> list[Element]:
    """What `pdfinfo -struct-text` prints."""
    run = [tool("pdfinfo"), "-struct-text", kept(data, folder)]
    found: list[Element] = []
    for line in subprocess.run(run, capture_output=True, text=True, check=True).stdout.splitlines():
        if said := re.match(r'( *)"(.*)"$', line):
            found[-1].text += said[2]
        elif got := re.match(r'( *)([A-Z]\w*):?(?: "(.*?)")?(?: \(block\))?$', line):
            found.append(Element(got[2], got[3] or "", depth=len(got[1]) // 2))
    return found


def by_pikepdf(data: bytes, folder) -> list[Element]:
    """The exact words that elements give, which poppler leaves out: right-to-left words are drawn from their end."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return list(_below(pdf.Root.StructTreeRoot))


def _below(node: pikepdf.Dictionary, depth: int = 0) -> Iterator[Element]:
    for kid in kids(node):
        if isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/StructElem":
            yield Element(str(kid.S)[1:], str(kid.get("/T", "")), str(kid.get("/ActualText", "")), depth)
            yield from _below(kid, depth + 1)


def kids(node: pikepdf.Dictionary) -> list:
    found = node.get("/K", [])
    return list(found) if isinstance(found, pikepdf.Array) else [found]


def plain(text: str) -> str:
    return "".join(unicodedata.normalize("NFKC", text).split())


READ = {"en": by_poppler, "hi": by_poppler, "ar": by_pikepdf}


@pytest.mark.parametrize("artifact", ["poster", "cards", "script", "checklist"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_structure_says_the_edition_in_its_order(language, artifact, tmp_path):
    """Title, phases and every step are headings in the order of the edition; a caution is heard before its step."""
    of = spoken("hand-rub", language).edition

    found = READ[language](sheet("hand-rub", language, artifact), tmp_path)

    heads = [(e.ref, plain(e.text)) for e in found if e.role == "H3"]
    main = {s.id for s in of.steps}
    title = [plain(e.text) for e in found if e.role == "H1"]
    assert title == [plain(of.title.plain)]
    assert [h for h in heads if h[0] in main] == [(s.id, plain(s.headline.plain)) for s in of.steps]
    phases = [plain(p.title.plain) for p in of.phases]
    assert [t for e in found if e.role == "H2" and (t := plain(e.text)) in phases] == phases
    everything = [(e.role, plain(e.text)) for e in found]
    for step in of.steps:
        at = everything.index(("H3", plain(step.headline.plain)))
        for caution in step.cautions:
            before = [n for n, (_, text) in enumerate(everything[:at]) if plain(caution.hazard.plain) in text]
            assert before and "H3" not in [role for role, _ in everything[before[-1] : at]]


def test_a_table_of_changes_has_headed_columns_and_lists_have_bodies(tmp_path):
    """Every table has a header cell that says what it heads; every item of a list has a body."""
    for case in SHEETS:
        with pikepdf.open(io.BytesIO(sheet(*case))) as pdf:
            for table in of_role(pdf, "Table"):
                heads = [c for row in kids(table) for c in kids(row) if c.S == "/TH"]
                assert heads and all(c.A.Scope in ("/Row", "/Column") for c in heads), case
            assert all(any(k.S == "/LBody" for k in kids(item)) for item in of_role(pdf, "LI")), case


def test_headlines_without_phases_skip_no_level():
    """A template of a unit that names no phases: its steps are one level below the title (ISO 14289-1, 7.4.2)."""
    of = spoken("hand-rub", "en")
    words = of.bench.templates["poster/main.md.j2"]
    assert "\n## " in words
    flat = {**of.bench.templates, "poster/main.md.j2": re.sub(r"(?m)^## .*$", "", words)}

    document = laid(of._replace(bench=replace(of.bench, templates=flat)), "poster")

    first, *levels = [t.role for t in document.tags if re.fullmatch(r"H\d", t.role)]
    assert first == "H1" and set(levels) == {"H2"} and len(levels) >= len(of.edition.steps)


def of_role(pdf: pikepdf.Pdf, role: str) -> list[pikepdf.Dictionary]:
    def below(node) -> Iterator[pikepdf.Dictionary]:
        for kid in kids(node):
            if isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/StructElem":
                yield kid
                yield from below(kid)

    return [e for e in below(pdf.Root.StructTreeRoot) if f"/{role}" == e.S]


@pytest.mark.parametrize("language", LANGUAGES)
def test_figures_have_words(language):
    """Each figure says what it shows in the language of the sheet; the square code says what it holds."""
    with pikepdf.open(io.BytesIO(sheet("hand-rub", language, "poster"))) as pdf:
        said = [str(e.Alt) for e in of_role(pdf, "Figure")]

    *figures, code = said
    assert len(figures) >= 6 and spoken("hand-rub", language).edition.fingerprint in code.replace("-", "")
    for text in figures:
        letters = [c for c in text if unicodedata.category(c)[0] in "LM"]
        assert len(letters) > 0.5 * len(text) and all(script(c, language) for c in letters if ord(c) > 127)
        assert any(script(c, language) for c in letters)


def script(letter: str, language: str) -> bool:
    """Whether a letter or mark belongs to the script of a language (The Unicode Standard, code charts)."""
    first, last = {"en": (0x41, 0x24F), "ar": (0x600, 0x6FF), "hi": (0x900, 0x97F)}[language]
    return first <= ord(letter) <= last


# --- forms, running matter, fonts, ways about -----------------------------------------------------------------------


@pytest.mark.parametrize("language", LANGUAGES)
def test_form_fields_have_names_in_the_language_of_the_sheet(language):
    """Every field has a name (TU), no two the same; it lies in a Form of the structure, and Tab follows that."""
    with pikepdf.open(io.BytesIO(sheet("hand-rub", language, "checklist"))) as pdf:
        widgets = [a for page in pdf.pages for a in page.get("/Annots", [])]
        names = [str(w.TU) for w in widgets]
        parents = pdf.Root.StructTreeRoot.ParentTree.Nums
        owner = dict(zip(map(int, list(parents)[::2]), list(parents)[1::2], strict=True))

        assert len(set(names)) == len(names) > 30
        assert all(any(script(c, language) for c in name) for name in names)
        assert {str(owner[int(w.StructParent)].S) for w in widgets} == {"/Form"}
        assert {str(page.Tabs) for page in pdf.pages} == {"/S"}


@pytest.mark.parametrize("artifact", ["script", "checklist", "cards"])
def test_what_sheets_repeat_is_skipped(artifact):
    """From the second sheet on, head and foot are pagination artifacts (ISO 14289-1, 7.8); all text is marked once."""
    protocol = "enhanced-removal" if artifact == "cards" else "hand-rub"
    with pikepdf.open(io.BytesIO(sheet(protocol, "ar", artifact))) as pdf:
        for n, page in enumerate(pdf.pages):
            marks: list[tuple] = []
            running = set()
            for operands, operator in pikepdf.parse_content_stream(page):
                match str(operator):
                    case "BDC" | "BMC":
                        marks.append(tuple(operands))
                    case "EMC":
                        marks.pop()
                    case "TJ" | "Tj":
                        assert len(marks) == 1
                        if marks[0][0] == "/Artifact":
                            assert marks[0][1].Type == "/Pagination"
                            running.add(str(marks[0][1].Subtype))
            assert n == 0 or running == {"/Header", "/Footer"}
        (whole,) = (k for k in kids(pdf.Root.StructTreeRoot))
        assert all(isinstance(k, pikepdf.Dictionary) and k.Type == "/StructElem" for k in kids(whole))


@pytest.mark.parametrize("case", [c for c in SHEETS if c[0] == "hand-rub"], ids=named)
def test_all_fonts_are_embedded(case, tmp_path):
    """pdffonts sees embedded subsets only, and the font for what is typed into fields is embedded too."""
    file = kept(sheet(*case), tmp_path)

    said = subprocess.run([tool("pdffonts"), file], capture_output=True, text=True, check=True).stdout

    rows = [line.split() for line in said.splitlines()[2:]]
    assert rows and all(row[-5:-2] == ["yes", "yes", "yes"] for row in rows), said
    with pikepdf.open(file) as pdf:
        for font in pdf.Root.get("/AcroForm", {}).get("/DR", {}).get("/Font", {}).values():
            assert len(font.FontDescriptor.FontFile2.read_bytes()) > 1000


@pytest.mark.parametrize("case", SHEETS, ids=named)
def test_qpdf_finds_no_fault(case, tmp_path):
    """`qpdf --check` is content with syntax, streams and cross-references."""
    run = [tool("qpdf"), "--check", kept(sheet(*case), tmp_path)]

    assert subprocess.run(run, capture_output=True, check=False).returncode == 0


@pytest.mark.parametrize("case", SHEETS[-5:], ids=named)
def test_bookmarks_lead_to_the_phases(case):
    """The outline has every phase, in order, and says that the file opens with it; press sheets have it as well."""
    protocol, language, *_ = case
    with pikepdf.open(io.BytesIO(sheet(*case))) as pdf, pdf.open_outline() as outline:
        titles = [plain(item.title) for item in outline.root]
        assert pdf.Root.PageMode == "/UseOutlines"

    phases = [plain(p.title.plain) for p in spoken(protocol, language).edition.phases]
    assert [t for t in titles if any(t.endswith(p) for p in phases)] == titles[: len(phases)]
    assert [p for p in phases if not any(t.endswith(p) for t in titles)] == []


def test_the_file_says_its_title_and_languages():
    """Title shown, language given, and that of the words beside it on two-language sheets, wherever they stand."""
    with pikepdf.open(io.BytesIO(sheet("everyday-removal", "en+ar", "script"))) as pdf:
        of = spoken("everyday-removal", "en+ar").edition
        assert (str(pdf.docinfo.Title), str(pdf.Root.Lang)) == (of.title.plain, "en")
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        beside = [(e, str(e.get("/ActualText", ""))) for role in ("P", "H3") for e in of_role(pdf, role)]
        beside = [(e, said) for e, said in beside if any(script(c, "ar") for c in said)]
        assert len(beside) >= 10 and [said for e, said in beside if str(e.get("/Lang", "")) != "ar"] == []


# --- the read-back reads the structure too ------------------------------------------------------------------------


def judged(data: bytes, language: str, artifact: str = "script") -> set[str]:
    """Rules of what the read-back finds wrong with a sheet of hand-rub."""
    of = spoken("hand-rub", language)
    composition, _ = composed(of.edition, of.analysis, artifact, of.bench)
    assert composition is not None
    layout = of.bench.layouts[artifact]
    wanted = expected(of.edition, artifact, layout, "", composition, of.bench.words.get(language))
    found = examine(data, of.edition, artifact, "x.pdf", **wanted)
    return {f.rule for f in found if f.severity is Severity.ERROR}


Damage = Callable[[pikepdf.Pdf], None]


def sections(pdf: pikepdf.Pdf) -> tuple[pikepdf.Dictionary, list[int]]:
    """The document's element, and which of its children are steps."""
    (whole,) = kids(pdf.Root.StructTreeRoot)
    steps = {s.id for s in spoken("hand-rub", "en").edition.steps}
    return whole, [n for n, k in enumerate(whole.K) if k.S == "/Sect" and str(k.get("/T", "")) in steps]


def swapped(first: int, second: int) -> Damage:
    def damage(pdf: pikepdf.Pdf) -> None:
        whole, steps = sections(pdf)
        one, other = steps[first], steps[second]
        whole.K[one], whole.K[other] = whole.K[other], whole.K[one]

    return damage


def caution_last(pdf: pikepdf.Pdf) -> None:
    whole, steps = sections(pdf)
    step = next(k for n in steps if (k := whole.K[n]) and any(c.S == "/Sect" for c in kids(k)))
    own = kids(step)
    (caution,) = (c for c in own if c.S == "/Sect")
    step.K = pikepdf.Array([*(c for c in own if c is not caution), caution])


def headline_lost(pdf: pikepdf.Pdf) -> None:
    whole, steps = sections(pdf)
    step = whole.K[steps[1]]
    step.K = pikepdf.Array([k for k in kids(step) if k.S != "/H3"])


DAMAGES: dict[str, tuple[Damage, str]] = {
    "two neighbours change places": (swapped(1, 2), "readback/tag-order"),
    "steps of two sheets change places": (swapped(0, -1), "readback/tag-order"),
    "a caution after its step": (caution_last, "readback/tag-order"),
    "a step without its headline": (headline_lost, "readback/tag-missing"),
}


@pytest.mark.parametrize("language", ["en", "ar"])
def test_a_script_that_is_heard_in_another_order_than_seen_is_caught(language):
    """pikepdf changes the structure alone; not a pixel moves, and the read-back says what a listener would be told."""
    data = sheet("hand-rub", language, "script")
    assert judged(data, language) == set()
    assert len(placed("hand-rub", language, "script").sheets) > 1
    for name, (damage, rule) in DAMAGES.items():
        with pikepdf.open(io.BytesIO(data)) as pdf:
            damage(pdf)
            pdf.save(out := io.BytesIO())
        assert rule in judged(out.getvalue(), language), name
