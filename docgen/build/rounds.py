"""Turn what there is to do at a site into its round sheet: a walk from place to place, with boxes to tick."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from docgen.build.bench import back, faces_of
from docgen.build.layouts import ROUND, layouts
from docgen.build.outcome import Outcome
from docgen.build.posting import Asking, Round, Walk, walks
from docgen.build.verifying import POSTINGS
from docgen.findings import Finding, Where, has_errors
from docgen.model.layout import House, Layout
from docgen.model.posting import Old, Task
from docgen.model.release import Release
from docgen.model.site import Site
from docgen.project import Project
from docgen.publish import overwrite, refused
from docgen.release.lists import copies, grouped
from docgen.release.orders import office
from docgen.release.postings import plan
from docgen.report import counted, gather


@dataclass(frozen=True, slots=True)
class Desk:
    """What sheets of a site are made with."""

    project: Project
    templates: Mapping[str, str]
    drawn: Mapping[str, Layout]
    house: House

    def pdf(
        self, artifact: str, title: str, record: Mapping[str, Any], sheet: str, pictures: Mapping[str, Any]
    ) -> tuple[bytes, int, tuple[Finding, ...]]:
        """A sheet as a file, and how many pages it has; nothing with an error."""
        from docgen.compose import compose_record
        from docgen.typeset import place_record

        composition, findings = compose_record(artifact, self.templates, record)
        if composition is None:
            return b"", 0, findings
        faces = faces_of(self.project)
        document, problems = place_record(
            composition, title, self.drawn[artifact], self.house, faces, pictures.get, sheet
        )
        findings = tuple(f.at(Where(f"templates/{artifact}/main.md.j2")) for f in (*findings, *problems))
        return (back().write(document, faces), len(document.sheets), findings) if document else (b"", 0, findings)


def desk(project: Project) -> tuple[Desk | None, tuple[Finding, ...]]:
    """The templates and layouts; None with the findings if they can't be used."""
    templates, overlaid = project.templates()
    drawn, house, laid_out = layouts(templates)
    findings = (*overlaid, *laid_out)
    usable = house is not None and not has_errors(findings)
    return (Desk(project, templates, drawn, house) if house and usable else None), findings


@dataclass(frozen=True, slots=True)
class Kind:
    """What a round is for."""

    title: str
    check: str
    """What to look at, and how to record it; `{site}` stands for the site."""
    name: str


WORK = Kind(
    "Round sheet",
    "Scan the code on each sheet you have put up: it must say what the code here says. "
    "Then record the round: docgen postings done --site {site}",
    "round",
)
AUDIT = Kind(
    "Audit round",
    "Scan the code on each sheet: it must say what the code here says. "
    "Then record what you found otherwise: docgen postings done --site {site} --version … --copies …",
    "audit",
)


def round_sheets(project: Project, asking: Asking, out: Path, kind: Kind = WORK) -> Outcome:
    """Write a round sheet for each site where anything is left to do; for an audit, with every place."""
    round_ = walks(project, asking)
    made, problems = desk(project)
    findings = [*round_.findings, *problems]
    lines = []
    if made is None or has_errors(findings):
        return Outcome(gather(findings))
    for walk in round_.walks:
        name = walk.site.site
        if kind is AUDIT:
            walk = replace(walk, tasks=_in_force(walk, round_))
        if not any(t.open for t in walk.tasks):
            lines.append(f"{name}: nothing is left to do, so there is no round")
            continue
        held = {r.protocol: r for h in round_.past.found.values() for r in h.releases}
        data, pages, said = sheet(made, walk, round_.today, held, kind)
        findings += said
        file = out / POSTINGS / name / round_.today.isoformat() / f"{name}-{kind.name}.pdf"
        if not data:
            continue
        try:
            overwrite(file, data)
        except OSError as problem:
            findings.append(refused("write the round sheet", file, problem))
        else:
            stops = counted(sum(t.open for t in walk.tasks), "place")
            lines.append(f"{file}: {stops}, {counted(pages, 'page')}")
    return Outcome(gather(findings), tuple(lines))


