"""Turn found files into what they are and whether they still hold, from the release files alone.

Each file is opened in a process of its own with limits of time and memory; what comes back from it is looked up in the
releases here. A PDF that is not the released file to the last byte is also read back against its release.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from docgen.apart import Stopped, apart
from docgen.build.bench import Back, Bench, composed
from docgen.build.bench import back as rooms_of
from docgen.build.expected import expected
from docgen.build.layouts import layouts
from docgen.build.outcome import Exit, Progress, unwatched
from docgen.build.released import histories, revived
from docgen.build.shelf import SOURCE_LANGUAGE, Front, front
from docgen.build.tongues import BESIDE, read_one
from docgen.findings import Finding, Severity, Where, error, has_errors
from docgen.model.catalogue import TEMPLATES, Catalogue
from docgen.model.edition import ARTIFACTS, Edition
from docgen.model.sighting import Copy, Seen, dump, load
from docgen.model.wordlist import WordList
from docgen.project import Project
from docgen.release import (
    Known,
    Register,
    altered,
    by_digest,
    compare,
    found_data,
    found_lines,
    identify,
    parts,
    register,
)
from docgen.report import gather

SHOWN = 6
"""Findings of a comparison that are told."""
LAYOUT = frozenset(
    f"readback/{name}"
    for name in ("too-small", "distance-claim", "near-edge", "sheet-size", "tag-missing", "tag-order", "tag-words",
                 "untagged", "field-missing", "field-unnamed", "field-shared", "field-unseen", "code-too-fine",
                 "code-crowded", "imposition", "language-terms", "unreadable", "encrypted", "too-large", "page-count",
                 "too-complex")
)  # fmt: skip
"""What the read-back says of a sheet's making, not of its words."""
OF_A_PART = frozenset(
    f"readback/{name}"
    for name in ("foreign-step", "foreign-caution", "foreign-text", "number-wrong", "signal-word", "text-altered",
                 "number-altered", "unit-altered", "negation-altered", "stamp-foreign", "covered", "no-ink")
)  # fmt: skip
"""What can be said of some sheets without the others."""


@dataclass(frozen=True, slots=True)
class Found:
    """What became of one file."""

    file: str
    copies: tuple[Copy, ...] = ()
    seen: Seen | None = None
    findings: tuple[Finding, ...] = ()
    """Why nothing could be seen in it."""

    @property
    def clean(self) -> bool:
        """Whether all of it holds today and is as it was released."""
        return bool(self.copies) and all(c.state == "current" and not c.why for c in self.copies)


@dataclass(frozen=True, slots=True)
class Identified:
    """What a run has to say."""

    files: tuple[Found, ...]
    findings: tuple[Finding, ...] = ()
    """About the releases."""

    @property
    def status(self) -> Exit:
        """0: all current and unaltered; 1: anything else was found; 2: a file or the releases could not be used."""
        said = (*self.findings, *(f for found in self.files for f in found.findings))
        if any(f.severity is Severity.ERROR and f.rule.startswith(("project/", "recognise/")) for f in said):
            return Exit.UNUSABLE
        return Exit.CLEAN if not has_errors(said) and all(f.clean for f in self.files) else Exit.FINDINGS

    def lines(self) -> Iterator[str]:
        """For a person; findings are printed apart."""
        for found in self.files:
            if found.copies:
                yield found.file
                yield from found_lines(found.copies, found.seen)

    def data(self) -> str:
        """For a program, as JSON."""
        return json.dumps(
            [
                {"file": f.file, "copies": found_data(f.copies), "notes": list(f.seen.notes) if f.seen else [],
                 "problems": [{"rule": p.rule, "message": p.message, "hint": p.hint} for p in f.findings]}
                for f in self.files
            ],
            ensure_ascii=False, indent=1,
        ) + "\n"  # fmt: skip


