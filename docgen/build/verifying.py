"""Turn finished files into a verdict, from the sources alone.

Which edition a file claims to be is taken from its name, from the manifest beside it or from the square code on it, in
this order; what it must say is then computed anew from the sources. No claim of the file is believed.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from docgen.build.bench import NOTICE, Back, Bench, back, composed
from docgen.build.expected import expected, sheet_name
from docgen.build.layouts import layouts
from docgen.build.messages import to_translate
from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.pool import spread
from docgen.build.released import Histories, histories, since
from docgen.build.shelf import SOURCE_LANGUAGE, Asked, Front, bind, front, shelve
from docgen.build.tongues import BESIDE, Tongue, spoken, tongues_of
from docgen.findings import Finding, Severity, Where, error, has_errors
from docgen.model.catalogue import TEMPLATES
from docgen.model.change import Change
from docgen.model.edition import ARTIFACTS, READER, SCREENS, Edition
from docgen.model.moment import Analysis
from docgen.model.stamp import Code, read_code
from docgen.model.wordlist import WordList
from docgen.project import Project
from docgen.publish import MANIFEST, missing, name_of, read_manifest
from docgen.report import counted, gather

POSTINGS = "postings"
"""Below `out`: what is made for a walk from posting to posting, by site and day."""


@dataclass(frozen=True, slots=True)
class Claim:
    """What a file says it is."""

    edition: Edition
    analysis: Analysis
    artifact: str
    sheet: str = ""
    """Name of its sheet; empty if it does not say."""


def verify(
    project: Project,
    paths: Sequence[Path],
    processes: int = 1,
    progress: Progress = unwatched,
    rooms: Front | None = None,
    back: Back | None = None,
    browser: bool = False,
) -> Outcome:
    """Examine every finished file, and every file below every folder, given. `browser`: walk through readers, too."""
    rooms = rooms or front()
    shelf = shelve(project, Asked(), rooms)
    templates, overlaid = project.templates()
    drawn, house, laid_out = layouts(templates)
    findings = [f for f in (*shelf.findings, *overlaid, *laid_out) if f.severity is Severity.ERROR]
    if house is None or has_errors(laid_out):
        return Outcome(gather(findings))
    files: list[Path] = []
    for path in paths:
        found, problems = project.sheets(path)
        files += found
        findings += (*problems, *missing(path))
    files, records, wrong = _no_editions(project, paths, files)
    findings += wrong
    words = to_translate(shelf, templates, rooms)
    bounds = tuple(bind(shelf, rooms, alone=False))
    claims: list[Claim] = []
    tongues: dict[str, Tongue] = {}
    for language in _languages(project, files):
        tongues |= tongues_of(project, bounds, (language,), words, rooms, compare=False)
        for b in spoken(bounds, (language,), tongues, words, draft=True):
            if b.edition and b.analysis:
                claims.append(Claim(b.edition, b.analysis, ""))
    own = {tag: tongue.get(TEMPLATES) for tag, tongue in tongues.items()}
    desk = _Desk(
        Bench(project, templates, drawn, house, own, back), tuple(claims), histories(project), shelf.words, browser
    )
    verdicts = spread(_examine, files, desk, processes, progress, _died)
    agree = sum(not has_errors(said) for said in verdicts) + records - len(wrong)
    findings += (f for said in verdicts for f in said)
    return Outcome(gather(findings), (f"{agree} of {counted(len(files) + records, 'file')} agree with their source",))


def _no_editions(
    project: Project, paths: Sequence[Path], files: Iterable[Path]
) -> tuple[list[Path], int, list[Finding]]:
    """Without what a folder holds besides editions: packs and round sheets, which `docgen pack` makes of released files
    and anew for each walk, and approval records, which are compared with the digest that their release keeps. How many
    of these there are, and a finding for each that is not the one released."""
    kept = {r.record.file: r.record for h in histories(project).found.values() for r in h.releases}
    rest: list[Path] = []
    findings: list[Finding] = []
    records = 0
    for file in files:
        below = next((file.relative_to(p).parts for p in paths if file != p and file.is_relative_to(p)), ())
        if file.name in kept:
            records += 1
            data, problems = project.sheet(file)
            findings += problems
            if data is not None and sha256(data).hexdigest() != kept[file.name].sha256:
                message = "this is not the approval record that was released: its SHA-256 is another"
                hint = "bring the released file back, and find out who changed it"
                findings.append(error("build/changed-since-made", message, Where(str(file)), hint=hint))
        elif below[:1] != (POSTINGS,):
            rest.append(file)
    return rest, records, findings


def _languages(project: Project, files: Iterable[Path]) -> tuple[str, ...]:
    """Every language a file may be in: those with a catalogue; the pseudo-language and pairs where a file says so."""
    from docgen.language import PSEUDO

    names = " ".join(str(f).lower() for f in files)
    known = [SOURCE_LANGUAGE, *(tag for tag, _ in project.catalogues())]
    known += [PSEUDO] if PSEUDO in names else []
    pairs = [f"{a}{BESIDE}{b}" for a in known for b in known] if BESIDE in names else []
    return tuple(dict.fromkeys((*known, *(pair for pair in pairs if pair.lower() in names))))


class _Desk(NamedTuple):
    """What every examination has at hand."""

    bench: Bench
    claims: tuple[Claim, ...]
    """One for each edition of the sources, without an artifact."""
    past: Histories = Histories()
    wordlist: WordList | None = None
    browser: bool = False

    def change(self, edition: Edition) -> Change | None:
        """What a notice says differs from the release before."""
        same = (
            c.edition for c in self.claims if (c.edition.protocol, c.edition.site) == (edition.protocol, edition.site)
        )
        source = next((e for e in same if e.languages == SOURCE_LANGUAGE), None)
        return since(self.past, edition, source, self.wordlist) if source else None


def _died(file: Path) -> tuple[Finding, ...]:
    message = "a process was ended from outside before this was examined"
    return (error("build/worker-died", message, Where(str(file)), hint="the memory may not suffice: try `--jobs 1`"),)


def _examine(file: Path, desk: _Desk) -> tuple[Finding, ...]:
    bench, rooms = desk.bench, desk.bench.rooms or back()
    data, findings = bench.project.sheet(file)
    if data is None:
        return findings
    claim = _by_name(file.name, desk.claims, bench) or _by_manifest(file, desk.claims)
    codes: tuple[Code, ...] = ()
    if claim is None and is_page(file):
        claim = _by_facts(data, desk.claims)
    elif claim is None:
        codes = tuple(_codes(data, rooms))
        claim = next((c for code in codes if (c := _by_code(code, desk.claims))), None)
    if claim is None:
        return (*findings, _stranger(file, codes, desk.claims))
    edition, artifact = claim.edition, claim.artifact
    listed = _listed(file)
    if listed and listed != sha256(data).hexdigest():
        message = "this is not the file that was made: its SHA-256 is not the manifest's"
        hint = "make it anew, and find out who changed it"
        findings += (error("build/changed-since-made", message, Where(str(file)), hint=hint),)
    if artifact in SCREENS:
        from docgen.build.paging import examined

        spoken = (edition, claim.analysis)
        others = [(replace(c.edition, draft=edition.draft), c.analysis) for c in desk.claims if _same_text(c, claim)]
        return (*findings, *examined(file, data, artifact, spoken, others, bench, desk.browser))
    layout = bench.layouts[artifact]
    change = desk.change(edition) if artifact == NOTICE else None
    composition, problems = composed(edition, claim.analysis, artifact, bench, change)
    findings += problems
    if composition is None:
        return findings
    wanted = expected(edition, artifact, layout, claim.sheet, composition, bench.words.get(edition.language))
    if change:
        wanted["before"] = change.before
    findings += _summed_up(rooms.examine(data, edition, artifact, str(file), **wanted), edition, file)
    site, language, protocol = edition.site, edition.language, edition.protocol
    return tuple(
        replace(f, artifact=f.artifact or artifact, site=site, language=language, protocol=protocol) for f in findings
    )


def _summed_up(findings: tuple[Finding, ...], edition: Edition, file: Path) -> tuple[Finding, ...]:
    """A file of another text differs in everything: one finding says so, where hundreds would hide it."""
    foreign = next((f for f in findings if f.rule == "readback/stamp-foreign" and "fingerprint" in f.message), None)
    if foreign is None:
        return findings
    message = f"this file was made from another text of `{edition.protocol}` than the source has now: {foreign.message}"
    hint = f"make it anew: `docgen make protocols/{edition.protocol}.yaml --site {edition.site}`; take down its copies"
    return (error("build/another-text", message, Where(str(file)), hint=hint),)


def is_page(file: Path) -> bool:
    """Whether a file is for screens, by its name."""
    return file.suffix.lower() == ".html"


def _codes(data: bytes, rooms: Back) -> Iterator[Code]:
    from docgen.readback import Unreadable

    with contextlib.suppress(Unreadable):  # then it is said to be nothing of ours, which is true
        for page in rooms.read(data).pages:
            yield from filter(None, (read_code(square.text) for square in page.squares))


# --- which edition ----------------------------------------------------------------------------------------------


def _by_name(name: str, claims: Iterable[Claim], bench: Bench) -> Claim | None:
    for claim in claims:
        for draft in (False, True):
            edition = replace(claim.edition, draft=draft)
            if name.lower() == name_of(edition, READER, suffix="html"):
                return Claim(edition, claim.analysis, READER)
            for artifact in ARTIFACTS:
                stem = name_of(edition, artifact).removesuffix(".pdf")
                if name.lower().startswith((f"{stem}.", f"{stem}-")):
                    written = name.lower().removeprefix(stem).removeprefix("-").removesuffix(".pdf")
                    return Claim(edition, claim.analysis, artifact, sheet_name(bench.layouts[artifact], written))
    return None


def _by_manifest(file: Path, claims: Iterable[Claim]) -> Claim | None:
    manifest = read_manifest(file.with_name(MANIFEST))
    entry = next((m for m in manifest.files if m.file == file.name), None) if manifest else None
    if manifest is None or entry is None or entry.artifact not in (*ARTIFACTS, *SCREENS):
        return None
    stamp = dict(manifest.stamp)
    for claim in claims:
        e = claim.edition
        if (e.protocol, e.site, e.language) == (stamp["protocol"], stamp["site"], stamp["language"]):
            return Claim(replace(e, draft=stamp["draft"] == "yes"), claim.analysis, entry.artifact, entry.sheet)
    return None


def _by_code(code: Code, claims: Iterable[Claim]) -> Claim | None:
    for claim in claims:
        e = claim.edition
        if (e.code, e.site, e.languages.lower()) == (code.code, code.site, code.language):
            return replace(claim, edition=replace(e, draft=code.draft), artifact=code.artifact)
    return None


def _by_facts(data: bytes, claims: Iterable[Claim]) -> Claim | None:
    """By what a page says of itself, in the first language that there is an edition of."""
    from docgen.readback import page_facts

    for artifact, facts in page_facts(data):
        for claim in claims:
            e = claim.edition
            if (e.code, e.site, e.languages) == (facts.get("code"), facts.get("site"), facts.get("language")):
                return replace(claim, artifact=artifact)
    return None


def _same_text(one: Claim, other: Claim) -> bool:
    """Whether two claims are of one edition in two languages."""
    a, b = one.edition, other.edition
    return (a.protocol, a.site) == (b.protocol, b.site) and a.languages != b.languages and not a.beside


def _stranger(file: Path, codes: Sequence[Code], claims: Iterable[Claim]) -> Finding:
    known = sorted({claim.edition.code for claim in claims})
    said = f"; its code says `{codes[0]}`" if codes else ""
    return error(
        "build/no-such-edition",
        f"no edition of the present sources is this file{said}",
        Where(str(file)),
        hint=f"the sources have {', '.join(f'`{c}`' for c in known)}: if this is an old copy, take it down"
        if known
        else "give the folder of the sources with `--protocols`",
    )


# --- the manifest -----------------------------------------------------------------------------------------------


def _listed(file: Path) -> str:
    """The digest a file should have by the manifest beside it; empty if there is none."""
    manifest = read_manifest(file.with_name(MANIFEST))
    return next((m.sha256 for m in manifest.files if m.file == file.name), "") if manifest else ""
