"""Turn what authors changed into work for translators, and their work into a report: the commands of `docgen words`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from docgen.build.messages import ToTranslate, to_translate
from docgen.build.outcome import Outcome
from docgen.build.shelf import SOURCE_LANGUAGE, Asked, Front, front, shelve
from docgen.build.tongues import grounded, read_one, wording_of
from docgen.build.tongues import tongue as tongue_of
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.catalogue import SITES, TEMPLATES, Catalogue
from docgen.model.scalar import LANGUAGE
from docgen.project import Project
from docgen.publish import overwrite, refused, write_new
from docgen.report import counted, gather

if TYPE_CHECKING:
    from docgen.language import Status


@dataclass(frozen=True, slots=True)
class Which:
    """Which catalogues a person asked for; empty means all there are."""

    files: tuple[Path, ...] = ()
    languages: tuple[str, ...] = ()


def update(project: Project, which: Which, rooms: Front | None = None) -> Outcome:
    """Bring catalogues up to the present sources; new ones are begun for a language or a protocol that is named."""
    words, findings = gathered(project, which, rooms or front())
    lines: list[str] = []
    for language, name in _wanted(project, which, words):
        said, line = _update(project, language, name, words)
        findings += said
        lines += line
    return Outcome(gather(findings), tuple(lines))


def status(project: Project, which: Which, rooms: Front | None = None) -> tuple[Outcome, tuple[Status, ...]]:
    """How far each catalogue has come, and a line for each."""
    from docgen.language import status as count

    rows: list[Status] = []
    words, findings = gathered(project, which, rooms or front())
    for language, name in _there(project, which, words):
        read = read_one(project, language, name)
        findings += read.findings
        if read.value:
            rows.append(count(read.value, words.catalogues[name]))
    return Outcome(gather(findings), tuple(_table(rows))), tuple(rows)


def check(project: Project, which: Which, rooms: Front | None = None) -> Outcome:
    """Compare translations with their sources, and judge their wording by the lists of their language."""
    from docgen.language import check as compare
    from docgen.source import inline

    rooms = rooms or front()
    words, findings = gathered(project, which, rooms)
    chosen: dict[str, list[Catalogue]] = {}
    for language, name in _there(project, which, words):
        read = read_one(project, language, name)
        findings += read.findings
        if read.value:
            chosen.setdefault(language, []).append(read.value)
    lines = []
    for language, catalogues in chosen.items():
        tongue = tongue_of(project, language, words, rooms, compare=False)
        ground, _ = grounded(project, language, tongue.words, rooms)
        findings += (*tongue.findings, *compare(catalogues, words.catalogues, ground, inline))
        for edition in words.editions:
            if any(c.name == edition.protocol and c.begun for c in catalogues):
                findings += wording_of(edition, tongue)
        valid = sum(e.valid for c in catalogues for e in c.entries)
        lines.append(f"{language}: {counted(valid, 'translation')} compared in {counted(len(catalogues), 'catalogue')}")
    return Outcome(gather(findings), tuple(lines))


def sheet(project: Project, which: Which, path: Path, rooms: Front | None = None) -> Outcome:
    """Write a translator's spreadsheet for one language. Nothing is overwritten."""
    from docgen.language.sheet import sheet_bytes

    words, findings = gathered(project, which, rooms or front())
    catalogues = []
    for language, name in _there(project, which, words):
        read = read_one(project, language, name)
        findings += read.findings
        if read.value and read.value.entries:
            catalogues.append(read.value)
    if not catalogues and not has_errors(findings):
        message = f"there are no catalogues in `{', '.join(which.languages)}`"
        hint = "begin with `docgen words update --language TAG`"
        findings.append(error("project/unknown-language", message, hint=hint))
    if has_errors(findings):
        return Outcome(gather(findings))
    try:
        write_new(path, sheet_bytes(catalogues))
    except FileExistsError:
        hint = "give another name; nothing is overwritten"
        findings.append(error("project/exists", "there is a file of that name already", Where(str(path)), hint=hint))
    except OSError as problem:
        findings.append(refused("write it", path, problem))
    texts = sum(len(c.entries) for c in catalogues)
    return Outcome(gather(findings), () if has_errors(findings) else (f"wrote {path}: {counted(texts, 'text')}",))


