"""Turn a site's postings, its record of copies and the releases into what is to be done, and into what hangs where."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from docgen.model.posting import Copy, Found, Hung, Old, Spot, Target, Task
from docgen.model.release import Release, ReleasedFile, ReleasedLanguage
from docgen.model.site import Site
from docgen.model.stamp import read_code
from docgen.release.register import History

Histories = Mapping[str, History]
"""Protocol → its releases."""
UNRELEASED = "nothing is released"
"""Why nothing can be put up where there is no release that holds."""
IMPOSED = " on "
"""In the name of a sheet on which others are imposed: `A6 on A4`."""


def spots(site: Site, record: Iterable[Hung] = ()) -> tuple[Spot, ...]:
    """Every place and language in walking order; last, those that only the record knows."""
    listed = [
        Spot(p.id, p.location, p.walk, p.keeper or "", p.protocol, p.artifact, p.sheet or _asked(site, p), language,
             p.quantity, p.laminated)
        for p in sorted(site.postings, key=lambda p: (p.walk, p.id))
        for language in p.languages
    ]  # fmt: skip
    known = {s.key for s in listed}
    gone = {
        h.key: Spot(
            h.posting, h.location, 0, "", h.copy.protocol, h.copy.artifact, "", h.copy.language, 0, False, listed=False
        )
        for h in hanging(record)
        if h.key not in known
    }
    return (*listed, *(gone[key] for key in sorted(gone)))


def _asked(site: Site, posting) -> str:
    use = site.protocols.get(posting.protocol)
    for sheets in (use.sheets if use else {}, site.sheets):
        choice = sheets.get(posting.artifact)
        if choice and choice.sheet:
            return choice.sheet
    return ""


def hanging(record: Iterable[Hung]) -> tuple[Hung, ...]:
    """What hangs by the record: of the lines about one sheet at one place the latest, if it leaves any copies there."""
    return tuple(h for h in _latest(record).values() if h.there)


def _latest(record: Iterable[Hung]) -> dict[tuple, Hung]:
    last: dict[tuple, Hung] = {}
    for h in sorted(record, key=lambda h: h.on):  # a stable sort: lines of one day stay in their order
        last[(h.posting, replace(h.copy, fingerprint=""))] = h
    return last


# --- what must hang ---------------------------------------------------------------------------------------------


def aim(history: History, today: datetime.date, version: str = "") -> Release | None:
    """The release whose copies are to hang: the one named, else the newest that is in force or will be."""
    if version:
        return history.get(version)
    newest = history.newest
    if newest is None:
        return None
    gone = history.withdrawal(newest.version)
    return history.current(today) if gone and gone.withdrawn.on <= today else newest


def target(release: Release | None, site: str, spot: Spot) -> tuple[Target | None, str]:
    """What must hang at a spot by a release, or why nothing can."""
    if release is None:
        return None, UNRELEASED
    kept = release.at(site)
    spoken = kept.language(spot.language) if kept else None
    if kept is None or spoken is None:
        held = next((w for w in release.withheld if (w.site, w.language) == (site, spot.language)), None)
        return None, f"v{release.version} is not released in `{spot.language}`" + (f": {held.why}" if held else "")
    file = printed(spoken, spot.artifact, spot.sheet)
    if file is None:
        other = printed(spoken, spot.artifact, "")
        on = f"`{other.sheet}`" if other else "no sheet"
        return None, f"the {spot.artifact} of v{release.version} is released on {on}, not `{spot.sheet}`"
    copy = Copy(release.protocol, spot.artifact, file.sheet, spot.language, release.version, kept.fingerprint)
    return Target(copy, release.effective, file, _code(spoken, spot.artifact)), ""


def printed(spoken: ReleasedLanguage, artifact: str, sheet: str) -> ReleasedFile | None:
    """The released file of an artifact on a sheet, or on its own."""
    own = [f for f in spoken.files if f.artifact == artifact and IMPOSED not in f.sheet]
    return next((f for f in own if not sheet or f.sheet == sheet), None)


def _code(spoken: ReleasedLanguage, artifact: str) -> str:
    for text in spoken.codes:
        code = read_code(text)
        if code and (code.artifact, code.sheet) == (artifact, 1):
            return text
    return ""


# --- what is to be done -----------------------------------------------------------------------------------------


def plan(
    site: Site,
    record: Iterable[Hung],
    histories: Histories,
    today: datetime.date,
    versions: Mapping[str, str] | None = None,
) -> tuple[Task, ...]:
    """A task for each spot, in walking order. `versions`: only these protocols, each at a version, or at its newest if
    that is empty."""
    lines = tuple(record)
    out = []
    for spot in spots(site, lines):
        if versions is not None and spot.protocol not in versions:
            continue
        history = histories.get(spot.protocol) or History(spot.protocol)
        release = aim(history, today, (versions or {}).get(spot.protocol, ""))
        out.append(_task(spot, [h for h in lines if h.key == spot.key], release, histories, site.site))
    return tuple(out)


def _task(spot: Spot, lines: list[Hung], release: Release | None, histories: Histories, site: str) -> Task:
    there = hanging(lines)
    wanted, lack = target(release, site, spot) if spot.listed else (None, "the site file no longer lists it")
    up = sum(h.there for h in there if wanted and h.copy == wanted.copy)
    missing = max(0, spot.quantity - up) if wanted else 0
    others = [h for h in there if not (wanted and h.copy == wanted.copy)]
    down = [Old(h.copy, h.there, _why(h.copy, wanted, histories, lack)) for h in others]
    if not lines and spot.protocol in histories:
        down += _unknown(spot, wanted, histories[spot.protocol], site)
    return Task(spot, wanted, missing, tuple(down), lack, max(lines, key=lambda h: h.on, default=None))


def _why(copy: Copy, wanted: Target | None, histories: Histories, lack: str) -> str:
    gone = histories[copy.protocol].withdrawal(copy.version) if copy.protocol in histories else None
    if gone:
        return f"withdrawn: {gone.withdrawn.reason}"
    if wanted is None:
        return lack
    if copy.version == wanted.copy.version and copy.protocol == wanted.copy.protocol:
        return f"the site asks for the {wanted.copy.artifact} on {wanted.copy.sheet}"
    return f"replaced by v{wanted.copy.version}"


def _unknown(spot: Spot, wanted: Target | None, history: History, site: str) -> Iterator[Old]:
    """An older version was released for this spot and nobody recorded what hangs there: somebody must look."""
    before = history.before(wanted.copy.version) if wanted else history.newest
    old, _ = target(before, site, spot) if before else (None, "")
    if old:
        yield Old(old.copy, 0, "nobody has recorded whether it hangs", recorded=False)


# --- what hangs -------------------------------------------------------------------------------------------------


def found(site: Site, record: Iterable[Hung], histories: Histories, today: datetime.date) -> tuple[Found, ...]:
    """What hangs at each spot and what it is worth on a day, in walking order."""
    lines = tuple(h for h in record if h.on <= today)
    out = []
    for spot in spots(site, lines):
        own = [h for h in lines if h.key == spot.key]
        history = histories.get(spot.protocol) or History(spot.protocol)
        wanted, _ = target(history.current(today), site.site, spot)
        state = _state(spot, own, wanted, histories, today)
        out.append(Found(spot, state, hanging(own), wanted.copy.version if wanted else ""))
    return tuple(out)


def _state(spot: Spot, lines: list[Hung], wanted: Target | None, histories: Histories, today: datetime.date) -> str:
    """The state of a spot; the gravest, where several are true."""
    there = hanging(lines)
    states = {_standing(h.copy, histories, today) for h in there}
    for state, word in (("withdrawn", "withdrawn"), ("superseded", "outdated"), ("", "unknown")):
        if state in states:
            return word
    if there and (not spot.listed or any(h.copy.protocol != spot.protocol for h in there)):
        return "not listed"
    if "scheduled" in states:
        return "early"
    if there and wanted and all(h.copy != wanted.copy for h in there):
        return "other sheet"
    if there:
        return "current" if sum(h.there for h in there) >= spot.quantity else "few"
    if wanted is None:
        return "nothing released"
    return "empty" if lines else "not recorded"


def _standing(copy: Copy, histories: Histories, today: datetime.date) -> str:
    """What a copy's version is worth; empty if no such version is known."""
    history = histories.get(copy.protocol)
    standing = history.standing(copy.version, today) if history else None
    return standing.state if standing else ""
