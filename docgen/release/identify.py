"""Turn what was seen on a found copy into what it is, by looking it up in all releases, and what it is worth today.

Nothing that a copy says of itself is believed: a code or a stamp identifies a copy only if a release lists it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from docgen.model.release import Release, ReleasedEdition, ReleasedLanguage
from docgen.model.sighting import Copy, Printed, Seen, Sighting
from docgen.model.stamp import LETTER_OF, Code, looks_like_ours, read_code
from docgen.release.register import History

ALIKE = str.maketrans("OQDILSBZGUV", "00011582600")
"""Signs that a reader of pictures takes for one another, each as one of them."""
RECORD = "approval record"
SHOWN = 60
"""Characters shown of what a stranger's code says."""


@dataclass(frozen=True, slots=True)
class Known:
    """A released sheet."""

    history: History
    release: Release
    kept: ReleasedEdition
    language: ReleasedLanguage | None = None
    code: Code | None = None

    @property
    def edition(self) -> tuple[str, str, str, str]:
        """What tells one released text from all others."""
        language = self.language.language if self.language else ""
        return (self.release.protocol, self.release.version, self.kept.site, language)


Changed = Callable[[Known, str], tuple[str, ...]]
"""A released sheet and the version that holds now → what differs there, as people call it."""


@dataclass(frozen=True, slots=True)
class Register:
    """All releases, to be looked up in."""

    histories: tuple[History, ...]
    today: datetime.date
    changed: Changed = lambda _known, _by: ()
    codes: Mapping[str, Known] = field(default_factory=dict)
    fingerprints: Mapping[str, tuple[Known, ...]] = field(default_factory=dict)
    digests: Mapping[str, tuple[Known, str]] = field(default_factory=dict)
    """SHA-256 of every released file → its edition and its artifact."""

    def named(self, code: str) -> History | None:
        """The history of the document with that code."""
        return next((h for h in self.histories if any(r.code == code for r in h.releases)), None)


def register(histories: Iterable[History], today: datetime.date, changed: Changed | None = None) -> Register:
    """All releases, ready to be looked up in."""
    codes: dict[str, Known] = {}
    prints: dict[str, tuple[Known, ...]] = {}
    digests: dict[str, tuple[Known, str]] = {}
    every = tuple(histories)
    for history in every:
        for release in history.releases:
            for kept in release.editions:
                known = Known(history, release, kept)
                prints[kept.fingerprint] = (*prints.get(kept.fingerprint, ()), known)
                for language in kept.languages:
                    here = replace(known, language=language)
                    codes |= {text: replace(here, code=read_code(text)) for text in language.codes}
                    digests |= {f.sha256: (here, f.artifact) for f in language.files}
            if release.editions:
                digests[release.record.sha256] = (Known(history, release, release.editions[0]), RECORD)
    return Register(every, today, changed or (lambda _known, _by: ()), codes, prints, digests)


def by_digest(digest: str, found: Register) -> Copy | None:
    """The released file itself, byte for byte."""
    if digest not in found.digests:
        return None
    known, artifact = found.digests[digest]
    copy = _standing(known, found, Copy("unknown", ()))
    if artifact == RECORD:
        copy = replace(copy, language="", site="")
    return replace(copy, artifact=artifact, read_from=("digest",), compared="bytes")


def identify(seen: Seen, found: Register) -> tuple[Copy, ...]:
    """Every copy that was seen, sheets of one file put together; strangers' codes only where nothing else was seen."""
    strict = seen.kind == "pdf"
    singles = [(s, _single(s, found, strict)) for s in seen.sightings]
    ours = [c for s, c in singles if c is not None and not _another_on_the_wall(s, c, singles)]
    copies = _together(ours) if strict or seen.pages > 1 else tuple(ours)
    if copies:
        covered = {page for c in copies for page in c.pages}
        return copies if len(covered) >= seen.pages or not strict else _uncovered(copies, covered, seen)
    strangers = tuple(dict.fromkeys(s.square for s in seen.sightings if s.square))
    why = tuple(f"its square code is none of ours: it says `{text[:SHOWN]}`" for text in strangers)
    why = why or ("neither a square code nor a printed stamp of ours can be read on it",)
    return (Copy("unknown", tuple(range(1, seen.pages + 1)), why=why),)


def _another_on_the_wall(s: Sighting, c: Copy, singles: Iterable[tuple[Sighting, Copy | None]]) -> bool:
    """Whether a stranger's code only stands near a sheet whose own code was read."""
    return c.read_from == ("stamp",) and bool(s.square) and any(
        o and o is not c and "code" in o.read_from and (o.code, o.version, o.site) == (c.code, c.version, c.site)
        for _, o in singles
    )  # fmt: skip