def identified(
    project: Project,
    files: Sequence[Path],
    progress: Progress = unwatched,
    rooms: Front | None = None,
    back: Back | None = None,
) -> Identified:
    """Say of each file what it is."""
    rooms = rooms or front()
    past = histories(project)
    findings = list(past.findings)
    if not past.found:
        hint = "give the folder of the protocols with `--protocols`; releases lie below it"
        none = error("project/no-releases", "there are no releases to look a copy up in", Where(str(project.released)),
                     hint=hint)  # fmt: skip
        return Identified((), gather([*findings, none]))
    listed, _ = project.locale(SOURCE_LANGUAGE, "words.yaml")
    words = rooms.read_wordlist(listed.text, listed.file).value if listed else None
    desk = _Desk(project, register(past.found.values(), project.today(), _Changed(words)), words, rooms, back)
    out = []
    for n, file in enumerate(files):
        out.append(_one(file, desk))
        progress(n + 1, len(files), str(file))
    return Identified(tuple(out), gather(findings))


@dataclass(frozen=True, slots=True)
class _Desk:
    """What every identification has at hand."""

    project: Project
    register: Register
    words: WordList | None
    rooms: Front
    back: Back | None


def _one(file: Path, desk: _Desk) -> Found:
    data, problems = desk.project.sheet(file)
    if data is None:
        return Found(str(file), findings=problems)
    digest = sha256(data).hexdigest()
    if copy := by_digest(digest, desk.register):
        return Found(str(file), (copy,))
    try:
        seen = _seen(data, file)
    except _Nothing as problem:
        return Found(str(file), findings=(problem.finding,))
    copies = identify(seen, desk.register)
    if seen.kind == "pdf":
        copies = tuple(_compared(copies, seen, data, file, desk))
    return Found(str(file), copies, seen)


# --- looking, in a process of its own ---------------------------------------------------------------------------


class _Nothing(Exception):
    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.message)
        self.finding = finding


def _look(data: bytes) -> str:
    from docgen.recognise import Unusable, look

    try:
        return dump(look(data))
    except Unusable as problem:
        return json.dumps({"rule": problem.rule, "message": problem.message, "hint": problem.hint})


def _seen(data: bytes, file: Path) -> Seen:
    where = Where(str(file))
    try:
        answer = apart(_look, data)
        seen = load(answer)
        if seen is not None:
            return seen
        said = json.loads(answer)
        raise _Nothing(error(str(said["rule"]), str(said["message"]), where, hint=str(said["hint"])))
    except Stopped as problem:
        hint = "photograph the sheet itself, one sheet at a time; do not use what the file says"
        message = f"this file was given up: {problem}"
        raise _Nothing(error("recognise/given-up", message, where, hint=hint)) from None
    except (ValueError, KeyError, TypeError):
        message = "the process that read this file answered nonsense"
        raise _Nothing(error("recognise/given-up", message, where, hint="do not use what the file says")) from None


# --- what has changed since -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Changed:
    """Says what differs between a released sheet and the version that holds now."""

    words: WordList | None

    def __call__(self, known: Known, by: str) -> tuple[str, ...]:
        release = known.history.get(by)
        kept = release.at(known.kept.site) if release else None
        if release is None or kept is None:
            return (f"v{by} is not released for `{known.kept.site}`",)
        old, new = _revived(known), revived(release, kept)
        if old is None or new is None:
            return ()
        return tuple(parts(compare(old, new, self.words)))


def _revived(known: Known, language: str = SOURCE_LANGUAGE) -> Edition | None:
    try:
        return revived(known.release, known.kept, language)
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


# --- what it says, compared -------------------------------------------------------------------------------------


def _compared(copies: tuple[Copy, ...], seen: Seen, data: bytes, file: Path, desk: _Desk) -> Iterator[Copy]:
    """Each copy with what the read-back says of its words; a released edition is there for each that is identified."""
    whole = len(copies) == 1
    for copy in copies:
        known = _known(copy, desk.register)
        if known is None or copy.artifact not in ARTIFACTS:
            yield copy
        elif not whole:
            why = "it is one of several documents in this file, and what it says was not compared: give them one by one"
            yield replace(copy, why=(*copy.why, why))
        elif not seen.worded:
            note = "the file is a scan: its steps are not compared; look whether anything was written over"
            yield replace(copy, notes=(*copy.notes, note))
        else:
            yield _read_back(copy, known, data, file, desk)