def sheet_back(project: Project, path: Path) -> Outcome:
    """Read a translator's spreadsheet back into the catalogues of its language."""
    from docgen.language import po_text
    from docgen.language.sheet_back import language_of, read_back
    from docgen.source import inline

    data, findings = project.sheet(path)
    if data is None:
        return Outcome(findings)
    language, findings = language_of(data, str(path))
    reads = [read_one(project, language, name) for tag, name in project.catalogues() if tag == language]
    findings += tuple(f for r in reads for f in r.findings)
    if findings or not language:
        return Outcome(gather(findings))
    back = read_back(data, str(path), {r.value.name: r.value for r in reads if r.value}, inline)
    lines = [f"{counted(back.taken, 'row')} taken"]
    said = [*back.findings]
    for catalogue in back.catalogues:
        target = project.locales / language / f"{catalogue.name}.po"
        try:
            overwrite(target, po_text(catalogue).encode("utf-8"))
            lines.append(f"wrote {target}")
        except OSError as problem:
            said.append(refused("write it", target, problem))
    return Outcome(tuple(said), tuple(lines))


def gathered(project: Project, which: Which, rooms: Front) -> tuple[ToTranslate, list[Finding]]:
    """What there is to translate, and what was said on the way."""
    shelf = shelve(project, Asked(which.files), rooms)
    templates, overlaid = project.templates()
    words = to_translate(shelf, templates, rooms)
    own = [f for f in shelf.findings if f.rule.startswith("project/")]
    wrong = [
        error("project/unknown-language", f"`{tag}` is the language the protocols are written in, or no language tag",
              hint="write `es`, `pt-BR` or `zh-Hans`")
        for tag in which.languages
        if not _is_tag(tag)
    ]  # fmt: skip
    return words, [*own, *overlaid, *words.findings, *wrong]


def _is_tag(tag: str) -> bool:
    return re.fullmatch(LANGUAGE, tag) is not None and tag != SOURCE_LANGUAGE


def _wanted(project: Project, which: Which, words: ToTranslate) -> Iterator[tuple[str, str]]:
    """Language and name of each catalogue to look after. A named language gets what all of them need, too."""
    there = project.catalogues(own=True)
    named = which.languages or tuple(dict.fromkeys(t for t, _ in there))
    languages = [t for t in named if _is_tag(t)]
    for language in languages:
        begun = {name for tag, name in there if tag == language}
        of_protocols = [name for name in words.catalogues if name not in (TEMPLATES, SITES)]
        protocols = of_protocols if which.files or not begun else [name for name in of_protocols if name in begun]
        yield from ((language, name) for name in (*protocols, TEMPLATES, SITES) if name in words.catalogues)


def _there(project: Project, which: Which, words: ToTranslate) -> Iterator[tuple[str, str]]:
    """Language and name of each catalogue that is there and was asked for."""
    for language, name in project.catalogues():
        if (not which.languages or language in which.languages) and name in words.catalogues:
            yield language, name


def _table(rows: Sequence[Status]) -> Iterator[str]:
    """Aligned columns; in brackets how many belong to cautions, holds and signal words."""
    if not rows:
        return
    head = ("language", "catalogue", "translated", "outdated", "missing", "state", "translator", "reviser", "content")
    table: list[tuple[str, ...]] = [head]
    for r in rows:
        state = r.state if r.state != "revised" or r.reviewed else "revised, then changed"
        people = (f"{r.translator} {r.translated_on}".strip(), f"{r.reviser} {r.revised_on}".strip())
        done, code = f"{r.translated} of {r.texts}", r.content if r.translated else ""
        outdated, missing = _of(r.outdated, r.outdated_cautions), _of(r.missing, r.missing_cautions)
        table.append((r.language, r.catalogue, done, outdated, missing, state, *people, code))
    wide = [max(len(row[n]) for row in table) for n in range(len(head))]
    yield from ("  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in table)


def _of(texts: int, cautions: int) -> str:
    return f"{texts} ({cautions})" if texts else "0"


def _update(project: Project, language: str, name: str, words: ToTranslate) -> tuple[Sequence[Finding], list[str]]:
    from docgen.language import merge, po_text

    read = read_one(project, language, name)
    if read.value is None:
        return read.findings, []
    merged = merge(read.value, words.catalogues[name])
    text, path = po_text(merged.catalogue), project.locales / language / f"{name}.po"
    changes = [
        f"{counted(len(keys), 'text')} {what}"
        for keys, what in (
            (merged.added, "new"), (merged.outdated, "outdated"), (merged.moved, "moved"),
            (merged.revived, "back again"), (merged.retired, "retired"),
        )
        if keys
    ]  # fmt: skip
    if text == read.text:
        return (), [f"{path}: nothing changed"]
    try:
        overwrite(path, text.encode("utf-8"))
    except OSError as problem:
        return (refused("write it", path, problem),), []
    return (), [f"{path}: {', '.join(changes) or 'notes refreshed'}"]
