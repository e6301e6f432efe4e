"""Turn finished checklists and records of readers into a tally: read each in safety, count, print, make a page."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from docgen.build.limits import within
from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.shelf import SOURCE_LANGUAGE, front
from docgen.findings import Finding, Where, advice, error, has_errors, warning
from docgen.model.catalogue import TEMPLATES
from docgen.model.page import Page
from docgen.model.text import Words
from docgen.project import Project
from docgen.publish import overwrite, refused
from docgen.report import gather
from docgen.tally import Names, Session, Tally, Told, as_csv, as_json, as_text, for_page, read_record, tally

SECONDS = 20.0
"""For reading one checklist, which takes a tenth of one."""
PAGE = "tally"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person wants counted, and how."""

    files: tuple[Path, ...]
    form: str = "text"
    """`text`, `json` or `csv`."""
    together: bool = False
    """Add up the versions of a protocol."""
    names: bool = False
    """Let names and remarks into the JSON."""
    report: Path | None = None
    language: str = SOURCE_LANGUAGE
    """Of the report."""


def tallied(project: Project, wanted: Wanted, progress: Progress = unwatched) -> tuple[str, Outcome]:
    """The result in the form asked for, and what was said on the way; also writes the report."""
    files, findings = _found(project, wanted.files)
    told: list[tuple[Path, bytes, Told]] = []
    for n, file in enumerate(files, 1):
        told.append((file, *_read(project, file)))
        progress(n, len(files), file.name)
    sessions, twice = _once(told)
    findings += [f for _, _, one in told for f in one.findings] + twice
    lost = tuple((file.name, one.findings[0].message) for file, _, one in told if one.session is None)
    names, units = _at_hand(project, sessions)
    groups = tally(sessions, names, units, wanted.together)
    result = Tally(groups, wanted.together, lost, tuple(sessions) if wanted.names else ())
    findings += _apart(result)
    lines: tuple[str, ...] = ()
    if wanted.report:
        problems = _report(project, result, wanted.report, wanted.language)
        findings += problems
        lines = () if has_errors(problems) else (f"wrote {wanted.report}",)
    return _printed(result, wanted.form), Outcome(gather(findings), lines)


def _printed(result: Tally, form: str) -> str:
    match form:
        case "json":
            return as_json(result)
        case "csv":
            return as_csv(result)
    return "".join(f"{line}\n" for line in as_text(result))


# --- reading ----------------------------------------------------------------------------------------------------


def _found(project: Project, paths: Sequence[Path]) -> tuple[list[Path], list[Finding]]:
    files: dict[Path, None] = {}
    findings: list[Finding] = []
    for path in paths:
        found, problems = project.results(path)
        files |= dict.fromkeys(found)
        findings += problems
    return list(files), findings


def _read(project: Project, file: Path) -> tuple[bytes, Told]:
    from docgen.tally.checklist import read_checklist

    data, findings = project.sheet(file)
    if data is None:
        return b"", Told(None, findings)
    if not data.lstrip()[:5].startswith(b"%PDF"):
        return data, read_record(data, str(file))
    told = within(SECONDS, read_checklist, data, str(file))
    if told is None:
        message = f"this is not counted: reading it did not end within {SECONDS:.0f} seconds, or fell over"
        hint = "open it in a viewer and save it again, or leave it out"
        return data, Told(None, (error("tally/damaged", message, Where(str(file)), hint=hint),))
    return data, told


def _once(told: Sequence[tuple[Path, bytes, Told]]) -> tuple[list[Session], list[Finding]]:
    """Every session once: not the same file under two names, nor the JSON and the CSV of one record."""
    kept: list[Session] = []
    findings: list[Finding] = []
    seen: dict[Any, Path] = {}
    for file, data, one in told:
        if one.session is None:
            continue
        keys: list[Any] = [sha256(data).digest()]
        s = one.session
        if s.began:
            keys.append((s.fingerprint, s.site, s.began, s.seconds))
        first = next((seen[key] for key in keys if key in seen), None)
        if first:
            message = f"this is the same session as `{first.name}`, and is counted once"
            findings.append(warning("tally/same-session", message, Where(str(file)), hint="leave one of them out"))
        else:
            kept.append(s)
        for key in keys:
            seen.setdefault(key, file)
    return kept, findings