def _uncovered(copies: tuple[Copy, ...], covered: set[int], seen: Seen) -> tuple[Copy, ...]:
    """A page without code and stamp among others is no sheet of ours; the back of a press sheet is blank."""
    bare = tuple(n for n in range(1, seen.pages + 1) if n not in covered)
    note = f"on page {', '.join(map(str, bare))} there is neither a code nor a stamp"
    return (replace(copies[0], notes=(*copies[0].notes, note)), *copies[1:])


def _together(copies: Iterable[Copy]) -> tuple[Copy, ...]:
    """Sheets of one thing that follow each other are one copy."""
    out: list[Copy] = []
    for c in copies:
        last = out[-1] if out else None
        if last and _kind(last) == _kind(c) and (set(c.sheets) - set(last.sheets) or c.pages[0] in last.pages):
            why, notes = tuple(dict.fromkeys((*last.why, *c.why))), tuple(dict.fromkeys((*last.notes, *c.notes)))
            pages, sheets = (tuple(sorted({*a, *b})) for a, b in ((last.pages, c.pages), (last.sheets, c.sheets)))
            both = tuple(w for w in last.read_from if w in c.read_from) or last.read_from
            out[-1] = replace(last, pages=pages, sheets=sheets, why=why, notes=notes, read_from=both)
        else:
            out.append(c)
    return tuple(out)


def _kind(c: Copy) -> tuple:
    return (c.state, c.code, c.version, c.site, c.language, c.artifact, c.of)


# --- one sheet --------------------------------------------------------------------------------------------------


def _single(s: Sighting, found: Register, strict: bool) -> Copy | None:
    """What one sighting is; None for a stranger's code, which says nothing of a sheet of ours."""
    bare = Copy("unknown", (s.page,), box=s.box)
    if s.unread:
        return replace(bare, why=("there is a square code here that can't be read: take a picture from nearer",))
    printed = _by_stamp(s.printed, found, strict) if s.printed else ()
    if s.square:
        copy = _by_code(s, printed, found, strict, bare)
        if copy is None and printed and s.printed:  # a code that is none of ours beside a stamp that is
            why = f"its stamp is ours, and the square code beside it is not: it says `{s.square[:SHOWN]}`"
            return _altered(_stamped(s.printed, printed, found, bare), [why])
        return copy
    return _stamped(s.printed, printed, found, bare) if s.printed else None


def _by_code(s: Sighting, printed: tuple[Known, ...], found: Register, strict: bool, bare: Copy) -> Copy | None:
    text = s.square.strip()
    address, mark, said = text.rpartition("#")
    known = found.codes.get(said.upper())
    if known is None:
        return _unlisted(text, printed, found, bare)
    copy = replace(_standing(known, found, bare), read_from=("code",))
    wrong = []
    if mark and address != known.kept.settings.address:
        wrong.append(f"its square code leads to `{address[:SHOWN]}`, which is not the address of the site")
    if any(p.kept.fingerprint == known.kept.fingerprint for p in printed):
        copy = replace(copy, read_from=("code", "stamp"))
    elif other := _contradiction(known, s.printed, printed, strict):
        wrong.append(f"its square code says {_name(known)}, and the stamp printed beside it {other}")
    return _altered(copy, wrong)


def _contradiction(known: Known, said: Printed | None, printed: tuple[Known, ...], strict: bool) -> str:
    """What a stamp says that is not what the code says; empty if it says nothing for certain."""
    if said is None:
        return ""
    if printed:
        return _name(printed[0])
    release = known.release
    if strict and said.fingerprint and said.code == release.code:
        return f"`{said.fingerprint}`, which is no text released as {release.code} v{release.version}"
    if strict and said.version and said.code == release.code and said.version != release.version:
        return f"v{said.version}"
    other = known.history.get(said.version) if said.version != release.version else None
    own = {release.effective.isoformat(), release.review.isoformat()}
    theirs = {other.effective.isoformat(), other.review.isoformat()} - own if other else set()
    return f"{said.code} v{said.version}" if theirs & {*said.days} and said.code == release.code else ""


def _unlisted(text: str, printed: tuple[Known, ...], found: Register, bare: Copy) -> Copy | None:
    """A code that no release lists: a stranger's, a damaged or invented one, or one of something never released."""
    code = read_code(text)
    if code is None:
        if not looks_like_ours(text):
            return None
        why = f"its square code was damaged or made up: its check character is wrong (`{text[:SHOWN]}`)"
        return _altered(_standing(printed[0], found, bare) if printed else bare, [why])
    copy = replace(
        bare, code=code.code, version=code.version, site=code.site, language=code.language, artifact=code.artifact,
        sheets=(code.sheet,), of=code.sheets, read_from=("code",),
    )  # fmt: skip
    history = found.named(code.code)
    if history is None:
        return replace(copy, why=(f"no release here is of a document `{code.code}`",))
    release = history.get(code.version)
    copy = replace(copy, protocol=history.protocol, title=release.title if release else "")
    if code.draft:
        return replace(copy, why=(f"it is a draft of v{code.version}, made to be looked at and not to be used",))
    if release is None:
        return replace(copy, why=(f"version {code.version} of it was never released",))
    kept = release.at(code.site)
    if kept is None:
        return replace(copy, why=(f"version {code.version} of it was never released for `{code.site}`",))
    copy = replace(_standing(Known(history, release, kept), found, copy), language=code.language)
    if kept.fingerprint != code.fingerprint:
        why = f"its square code names the text `{code.fingerprint}`, and v{code.version} was released as "
        return _altered(copy, [f"{why}`{kept.fingerprint}`"])
    if not kept.language(code.language):
        return replace(copy, state="unknown", why=(f"it was never released in `{code.language}`",))
    what = f"{code.artifact}, sheet {code.sheet} of {code.sheets}"
    return _altered(copy, [f"its square code names a sheet that was not among those released: {what}"])


