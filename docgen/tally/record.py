"""Turn the record that a reader saved, as JSON or CSV, into a session. The file may be anybody's, or damaged."""

from __future__ import annotations

import csv
import datetime
import io
import json
from collections.abc import Iterator, Mapping
from typing import Any

from docgen.findings import Finding, Where, error
from docgen.tally.session import (
    DONE,
    MISSED,
    OPEN,
    PROMPTED,
    SHAPES,
    Mark,
    Session,
    Told,
    clean,
    is_name,
    is_stamp,
    merged,
)

LARGEST = 4 * 2**20
"""Bytes; the record of a long session has about 20 KiB."""
MOST_STEPS = 5000
MOST_SAID = 10
"""Findings about one file."""
LONGEST_SECONDS = 7 * 86400
MARKER = "session-record"
FORMAT = 1
_RESULTS = {"done": DONE, "prompted": PROMPTED, "missed": MISSED, "unfinished": OPEN, "unseen": OPEN}
_PEOPLE = ("wearer", "observer", "assistant", "remarks")
_HEAD = (MARKER, "code", "version", "fingerprint", "site", "unit", "title", "language", "effective", "review", "began",
         "ended", "outcome")  # fmt: skip


def read_record(data: bytes, file: str) -> Told:
    """The session of a record; None with findings if it is none, is damaged, or does not agree with itself."""
    if len(data) > LARGEST:
        return _foreign(file, f"the file has {len(data) >> 20} MiB; records of up to {LARGEST >> 20} MiB are read")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        return _damaged(file, f"byte {problem.start + 1} is not UTF-8 text")
    whole = text.lstrip().startswith("{")
    return _of_json(text, file) if whole else _of_csv(text, file)


def _of_json(text: str, file: str) -> Told:
    try:
        value = json.loads(text)
    except RecursionError:
        return _damaged(file, "it is nested too deep")
    except ValueError as problem:
        return _damaged(file, f"it is not whole JSON: {problem}")
    if not isinstance(value, dict) or MARKER not in value:
        return _foreign(file, "it is JSON, but no record of a session")
    return _session(value, file)


def _of_csv(text: str, file: str) -> Told:
    try:
        rows = [
            row for row, _ in zip(csv.DictReader(io.StringIO(text, newline="")), range(MOST_STEPS + 1), strict=False)
        ]
    except csv.Error as problem:
        return _damaged(file, f"it is not whole CSV: {problem}")
    if not rows or MARKER not in rows[0]:
        return _foreign(file, "it is no record of a session")
    if any(None in row or None in row.values() for row in rows):
        line = next(n for n, row in enumerate(rows, 2) if None in row or None in row.values())
        return _damaged(file, f"row {line} has more or fewer cells than the first")
    rows = [{key: _uncelled(value) for key, value in row.items()} for row in rows]
    for key in _HEAD:
        if len({row.get(key, "") for row in rows}) > 1:
            return _damaged(file, f"it mixes sessions: `{key}` is not the same in all rows")
    first = rows[0]
    steps = [_row(row) for row in rows if row.get("result") != "unseen"]
    unseen = [row.get("step", "") for row in rows if row.get("result") == "unseen"]
    marker = int(first[MARKER]) if first[MARKER].isdecimal() and len(first[MARKER]) < 9 else first[MARKER]
    names = {key: first.get(key, "") for key in _PEOPLE}
    head = {key: first[key] for key in _HEAD if key in first}
    named = {row.get("step", ""): (row.get("label", ""), row.get("headline", "")) for row in rows}
    return _session({**head, MARKER: marker, "names": names, "steps": steps, "unseen": unseen}, file, named)


def _uncelled(value: str) -> str:
    """A cell without the mark that keeps a spreadsheet from taking it for a formula."""
    return value[1:] if value[:1] == "'" and value[1:2] in tuple("=+-@\t\r'") else value


def _row(row: Mapping[str, str]) -> dict[str, Any]:
    def number(key: str) -> Any:
        try:
            return float(row.get(key, ""))
        except ValueError:
            return row.get(key)

    return {**row, "seconds": number("seconds"), "breaches": number("breaches")}


