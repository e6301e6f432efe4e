"""Turn what people say they have put up and taken down into lines of the record, or into why they can't be taken."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from docgen.findings import NOWHERE, Finding, Where, error, warning
from docgen.model.posting import Copy, Hung, Spot, Task
from docgen.release.copies import count, day, table
from docgen.release.postings import Histories, hanging, printed, target

ASKED = (
    "what", "posting", "language", "protocol", "artifact", "sheet", "version", "copies", "done", "by", "date", "note",
)  # fmt: skip
"""Columns of a work list that comes back filled in; `fingerprint` is compared where it is there."""
ALL = ("x", "yes", "all", "done", "✓", "ok")
"""What people write into a cell to say that a row is done."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What somebody says of one spot."""

    posting: str
    language: str = ""
    """Empty: all of them."""
    what: str = ""
    """`up` or `down`; empty for both."""
    version: str = ""
    """Copies of this version are there now, whatever was to be done; empty: what was to be done is done."""
    copies: int | None = None
    """So many are there now; None: as many as are wanted."""


@dataclass(frozen=True, slots=True)
class Told:
    """Who says so."""

    by: str
    on: datetime.date
    today: datetime.date
    note: str = ""


@dataclass(frozen=True, slots=True)
class Marked:
    """Lines for the record, and what could not be taken."""

    lines: tuple[Hung, ...]
    findings: tuple[Finding, ...] = ()
    blank: int = 0
    """Rows of a list that nobody has marked."""


def marked(marks: Iterable[Mark], told: Told, tasks: tuple[Task, ...], record: tuple[Hung, ...], site: str,
           histories: Histories) -> Marked:  # fmt: skip
    """Lines for what was named on the command line."""
    lines: list[Hung] = []
    findings: list[Finding] = []
    for mark in marks:
        mine = [t for t in tasks if t.spot.posting == mark.posting and mark.language in ("", t.spot.language)]
        if not mine:
            findings.append(_stranger(mark, tasks, NOWHERE))
            continue
        for task in mine:
            said: Iterable[Hung | str]
            if mark.version:
                said = _stated(mark, told, task.spot, site, histories)
            else:
                said = _as_planned(mark, told, task)
            for each in said:
                problem = each if isinstance(each, str) else _refused(each, told, record, histories)
                if problem:
                    findings.append(_not_taken(problem, task.spot, NOWHERE))
                elif isinstance(each, Hung):
                    lines.append(each)
    return Marked(tuple(lines), tuple(findings))


def _stated(mark: Mark, told: Told, spot: Spot, site: str, histories: Histories) -> Iterator[Hung | str]:
    history = histories.get(spot.protocol)
    release = history.get(mark.version) if history else None
    wanted, lack = target(release, site, spot)
    if release is None:
        yield f"v{mark.version} of `{spot.protocol}` was never released"
    elif wanted is None:
        yield lack
    else:
        copies = spot.quantity if mark.copies is None else mark.copies
        yield Hung(told.on, spot.posting, spot.location, wanted.copy, copies, told.by, told.note)


def _as_planned(mark: Mark, told: Told, task: Task) -> Iterator[Hung | str]:
    spot, some = task.spot, False
    if mark.what != "up":
        for old in task.down:
            some = True
            yield Hung(told.on, spot.posting, spot.location, old.copy, 0, told.by, told.note)
    if mark.what != "down" and task.target and task.missing:
        some = True
        copies = spot.quantity if mark.copies is None else mark.copies
        yield Hung(told.on, spot.posting, spot.location, task.target.copy, copies, told.by, told.note)
    if not some:
        since = f" since {task.last.on}, by {task.last.by}" if task.last and not task.open else ""
        yield f"nothing is left to do{since}" + (f": {task.lack}" if task.lack else "")


def _refused(hung: Hung, told: Told, record: Iterable[Hung], histories: Histories) -> str:
    """Why a line can't stand in the record; empty if it can."""
    if hung.on > told.today:
        return f"{hung.on} is still to come"
    history = histories.get(hung.copy.protocol)
    release = history.get(hung.copy.version) if history else None
    if release and hung.there and hung.on < release.released.on:
        return f"v{release.version} was released on {release.released.on}, after {hung.on}"
    same = [h for h in record if h.posting == hung.posting and h.copy == hung.copy]
    last = max(same, key=lambda h: h.on, default=None)
    if last and last.on > hung.on:
        return f"a line of {last.on} by {last.by} already says what is there since then"
    return ""


