"""Turn everything known of a version into its approval record: what a committee reads before it signs, and keeps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from docgen.build.bench import Bench, back, composed, faces_of
from docgen.build.layouts import APPROVAL
from docgen.build.prepare import Prepared, Ready
from docgen.build.shelf import SOURCE_LANGUAGE, Bound
from docgen.findings import Finding, Severity, Where
from docgen.model.change import Change
from docgen.model.edition import ARTIFACTS, Edition
from docgen.model.release import ReleasedEdition, ReleasedTranslation, Replaced, Signature, Withheld
from docgen.model.sheet import Document
from docgen.release import lines
from docgen.report import counted

SIGNATORIES = ("Prepared by", "Reviewed by", "Approved by")
SHOWN = 12
"""Characters of a SHA-256 that the record prints; the release file has all of them."""
DEGREES = {"first": "first version", "wording": "wording only", "doing": "what people do", "sequence": "the sequence"}


@dataclass(frozen=True, slots=True)
class Case:
    """What is known of a version that is to be released."""

    alone: Bound
    """The protocol without a site."""
    here: tuple[Ready, ...]
    """Its editions at all sites in all languages that are released."""
    editions: tuple[ReleasedEdition, ...]
    changes: tuple[Change, ...]
    """By site, in the source language; none for a first version."""
    degree: str
    translations: tuple[ReleasedTranslation, ...]
    withheld: tuple[Withheld, ...]
    replaces: Replaced | None
    signature: Signature | None
    """None as long as it is only proposed."""

    @property
    def edition(self) -> Edition:
        """The protocol with its options open."""
        assert self.alone.edition
        return self.alone.edition

    def sources(self) -> Iterator[Ready]:
        """Its editions in the source language."""
        return (r for r in self.here if r.edition.languages == SOURCE_LANGUAGE)


def record(case: Case, prepared: Prepared) -> tuple[Document | None, str, tuple[Finding, ...]]:
    """The approval record, placed, and the name of its sheet."""
    assert prepared.bench and case.alone.analysis
    rooms, bench = prepared.bench.rooms or back(), prepared.bench
    pictures = dict(_miniatures(case, bench))
    edition, layout = case.edition, bench.layouts[APPROVAL]
    sheet = "Letter" if any(r.edition.sheet("script").sheet == "Letter" for r in case.here) else layout.sheet
    content = _content(case, prepared, pictures)
    composition, findings = composed(edition, case.alone.analysis, APPROVAL, bench, record=content)
    if composition is None:
        return None, sheet, findings
    document, problems = rooms.place(
        composition, edition, layout, bench.house, faces_of(bench.project), pictures.get, sheet=sheet
    )
    said = tuple(f.at(Where(f"templates/{APPROVAL}/main.md.j2")) for f in (*findings, *problems))
    return document and replace(document, title=f"{edition.title.plain}: approval record"), sheet, said


def _miniatures(case: Case, bench: Bench) -> Iterator[tuple[str, Any]]:
    """Name of each artifact at each site → its first sheet, small."""
    from docgen.build.figures import pictures
    from docgen.typeset.miniature import miniature

    rooms = bench.rooms or back()
    for ready in case.sources():
        for artifact in ARTIFACTS:
            composition, _ = composed(ready.edition, ready.analysis, artifact, bench, ready.change)
            layout, choice = bench.layouts[artifact], ready.edition.sheet(artifact)
            if composition is None:
                continue
            document, _ = rooms.place(
                composition, ready.edition, layout, bench.house, faces_of(bench.project),
                pictures(ready.edition, ready.analysis), sheet=choice.sheet or layout.sheet,
                distance=choice.distance or None,
            )  # fmt: skip
            if document:
                name = f"{artifact}, {ready.edition.site}"
                yield name, miniature(document, f"first sheet of the {name}")


def _content(case: Case, prepared: Prepared, pictures: Mapping[str, Any]) -> dict[str, Any]:
    e, signature = case.edition, case.signature
    history = prepared.histories.of(e.protocol)
    sites = [r.edition for r in case.sources()]
    before = case.replaces.version if case.replaces else ""
    languages = ", ".join(dict.fromkeys(r.edition.languages for r in case.here))
    replaced = f"v{before}, to be taken down and destroyed" if before else "nothing; this is the first version"
    approved = f"{e.approval.on} by {e.approval.by}, {e.approval.role}" if e.approval else "not yet"
    return {
        "state": f"released {signature.on}" if signature else "proposed",
        "identity": (
            ("Document", e.code), ("Title", e.title.plain), ("Version", f"v{e.version}"), ("Replaces", replaced),
            ("In force from", str(e.effective)), ("Review by", str(e.review)), ("Owner", e.owner.plain),
            ("Approved", approved), ("Audience", e.audience.plain),
            ("Languages and media", f"{languages}; printed sheets, files for screens"),
            ("Class of the change", DEGREES[case.degree]), ("Practise before use", _practise(case.changes)),
        ),
        "scope": tuple(_scope(s) for s in sites),
        "basis": tuple(_basis(e)),
        "history": tuple(_row(r.version, r.effective, r.released, r.degree) for r in history.releases)
        + ((_row(e.version, e.effective, signature, case.degree),) if signature else ()),
        "changes": tuple(line.strip() for line in summary(case.changes)),
        "analysis": tuple(_analysis(case)),
        "findings": tuple(_findings(case)),
        "waivers": tuple(waiver for s in sites for waiver in _waivers(s)),
        "readability": tuple(_readability(sites[0], prepared)) if sites else (),
        "languages": tuple(_languages(case)),
        "artifacts": tuple(
            (f.file, f.sheet or "screen", str(f.pages or "–"), f.sha256[:SHOWN])
            for kept in case.editions for spoken in kept.languages for f in spoken.files if f.artifact != "index"
        ),
        "pictures": tuple({"picture": name, "caption": name} for name in pictures),
        "keeping": _keeping(e, before),
        "signed": (f"Released on {signature.on} by {signature.by}, {signature.role}. {signature.reason}",)
        if signature
        else (),
        "signatories": SIGNATORIES,
    }  # fmt: skip


def _practise(changes: Iterable[Change]) -> str:
    sites = [c.after.site for c in changes if c.retraining]
    return f"yes, at {', '.join(sites)}" if sites else "no"


def _scope(e: Edition) -> str:
    place = ", ".join(t.plain for t in (e.unit, e.site_name) if t)
    options = "; ".join(t.plain for t in e.option_texts[1::2])
    return (
        f"{e.site}: {place}{f' ({options})' if options else ''}. Fingerprint {e.fingerprint[:5]}-{e.fingerprint[5:]}."
    )


def _basis(e: Edition) -> Iterator[str]:
    for b in e.basis:
        source = ", ".join(p for p in (b.source, b.part) if p)
        yield f"{source}. {b.note}" if b.note else source


def _row(version: str, effective: Any, signed: Signature, degree: str) -> tuple[str, ...]:
    by = f"{signed.by}, {signed.role}"
    return (f"v{version}", str(effective), str(signed.on), by, DEGREES.get(degree, degree), signed.reason)


def summary(changes: Iterable[Change]) -> Iterator[str]:
    """What differs from the release before; what is the same at several sites is said once."""
    said: dict[tuple[str, ...], list[str]] = {}
    for change in changes:
        said.setdefault(tuple(lines(change)), []).append(change.after.site)
    for account, sites in said.items():
        if len(said) > 1:
            yield f"at {', '.join(sites)}:"
        yield from account


def _analysis(case: Case) -> Iterator[str]:
    assert case.alone.analysis
    counts, e = case.alone.analysis.counts, case.edition
    yield f"{counted(len(e.steps), 'step')} with all options open; ways off the main path: {len(e.branches)}"
    if counts.states:
        points, states = counted(counts.branch_points, "branch point"), counted(counts.states, "state")
        bounded = f" ({counts.bounded})" if counts.bounded else ""
        yield f"explored: {counted(counts.combinations, 'combination')} of options, {points}, {states}{bounded}"
    for ready in case.sources():
        stated = f"; the protocol states {counted(e.minutes, 'minute')}" if e.minutes else ""
        minutes = max(1, round(ready.analysis.seconds / 60))
        yield f"{ready.edition.site}: about {counted(minutes, 'minute')}{stated}"
    found = Counter(f.severity for f in _all_findings(case))
    errors, warnings = counted(found[Severity.ERROR], "error"), counted(found[Severity.WARNING], "warning")
    yield f"{errors}, {warnings}, advice: {found[Severity.ADVICE]}"


def _all_findings(case: Case) -> tuple[Finding, ...]:
    return tuple(dict.fromkeys((*case.alone.findings, *(f for r in case.sources() for f in r.findings))))


def _findings(case: Case) -> Iterator[tuple[str, ...]]:
    found: dict[tuple[str, str], list[Finding]] = {}
    for f in _all_findings(case):
        found.setdefault((f.rule, str(f.severity)), []).append(f)
    for (rule, severity), many in sorted(found.items(), key=lambda x: (x[0][1] == "advice", x[0])):
        yield rule, severity, str(len(many)), many[0].message.replace("`", "")


def _waivers(e: Edition) -> Iterator[tuple[str, ...]]:
    for w in e.waivers:
        yield e.site, w.rule, ", ".join(w.steps) or "all", w.reason, f"{w.by}, {w.on}", str(w.review)


def _readability(e: Edition, prepared: Prepared) -> Iterator[tuple[str, ...]]:
    from docgen.analysis.wording.ease import scores
    from docgen.analysis.wording.passages import read

    if prepared.shelf.words is None:
        return
    for artifact, measured in scores(read(e, prepared.shelf.words)):
        for score in measured:
            yield artifact, score.name, f"{score.value:.1f}", score.aim


def _languages(case: Case) -> Iterator[tuple[str, ...]]:
    for tag in dict.fromkeys(r.edition.languages for r in case.here):
        sites = ", ".join(r.edition.site for r in case.here if r.edition.languages == tag)
        found = [t for t in case.translations if t.language in tag.split("+")]
        translators = "; ".join(f"{t.translator.by}, {t.translator.on}" for t in found)
        revisers = "; ".join(f"{t.reviser.by}, {t.reviser.on}" for t in found)
        yield tag, "released" if found else "released, as written", translators or "–", revisers or "–", sites
    for held in case.withheld:
        yield held.language, f"not released: {held.why}", "–", "–", held.site


def _keeping(e: Edition, before: str) -> tuple[str, ...]:
    gone = f"Copies of v{before} and older are taken down and destroyed from {e.effective} on." if before else ""
    lines = (
        "Sheets are printed from the released files only, and hang where the site file lists them.",
        gone,
        f"The release file protocols/releases/{e.protocol}/{e.version}.json is kept with its history, so that any copy "
        "can be recognised later: it holds every text, the digest of every file, and what they were made from.",
        "A copy whose stamp or code is not that of the version in force is not to be used.",
    )
    return tuple(filter(None, lines))
