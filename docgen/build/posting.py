"""Turn a site's postings, record and releases into a plan and an audit, and people's word into lines of the record."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from docgen.build.layouts import layouts
from docgen.build.outcome import Outcome
from docgen.build.released import Histories, histories
from docgen.build.shelf import front
from docgen.findings import Finding, Where, error, has_errors, warning
from docgen.model.layout import Layout
from docgen.model.posting import MUST_GO, STATES, Found, Hung, Order, Task
from docgen.model.site import Site
from docgen.project import Project
from docgen.publish import amending, overwrite, refused
from docgen.release import lists
from docgen.release.copies import added, parse
from docgen.release.marking import Mark, Marked, Told, from_list, marked
from docgen.release.orders import office, orders
from docgen.release.postings import UNRELEASED, found, plan
from docgen.report import counted, gather


@dataclass(frozen=True, slots=True)
class Asking:
    """Which copies a person asks about."""

    files: tuple[Path, ...] = ()
    """Protocols, or releases of them; empty: all."""
    sites: tuple[str, ...] = ()
    form: str = "text"
    """`text`, `json` or `csv`."""


@dataclass(frozen=True, slots=True)
class Walk:
    """One site, read: what it lists, what was recorded, what there is to do."""

    site: Site
    file: Path
    """The record of its copies."""
    record: tuple[Hung, ...]
    tasks: tuple[Task, ...]
    orders: tuple[Order, ...]


@dataclass(frozen=True, slots=True)
class Round:
    """Everything there is to know before anybody walks."""

    project: Project
    past: Histories
    today: datetime.date
    walks: tuple[Walk, ...]
    findings: tuple[Finding, ...]


def walks(project: Project, asking: Asking) -> Round:
    """Read the sites asked for, their records and all releases."""
    sites, findings = _sites(project, asking.sites)
    past = histories(project)
    templates, _ = project.templates()
    drawn, _, _ = layouts(templates)
    versions, unknown = _versions(project, asking.files, past)
    findings += (*past.findings, *unknown)
    out = []
    for site in sites:
        record, problems = recorded(project, site)
        findings += problems
        out.append(_walk(project, site, record, past, project.today(), versions, drawn))
    return Round(project, past, project.today(), tuple(out), gather(findings))


def _sites(project: Project, names: tuple[str, ...]) -> tuple[list[Site], list[Finding]]:
    """The sites asked for, or all. What is wrong with protocols is no matter here: their releases count."""
    rooms, sites = front(), []
    findings: list[Finding] = []
    for path in project.sites():
        source, problems = project.source(path)
        findings += problems
        if source is None:
            continue
        read = rooms.read_site(source.text, source.file)
        if read.value is None:
            findings += read.findings
        elif not names or read.value.site in names:
            sites.append(read.value)
    for name in names:
        if not has_errors(findings) and name not in {s.site for s in sites}:
            hint = "take the name after `site:` in a file of the folder `sites`"
            findings.append(error("project/unknown-site", f"no site is called `{name}`", hint=hint))
    return sites, findings


def _walk(
    project: Project,
    site: Site,
    record: tuple[Hung, ...],
    past: Histories,
    today: datetime.date,
    versions: Mapping[str, str] | None,
    drawn: Mapping[str, Layout],
) -> Walk:
    tasks = plan(site, record, past.found, today, versions)
    sides = {artifact: layout.sides for artifact, layout in drawn.items()}
    return Walk(site, project.copies(site.site), record, tasks, orders(tasks, sides, office(site)))


def recorded(project: Project, site: Site) -> tuple[tuple[Hung, ...], tuple[Finding, ...]]:
    """The lines of a site's record; none if nobody has begun one."""
    source, findings = project.recorded(site.site)
    if source is None:
        return (), findings
    record, problems = parse(source.text, source.file)
    return record, (*findings, *problems)


def _versions(
    project: Project, files: tuple[Path, ...], past: Histories
) -> tuple[dict[str, str] | None, list[Finding]]:
    """Protocol → version of the release that was named, or nothing for its newest; None if all are meant."""
    if not files:
        return None, []
    wanted: dict[str, str] = {}
    findings: list[Finding] = []
    known = {(r.protocol, r.version) for h in past.found.values() for r in h.releases}
    sources = {path.stem: path for path in project.protocols()}
    for file in files:
        if file.suffix == ".json" and (file.parent.name, file.stem) in known:
            wanted[file.parent.name] = file.stem
        elif file.suffix != ".json" and file.stem in sources:
            wanted[file.stem] = ""
        else:
            hint = "give a protocol, or a release of this project: protocols/releases/NAME/VERSION.json"
            findings.append(
                error("project/no-release", "this is no release of this project", Where(str(file)), hint=hint)
            )
    return wanted, findings


# --- plan and audit ---------------------------------------------------------------------------------------------


