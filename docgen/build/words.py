"""Turn what authors changed into work for translators, and their work into a report: the commands of `docgen words`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from docgen.build.messages import ToTranslate, to_translate
from docgen.build.outcome import Outcome
from docgen.build.shelf import SOURCE_LANGUAGE, Asked, Front, front, shelve
from docgen.build.tongues import read_one
from docgen.findings import Finding, error
from docgen.model.catalogue import SITES, TEMPLATES
from docgen.model.scalar import LANGUAGE
from docgen.project import Project
from docgen.publish import overwrite, refused
from docgen.report import counted, gather


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
    there = project.catalogues()
    languages = [t for t in which.languages if _is_tag(t)] or list(dict.fromkeys(t for t, _ in there))
    for language in languages:
        begun = {name for tag, name in there if tag == language}
        named = [name for name in words.catalogues if name not in (TEMPLATES, SITES)]
        protocols = named if which.files or not begun else [name for name in named if name in begun]
        yield from ((language, name) for name in (*protocols, TEMPLATES, SITES) if name in words.catalogues)


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