def _stranger(mark: Mark, tasks: Iterable[Task], where: Where) -> Finding:
    known = {t.spot.posting for t in tasks}
    if mark.posting in known:
        message = f"`{mark.posting}` has no copy in `{mark.language}`"
        tags = sorted({t.spot.language for t in tasks if t.spot.posting == mark.posting})
        return error("postings/not-taken", message, where, hint=f"choose {' or '.join(f'`{x}`' for x in tags)}")
    close = sorted(k for k in known if k.startswith(mark.posting)) or get_close_matches(mark.posting, known, 1)
    hint = f"did you mean `{close[0]}`?" if close else "take the name from `docgen postings status`"
    return error("postings/not-taken", f"this site has no posting `{mark.posting}`", where, hint=hint)


def _not_taken(problem: str, spot: Spot, where: Where) -> Finding:
    known = problem.startswith(("nothing is left", "already"))
    say = warning if known else error
    message = f"`{spot.posting}` ({spot.language}) is not recorded: {problem}"
    hint = "nothing needs to be done" if known else "correct it and mark it again"
    return say("postings/not-taken", message, where, hint=hint)


# --- a list that comes back --------------------------------------------------------------------------------------


def from_list(text: str, file: str, told: Told, tasks: tuple[Task, ...], record: tuple[Hung, ...], site: str,
              histories: Histories) -> Marked:  # fmt: skip
    """Lines for the marked rows of a work list. `told.by` may be empty: then each row names somebody."""
    findings: list[Finding] = []
    lines: list[Hung] = []
    blank = 0
    spots = {t.spot.key: t.spot for t in tasks}
    for where, row in table(text, file, ASKED[:9], findings):
        got = {name: row.get(name, "") for name in (*ASKED, "fingerprint")}
        if not got["done"]:
            blank += 1
            continue
        spot = spots.get((got["posting"], got["language"]))
        if spot is None:
            findings.append(_stranger(Mark(got["posting"], got["language"]), tasks, where))
            continue
        try:
            hung = _row(got, told, spot, (*record, *lines), site, histories)
            if problem := _refused(hung, told, record, histories):
                raise ValueError(problem)
            lines.append(hung)
        except ValueError as problem:
            findings.append(_not_taken(str(problem), spot, where))
    return Marked(tuple(lines), tuple(findings), blank)


def _row(
    got: Mapping[str, str], told: Told, spot: Spot, record: tuple[Hung, ...], site: str, histories: Histories
) -> Hung:
    if got["what"] not in ("up", "down"):
        raise ValueError(f"under `what` stands `{got['what']}`, and not `up` or `down`")
    by, on = got["by"] or told.by, day(got["date"]) if got["date"] else told.on
    if not by:
        raise ValueError("nobody is named under `by`")
    copy = _copy(got, spot, site, histories)
    last = [h for h in record if h.key == spot.key and h.copy == copy]
    now = next((h.there for h in hanging(last)), 0)
    latest = max(last, key=lambda h: h.on, default=None)
    if got["done"].lower() in ALL:
        there = spot.quantity if got["what"] == "up" else 0
    else:
        number = count(got["done"])
        there = now + number if got["what"] == "up" else max(0, now - number)
    if latest and there == latest.there:
        how = f"put up: {there} there" if there else "taken down"
        raise ValueError(f"already {how} since {latest.on}, by {latest.by}")
    return Hung(on, spot.posting, spot.location, copy, there, by, got["note"] or told.note)


def _copy(got: Mapping[str, str], spot: Spot, site: str, histories: Histories) -> Copy:
    """The released sheet that a row is about."""
    history, version = histories.get(got["protocol"]), got["version"].removeprefix("v")
    release = history.get(version) if history else None
    if release is None:
        raise ValueError(f"v{version} of `{got['protocol']}` was never released")
    kept = release.at(site)
    spoken = kept.language(got["language"]) if kept else None
    file = printed(spoken, got["artifact"], got["sheet"]) if spoken else None
    if kept is None or file is None:
        raise ValueError(f"the {got['artifact']} on `{got['sheet']}` is not in the release {version} of this site")
    if got["fingerprint"] and got["fingerprint"].replace("-", "").upper() != kept.fingerprint:
        raise ValueError(f"`{got['fingerprint']}` is not the fingerprint of v{version}, which is `{kept.fingerprint}`")
    return Copy(release.protocol, file.artifact, file.sheet, spot.language, version, kept.fingerprint)