def sheet(
    made: Desk, walk: Walk, today: datetime.date, releases: Mapping[str, Release], kind: Kind
) -> tuple[bytes, int, tuple[Finding, ...]]:
    """The round sheet of one site, and its number of pages."""
    from docgen.typeset.look import Picture, colour
    from docgen.typeset.signs import SIDE, square_code

    todo = [t for t in walk.tasks if t.open]
    inks = [colour(made.house.colours[name]) for name in ("ink", "paper")]
    pictures = {
        t.target.code: Picture(square_code(t.target.code, inks[0], inks[1], "m"), SIDE, SIDE, f"Code: {t.target.code}")
        for t in todo
        if t.target and t.target.code and t.missing
    }
    return made.pdf(ROUND, f"{kind.title}: {place_of(walk.site)}", content(walk, todo, today, releases, kind),
                    office(walk.site), pictures)  # fmt: skip


def _in_force(walk: Walk, round_: Round) -> tuple[Task, ...]:
    """What must hang at every place today, whatever was recorded."""
    found = round_.past.found
    wanted = {t.spot.protocol for t in walk.tasks}
    versions = {p: r.version for p, h in found.items() if p in wanted and (r := h.current(round_.today))}
    tasks = plan(walk.site, (), found, round_.today, versions)
    return tuple(replace(t, down=()) for t in tasks if t.target)


def place_of(site: Site) -> str:
    """`Day Ward, Gull Point Clinic`."""
    return ", ".join(w.source for w in (site.unit, site.name) if w)


def content(
    walk: Walk, todo: list[Task], today: datetime.date, releases: Mapping[str, Release], kind: Kind
) -> dict[str, Any]:
    """What the templates of the round sheet see."""
    targets = {t.target.copy.protocol: t.target for t in todo if t.target}
    many = {t.spot.posting for t in todo if sum(o.spot.posting == t.spot.posting for o in todo) > 1}
    holds = [f"{_called(releases[p], len(targets))} v{t.copy.version} from {t.effective}" for p, t in targets.items()
             if p in releases]  # fmt: skip
    codes = {p: f"{r.code} " for p, r in releases.items()} if len({t.spot.protocol for t in todo}) > 1 else {}
    return {
        "title": kind.title,
        "place": place_of(walk.site),
        "holds": "; ".join(holds),
        "stops": tuple(_stop(t, t.spot.posting in many, codes, kind) for t in todo),
        "check": kind.check.format(site=walk.site.site),
        "site": walk.site.site,
        "day": today.isoformat(),
        "invented": walk.site.invented,
    }


def _called(release: Release, many: int) -> str:
    return release.title if many < 3 else release.code


def _stop(task: Task, languages: bool, codes: Mapping[str, str], kind: Kind) -> dict[str, Any]:
    spot, t = task.spot, task.target
    lines = [*(_down(old, n, codes) for n, old in enumerate(task.down, 1)), *_up(task, codes, kind)]
    return {
        "id": "-".join((spot.posting, spot.language)),
        "number": str(spot.walk) if spot.listed else "–",
        "location": f"{spot.location} · {spot.language}" if languages else spot.location,
        "picture": t.code if t and task.missing else "",
        "lines": tuple(lines),
    }


def _down(old: Old, n: int, codes: Mapping[str, str]) -> dict[str, str]:
    c = old.copy
    number = copies(old.copies) if old.recorded else "any copy"
    older = "" if old.recorded else " or older"
    return {
        "name": f"down-{n}",
        "label": f"Taken down: v{c.version}",
        "what": "Take down",
        "words": f"{codes.get(c.protocol, '')}v{c.version}{older} · {grouped(c.fingerprint)} · {c.artifact} "
        f"{c.sheet}, {c.language} · {number}",
    }


def _up(task: Task, codes: Mapping[str, str], kind: Kind) -> Iterator[dict[str, str]]:
    if task.target and task.missing:
        c = task.target.copy
        finish = " · laminated" if task.spot.laminated else ""
        yield {
            "name": "up",
            "label": f"{'Found' if kind is AUDIT else 'Put up'}: v{c.version}",
            "what": "Hangs" if kind is AUDIT else "Put up",
            "words": f"{codes.get(c.protocol, '')}v{c.version} · {grouped(c.fingerprint)} · {c.artifact} "
            f"{c.sheet}, {c.language} · {copies(task.missing)}{finish}",
        }
        if kind is AUDIT:
            words = "hangs or lies there"
            yield {"name": "alone", "label": "Nothing else is there", "what": "Nothing older", "words": words}