def _known(copy: Copy, register_: Register) -> Known | None:
    """The edition that a copy says it is."""
    history = register_.named(copy.code)
    release = history.get(copy.version) if history else None
    kept = release.at(copy.site) if release else None
    language = kept.language(copy.language) if kept else None
    return Known(history, release, kept, language) if history and release and kept and language else None


def _read_back(copy: Copy, known: Known, data: bytes, file: Path, desk: _Desk) -> Copy:
    wanted = _wanted(copy, known, desk)
    if wanted is None:
        return replace(copy, notes=(*copy.notes, "what it says could not be compared: its release can't be made again"))
    edition, more, note = wanted
    if note:
        copy = replace(copy, notes=(*copy.notes, note))
    try:
        answer = json.loads(apart(_examine, data, edition, copy.artifact, str(file), more, desk.back))
    except (Stopped, ValueError) as problem:
        return altered(copy, f"what it says could not be read back: {problem}")
    part = set(copy.sheets) != set(range(1, copy.of + 1))
    wrong = [
        (message, page, step)
        for rule, message, page, step in answer
        if (rule in OF_A_PART if part else rule not in LAYOUT)
    ]
    if wrong:
        told = [f"{f'page {page}: ' if page else ''}{message}" for message, page, _ in wrong[:SHOWN]]
        more_ = [f"and {len(wrong) - SHOWN} more differences"] if len(wrong) > SHOWN else []
        return altered(copy, *told, *more_)
    if part:
        lacking = sorted(set(range(1, copy.of + 1)) - set(copy.sheets))
        which = ", ".join(map(str, lacking))
        copy = replace(copy, why=(*copy.why, f"it is not whole: of {copy.of} sheets it lacks {which}"))
    other = "it is not the file that was released: its bytes differ, although its words do not (printed or saved anew, "
    return replace(copy, compared="words", why=(*copy.why, f"{other}filled in, or changed where nothing is read)"))


def _examine(data: bytes, edition: Edition, artifact: str, file: str, wanted: dict[str, Any], back: Back | None) -> str:
    found = (back or rooms_of()).examine(data, edition, artifact, file, **wanted)
    errors = [f for f in found if f.severity is Severity.ERROR]
    return json.dumps([[f.rule, f.message, f.where.page, f.step] for f in errors])


def _wanted(copy: Copy, known: Known, desk: _Desk) -> tuple[Edition, dict[str, Any], str] | None:
    """The edition as it was released, what the read-back expects besides, and what it can't be told."""
    project, tag = desk.project, copy.language
    edition, source = _revived(known, tag), _revived(known)
    templates, problems = project.templates()
    drawn, house, laid_out = layouts(templates)
    if edition is None or source is None or house is None or has_errors((*problems, *laid_out)):
        return None
    own: dict[str, Catalogue] = {}
    for each in tag.split(BESIDE):
        if each != SOURCE_LANGUAGE:
            read = read_one(project, each, TEMPLATES)
            own |= {each: read.value} if read.value else {}
    bench = Bench(project, templates, drawn, house, own, desk.back)
    analysis = desk.rooms.analyse(source, project.today(), desk.words)
    before = known.history.before(known.release.version)
    was = before.at(known.kept.site) if before else None
    old = _revived(Known(known.history, before, was), edition.language) if before and was else None
    change = compare(old, edition) if old and copy.artifact == "notice" else None
    composition, _ = composed(edition, analysis, copy.artifact, bench, change)
    if composition is None:
        return None
    words = own.get(edition.language)
    more = expected(edition, copy.artifact, drawn[copy.artifact], "", composition, words)
    if change and old:
        more["before"] = old
    note = ""
    if not _same_templates(copy.artifact, tag, known, project):
        more["known_words"] = None
        note = "the words around the steps are made otherwise today: whether anything was added could not be told"
    return edition, more, note


def _same_templates(artifact: str, tag: str, known: Known, project: Project) -> bool:
    """Whether everything that says what stands around the steps is as it was when this was released."""
    places = (f"templates/{artifact}/", "templates/house/", *(f"locales/{t}/templates" for t in tag.split(BESIDE)))
    inputs = {k: v for k, v in known.release.inputs.items() if k.startswith(places)}
    return all(project.read.get(k) == v for k, v in inputs.items())