def planned(project: Project, asking: Asking) -> tuple[str, Outcome]:
    """What is to be printed, taken down and put up, and by whom it is not confirmed."""
    round_ = walks(project, asking)
    if has_errors(round_.findings):
        return "", Outcome(round_.findings)
    if asking.form == "json":
        return _json([lists.plan_data(w.site.site, w.tasks, w.orders) for w in round_.walks]), Outcome(round_.findings)
    if asking.form == "csv":
        return lists.work_list(t for w in round_.walks for t in w.tasks), Outcome(round_.findings)
    text = "".join(f"{x}\n" for w in round_.walks for x in lists.plan_lines(w.site.site, w.tasks, w.orders))
    return text, Outcome(gather((*round_.findings, *(f for w in round_.walks for f in _lacking(w)))))


def _lacking(walk: Walk) -> Iterator[Finding]:
    for task in walk.tasks:
        if task.lack not in ("", UNRELEASED) and task.spot.listed:
            message = f"nothing can be put up at `{task.spot.posting}` ({task.spot.language}): {task.lack}"
            hint = "release it, or correct the posting in the site file"
            yield warning(
                "postings/nothing-to-hang", message, site=walk.site.site, protocol=task.spot.protocol, hint=hint
            )


def audited(project: Project, asking: Asking) -> tuple[str, Outcome]:
    """What hangs everywhere, and whether it holds. An error for each place where people may follow what does not."""
    round_ = walks(project, asking)
    if has_errors(round_.findings):
        return "", Outcome(round_.findings)
    names = {t.spot.protocol for w in round_.walks for t in w.tasks} if asking.files else None
    seen = [
        (
            w,
            tuple(
                f
                for f in found(w.site, w.record, round_.past.found, round_.today)
                if names is None or f.spot.protocol in names
            ),
        )
        for w in round_.walks
    ]
    findings = gather((*round_.findings, *(x for w, many in seen for f in many for x in _graded(w, f))))
    if asking.form == "json":
        return _json([lists.audit_data(w.site.site, many) for w, many in seen]), Outcome(findings)
    if asking.form == "csv":
        return lists.audit_list(f for _, many in seen for f in many), Outcome(findings)
    return "".join(f"{x}\n" for w, many in seen for x in lists.audit_lines(w.site.site, many)), Outcome(findings)


def _graded(walk: Walk, f: Found) -> Iterator[Finding]:
    if f.state in ("current", "nothing released"):
        return
    spot = f.spot
    say = error if f.state in MUST_GO else warning
    hangs = ", ".join(f"v{h.copy.version}" for h in f.hanging)
    message = f"{spot.location} (`{spot.posting}`, {spot.language}): {STATES[f.state]}{f': {hangs}' if hangs else ''}"
    hint = "take it down now" if f.state in MUST_GO else "look, and record it with `docgen postings done`"
    where = Where(str(walk.file)) if walk.record else Where()
    yield say(
        f"postings/{f.state.replace(' ', '-')}", message, where, site=walk.site.site, protocol=spot.protocol, hint=hint
    )


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


# --- the record -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Done:
    """What somebody says was done."""

    site: str
    told: Told
    marks: tuple[Mark, ...] = ()
    all: bool = False
    """Everything that is left to do."""
    file: Path | None = None
    """A work list that comes back."""
    files: tuple[Path, ...] = ()
    """Protocols or releases that it is about; empty: all."""


def done(project: Project, said: Done) -> Outcome:
    """Add lines to a site's record: all that can be taken, and a finding for everything else.

    The record is read and written by one process at a time, and is replaced as a whole or not at all.
    """
    path = project.copies(said.site)
    try:
        with amending(path):
            return _done(project, said, path)
    except OSError as problem:
        return Outcome((refused("record it", path, problem),))


def _done(project: Project, said: Done, path: Path) -> Outcome:
    round_ = walks(project, Asking(said.files, (said.site,)))
    findings = [*round_.findings]
    if has_errors(findings) or not round_.walks:
        return Outcome(gather(findings))
    (walk,) = round_.walks
    got = _marked(project, said, walk, round_)
    findings += got.findings
    lines = []
    if got.lines:
        source, _ = project.recorded(said.site)
        overwrite(path, added(source.text if source else "", got.lines).encode())
        lines = [_said(h) for h in got.lines]
        lines.append(f"{path}: {counted(len(got.lines), 'line')} added")
    else:
        lines.append("nothing was recorded")
    if got.blank:
        lines.append(f"{counted(got.blank, 'row')} of the list not marked")
    left = len([t for t in plan(walk.site, (*walk.record, *got.lines), round_.past.found, round_.today) if t.open])
    lines.append(f"{said.site}: {counted(left, 'place')} left to do" if left else f"{said.site}: nothing is left to do")
    return Outcome(gather(findings), tuple(lines))


def _said(h: Hung) -> str:
    how = f"{lists.copies(h.there)} up" if h.there else "taken down"
    return f"{h.posting}: {lists.named(h.copy)}: {how} ({h.by}, {h.on})"


def _marked(project: Project, said: Done, walk: Walk, round_: Round) -> Marked:
    more = (walk.tasks, walk.record, walk.site.site, round_.past.found)
    if said.file:
        source, problems = project.list(said.file)
        if source is None:
            return Marked((), problems)
        return from_list(source.text, source.file, said.told, *more)
    marks = said.marks
    if said.all:
        marks = tuple(Mark(t.spot.posting, t.spot.language) for t in walk.tasks if t.open)
    return marked(marks, said.told, *more)