def _by_stamp(said: Printed, found: Register, strict: bool) -> tuple[Known, ...]:
    """Released editions that a printed stamp names, by fingerprint and at least one of code and version."""
    if not said.fingerprint or not (said.code or said.version):
        return ()
    hits = found.fingerprints.get(said.fingerprint, ())
    if not hits and not strict:
        wanted = said.fingerprint.translate(ALIKE)
        alike = [known for mark, known in found.fingerprints.items() if mark.translate(ALIKE) == wanted]
        hits = alike[0] if len(alike) == 1 else ()
    return tuple(
        replace(k, language=k.kept.language(said.language) if said.language else None)
        for k in hits
        if said.code in ("", k.release.code) and (strict or said.version in ("", k.release.version))
    )


def _stamped(said: Printed, printed: tuple[Known, ...], found: Register, bare: Copy) -> Copy:
    """What a sheet is by its printed stamp alone."""
    if not printed:
        named = " ".join(filter(None, (said.code, f"v{said.version}" if said.version else "")))
        mark = f"the text `{said.fingerprint}`" if said.fingerprint else "no fingerprint that can be read"
        history = found.named(said.code)
        copy = replace(bare, code=said.code, version=said.version, read_from=("stamp",) if history else ())
        return replace(copy, why=(f"its stamp names {named or 'no document'} and {mark}, which no release lists",))
    known = printed[0]
    copy = replace(_standing(known, found, bare), read_from=("stamp",))
    if said.sheet and said.sheets:
        copy = replace(copy, sheets=(said.sheet,), of=said.sheets)
        copy = replace(copy, artifact=" or ".join(_possible(known, said)))
    if said.version and said.version != known.release.version:
        return _altered(copy, [f"its stamp says v{said.version}, and its fingerprint is that of {_name(known)}"])
    return copy


def _possible(known: Known, said: Printed) -> Iterator[str]:
    """Artifacts that have such a sheet."""
    listed = [known.language] if known.language else list(known.kept.languages)
    for artifact, letter in LETTER_OF.items():
        if any(f"/{letter}{said.sheet}-{said.sheets}/" in code for x in listed for code in x.codes):
            yield artifact


# --- what a release is worth ------------------------------------------------------------------------------------


def _standing(known: Known, found: Register, copy: Copy) -> Copy:
    release, history = known.release, known.history
    standing = history.standing(release.version, found.today)
    assert standing
    changed = found.changed(known, standing.by) if standing.by else ()
    notes = copy.notes
    if standing.state == "current" and release.review < found.today:
        notes += (f"it was to be reviewed by {release.review}",)
    code = known.code
    return replace(
        copy, state=standing.state, protocol=release.protocol, code=release.code, version=release.version,
        title=release.title, site=known.kept.site, language=known.language.language if known.language else "",
        artifact=code.artifact if code else copy.artifact, sheets=(code.sheet,) if code else copy.sheets,
        of=code.sheets if code else copy.of, effective=release.effective, review=release.review, since=standing.since,
        by=standing.by, reason=standing.reason, changed=changed, notes=notes,
    )  # fmt: skip


def _altered(copy: Copy, why: Iterable[str]) -> Copy:
    """The copy with what is wrong about it; what its version is worth is kept as a note."""
    why = tuple(why)
    if not why:
        return copy
    worth = {"superseded": f"v{copy.version} itself is superseded by v{copy.by} since {copy.since}",
             "withdrawn": f"v{copy.version} itself was withdrawn on {copy.since}: {copy.reason}",
             "scheduled": f"v{copy.version} itself holds only from {copy.since}"}.get(copy.state, "")  # fmt: skip
    notes = (*copy.notes, worth) if worth else copy.notes
    return replace(copy, state="altered", why=(*copy.why, *why), notes=notes)


def altered(copy: Copy, *why: str) -> Copy:
    """A copy that was found to differ from its release."""
    return _altered(copy, why)


def _name(known: Known) -> str:
    return f"{known.release.code} v{known.release.version}"