def _session(given: Mapping[str, Any], file: str, named: Mapping[str, tuple[str, str]] | None = None) -> Told:
    value = {**given, "fingerprint": _in_one(given.get("fingerprint"))}
    if value[MARKER] != FORMAT:
        hint = "count it with a newer docgen"
        return Told(None, (error("tally/newer-record", f"the record has format `{clean(str(value[MARKER]), 20)}`; "
                                 f"format `{FORMAT}` is known", Where(file), hint=hint),))  # fmt: skip
    wrong = [*_wrong_head(value), *_wrong_steps(value)]
    if wrong:
        return Told(None, tuple(_damage(file, message) for message in wrong[:MOST_SAID]))
    began, ended = _moment(value.get("began")), _moment(value.get("ended"))
    assert began and ended
    visits: dict[str, tuple[Mark, ...]] = {}
    for step in value["steps"]:
        mark = Mark(
            step["step"], _RESULTS[step["result"]], clean(str(step.get("label", "")), 12),
            clean(str(step.get("headline", ""))), float(step["seconds"]), int(step["breaches"]),
        )  # fmt: skip
        visits[mark.step] = (*visits.get(mark.step, ()), mark)
    early = value["outcome"] == "left"
    marks = [merged(of_one) for of_one in visits.values()]
    if not early:  # what comes after a session was left for good reason was not due
        known = named or {}
        for step in value["unseen"]:
            label, headline = known.get(step, ("", ""))
            if step not in visits:
                marks.append(Mark(step, OPEN, clean(label, 12), clean(headline)))
    people = value.get("names") or {}
    session = Session(
        "record",
        code=value["code"],
        version=value["version"],
        fingerprint=value["fingerprint"],
        site=value["site"],
        language=value["language"],
        marks=tuple(marks),
        title=clean(str(value.get("title", ""))),
        unit=clean(str(value.get("unit", ""))),
        day=began.date(),
        seconds=(ended - began).total_seconds(),
        breaches=sum(m.breaches for m in marks),
        ended_early=early,
        people=tuple((key, clean(str(people[key]), 1000)) for key in _PEOPLE if people.get(key)),
        began=value["began"],
    )
    return Told(session)


def _in_one(fingerprint: Any) -> Any:
    """A fingerprint that is written in two groups, as on sheets, as one."""
    return (
        fingerprint[:5] + fingerprint[6:] if isinstance(fingerprint, str) and fingerprint[5:6] == "-" else fingerprint
    )


def _wrong_head(value: Mapping[str, Any]) -> Iterator[str]:
    for part in SHAPES:
        given = value.get(part)
        if not isinstance(given, str) or not is_stamp(part, given):
            yield f"`{part}` is `{clean(str(given), 40)}`, which is none"
    began, ended = _moment(value.get("began")), _moment(value.get("ended"))
    for key, moment in (("began", began), ("ended", ended)):
        if moment is None:
            yield f"`{key}` is `{clean(str(value.get(key)), 40)}`, which is no day and time with its offset"
    if began and ended and not 0 <= (ended - began).total_seconds() <= LONGEST_SECONDS:
        yield f"it ends at `{value['ended']}`, which does not go with its begin at `{value['began']}`"
    if value.get("outcome") not in ("complete", "left"):
        yield f"`outcome` is `{clean(str(value.get('outcome')), 40)}`; it must be `complete` or `left`"
    if not isinstance(value.get("names") or {}, dict):
        yield "`names` is no list of names"


def _wrong_steps(value: Mapping[str, Any]) -> Iterator[str]:
    steps, unseen = value.get("steps"), value.get("unseen")
    if not isinstance(steps, list) or not isinstance(unseen, list) or not 0 < len(steps) + len(unseen) <= MOST_STEPS:
        yield "`steps` or `unseen` is missing, empty or endless"
        return
    if not all(isinstance(step, str) and is_name(step) for step in unseen):
        yield "`unseen` has something that is no id of a step"
    for n, step in enumerate(steps, 1):
        if not isinstance(step, dict):
            yield f"step {n} has no parts"
            continue
        if not isinstance(step.get("step"), str) or not is_name(step["step"]):
            yield f"step {n} has no id"
        if not isinstance(step.get("result"), str) or step["result"] not in _RESULTS:
            yield f"step {n} has the result `{clean(str(step.get('result')), 40)}`, which is none"
        if not _is_amount(step.get("seconds"), LONGEST_SECONDS):
            yield f"step {n} took `{clean(str(step.get('seconds')), 40)}` seconds"
        breaches: Any = step.get("breaches")
        if not _is_amount(breaches, 100) or int(breaches) != breaches:
            yield f"step {n} has `{clean(str(breaches), 40)}` breaches"


def _is_amount(value: Any, most: float) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= most


def _moment(value: Any) -> datetime.datetime | None:
    try:
        moment = datetime.datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo else None


def _damage(file: str, message: str) -> Finding:
    hint = "save the record again, or leave this file out"
    return error("tally/damaged", f"this is not counted: {message}", Where(file), hint=hint)


def _damaged(file: str, message: str) -> Told:
    return Told(None, (_damage(file, message),))


def _foreign(file: str, message: str) -> Told:
    hint = "give filled checklists, and records that a reader saved"
    return Told(None, (error("tally/foreign", f"this is not counted: {message}", Where(file), hint=hint),))