def _at_hand(project: Project, sessions: Sequence[Session]) -> tuple[Names, Mapping[str, str]]:
    """What the present sources know of the sessions' texts: numbers and headlines of steps; names of units."""
    rooms = front()
    wanted = {s.fingerprint for s in sessions}
    reads = [rooms.read_site(source.text, source.file) for source in _sources(project, project.sites())]
    sites = {read.value.site: read for read in reads if read.value}
    names: dict[str, dict[str, tuple[str, str]]] = {}
    for source in _sources(project, project.protocols()):
        read = rooms.read_protocol(source.text, source.file)
        if read.value is None or not any(s.code == read.value.code for s in sessions):
            continue
        for site in (site for site in sites.values() if read.value.protocol in site.value.protocols):
            edition, _said_by_check = rooms.resolve(read, site)
            if edition and edition.fingerprint in wanted:
                names[edition.fingerprint] = {s.id: (s.label, s.headline.plain) for s in edition.all_steps()}
    return names, {name: site.value.unit.source for name, site in sites.items() if site.value.unit}


def _sources(project: Project, paths: Sequence[Path]) -> Iterator[Any]:
    for path in paths:
        source, _said_by_check = project.source(path)
        if source:
            yield source


def _apart(result: Tally) -> Iterator[Finding]:
    """Different texts are not added up without saying so, nor told apart in silence."""
    for code in dict.fromkeys(g.code for g in result.groups):
        own = [g for g in result.groups if g.code == code]
        texts = [e for g in own for e in g.editions]
        named = ", ".join(f"v{v} {f[:5]}-{f[5:]} ({site})" for v, f, site in texts)
        if len(own) > 1:
            hint = "add them up with `--together` if their steps still mean the same"
            yield advice("tally/several-versions", f"`{code}` has {len(own)} texts, each counted by itself: {named}",
                         hint=hint)  # fmt: skip
        elif len(texts) > 1:
            hint = "make sure that their steps mean the same"
            message = f"{len(texts)} texts of `{code}` are counted together: {named}"
            yield warning("tally/versions-together", message, hint=hint)


# --- the page ---------------------------------------------------------------------------------------------------


def _report(project: Project, result: Tally, file: Path, language: str) -> tuple[Finding, ...]:
    data, findings = report_page(project, result, language)
    if data is None:
        return findings
    try:
        overwrite(file, data)
    except OSError as problem:
        return (*findings, refused("write the report", file, problem))
    return findings


def report_page(project: Project, result: Tally, language: str) -> tuple[bytes | None, tuple[Finding, ...]]:
    """The file of the report in a language, or what is wrong with its templates or words."""
    from docgen.build.layouts import layouts
    from docgen.build.tongues import read_one
    from docgen.compose import compose_report
    from docgen.language import words_of
    from docgen.source import inline
    from docgen.typeset import is_rtl

    templates, findings = project.templates()
    _drawn, house, laid_out = layouts(templates)
    findings = tuple(f for f in (*findings, *laid_out) if has_errors((f,)))
    words: Callable[[str], Words] = inline
    if language != SOURCE_LANGUAGE:
        read = read_one(project, language, TEMPLATES)
        findings += read.findings
        if read.value is None or not read.value.entries:
            hint = "choose one that `docgen words status` names"
            findings += (error("project/no-language", f"there are no words in `{language}`", hint=hint),)
        else:
            words = words_of(read.value, inline)
    if house is None or has_errors(findings):
        return None, findings
    title = "Results of sessions"
    page, problems = compose_report(PAGE, title, language, is_rtl(language), words, templates, for_page(result))
    findings += problems
    return (_drawn_page(project, page, result, house.colours) if page else None), findings


def _drawn_page(project: Project, page: Page, result: Tally, colours: Any) -> bytes:
    from docgen.artifacts import write_html
    from docgen.build.bench import faces_of
    from docgen.build.screens import worn_by
    from docgen.model.block import Origin
    from docgen.tally import HEIGHT, LENGTH, bar, key
    from docgen.typeset import Picture

    steps = {f"{n} {s.step}": s for n, g in enumerate(result.groups) for s in g.steps}

    def draw(origin: Origin, _language: str) -> Picture | None:
        if origin.kind == "bar":
            return Picture(bar(steps[origin.ref], page.articles[0].rtl), LENGTH, HEIGHT, "")
        return Picture(key(origin.ref), HEIGHT, HEIGHT, "") if origin.kind == "key" else None

    worn, _drawn_by_the_browser = worn_by(page, page.articles[0].language, faces_of(project))
    return write_html(page, draw, worn, colours)
