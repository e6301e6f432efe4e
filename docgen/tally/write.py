"""Turn a tally into text for a terminal, JSON, CSV, and what its page shows."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any

from docgen.tally.count import Group, StepCount, Stretch, Tally

FORMAT = 1
WIDTH = 20
"""Columns of a bar in a terminal."""
FILLED = {"done": "█", "prompted": "▒", "missed": "!", "open": "·"}
"""What a part of a bar is drawn with: told apart without colour."""
COLUMNS = (
    "code", "version", "fingerprint", "site", "unit", "month", "step", "label", "headline", "sessions", "done",
    "prompted", "missed", "open", "breaches", "timed", "seconds", "seconds_median",
)  # fmt: skip


# --- JSON and CSV -----------------------------------------------------------------------------------------------


def as_json(tally: Tally) -> str:
    """Everything, as JSON. Seconds; days and months as ISO 8601."""
    value: dict[str, Any] = {
        "tally": FORMAT,
        "versions-together": tally.together,
        "groups": [_group(g) for g in tally.groups],
        "not-counted": [{"file": file, "why": why} for file, why in tally.refused],
    }
    if tally.sessions:
        value["sessions"] = [
            {
                "source": s.source, "code": s.code, "version": s.version, "fingerprint": s.fingerprint, "site": s.site,
                "day": s.day.isoformat() if s.day else "", "outcome": s.outcome, "ended-early": s.ended_early,
                "people": dict(s.people), "steps": {m.step: m.result for m in s.marks},
            }
            for s in tally.sessions
        ]  # fmt: skip
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def _group(g: Group) -> dict[str, Any]:
    return {
        "code": g.code, "title": g.title,
        "editions": [{"version": v, "fingerprint": f, "site": s} for v, f, s in g.editions],
        "first": g.first, "last": g.last, "sessions": g.sessions, "checklists": g.checklists,
        "steps": [_step(s) for s in g.steps], "units": [_stretch(s) for s in g.stretches],
    }  # fmt: skip


def _step(s: StepCount) -> dict[str, Any]:
    return {
        "step": s.step, "label": s.label, "headline": s.headline, "sessions": s.sessions, "done": s.done,
        "prompted": s.prompted, "missed": s.missed, "open": s.open, "breaches": s.breaches, "timed": len(s.times),
        "seconds": sum(s.times), "seconds-median": s.seconds,
    }  # fmt: skip


def _stretch(s: Stretch) -> dict[str, Any]:
    return {
        "site": s.site, "unit": s.unit, "month": s.month, "sessions": s.sessions, "ended-early": s.ended_early,
        "with-breach": s.with_breach, "done": s.done, "prompted": s.prompted, "missed": s.missed, "open": s.open,
        "breaches": s.breaches, "seconds-median": s.seconds, "steps": [_step(step) for step in s.steps],
    }  # fmt: skip


def as_csv(tally: Tally) -> str:
    """A row for each step of each unit and month of each group: whatever total is wanted is a sum of rows."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for g in tally.groups:
        for stretch in g.stretches:
            of_site = [(v, f) for v, f, site in g.editions if site == stretch.site]
            version, fingerprint = (" ".join(dict.fromkeys(part)) for part in zip(*of_site, strict=True))
            for s in stretch.steps:
                writer.writerow(
                    _cell(value)
                    for value in (
                        g.code, version, fingerprint, stretch.site, stretch.unit, stretch.month, s.step, s.label,
                        s.headline, s.sessions, s.done, s.prompted, s.missed, s.open, s.breaches, len(s.times),
                        _short(sum(s.times)) if s.times else "", _short(s.seconds),
                    )
                )  # fmt: skip
    return out.getvalue()


def _cell(value: Any) -> Any:
    """A text that begins as a formula would must stay a text in a spreadsheet, too."""
    return f"'{value}" if isinstance(value, str) and value[:1] in tuple("=+-@\t\r") else value


def _short(number: float | None) -> str:
    return "" if number is None else f"{number:.1f}".removesuffix(".0")


# --- a terminal -------------------------------------------------------------------------------------------------


def as_text(tally: Tally) -> Iterator[str]:
    """Lines for a terminal."""
    if not tally.groups:
        yield "no session was counted"
    for n, g in enumerate(tally.groups):
        yield from ([""] if n else [])
        yield f"{g.title or g.code}"
        if len(g.editions) == 1:
            yield f"{g.code} · {_edition(*g.editions[0])}"
        else:
            yield f"{g.code} · {len(g.editions)} texts counted together, by the ids of their steps:"
            yield from (f"  {_edition(*edition)}" for edition in g.editions)
        days = " – ".join(dict.fromkeys(filter(None, (g.first, g.last))))
        yield f"{_counted(g.sessions, 'session')}{', ' + days if days else ''}"
        yield ""
        yield from _table(_step_rows(g.steps), left=2)
        yield "  " + "  ".join(f"{mark} {what}" for what, mark in FILLED.items())
        if g.checklists and any(s.breaches for s in g.stretches):
            yield "  Checklists do not say at which step a breach was: units count it, steps do not."
        yield ""
        yield from _table(_stretch_rows(g.stretches), left=2)


def _counted(n: int, noun: str) -> str:
    return f"{n} {noun}{'' if n == 1 else 's'}"


def _edition(version: str, fingerprint: str, site: str) -> str:
    return f"v{version} · {fingerprint[:5]}-{fingerprint[5:]} · {site}"


def _step_rows(steps: tuple[StepCount, ...]) -> Iterator[tuple[str, ...]]:
    yield ("step", "", "done", "prompted", "missed", "open", "breaches", "seconds")
    for s in steps:
        words = f"{s.label} {s.headline or s.step}".strip()
        yield (
            words if len(words) <= 44 else words[:43] + "…", text_bar(s), str(s.done), str(s.prompted), str(s.missed),
            str(s.open), str(s.breaches), _short(s.seconds),
        )  # fmt: skip


def _stretch_rows(stretches: tuple[Stretch, ...]) -> Iterator[tuple[str, ...]]:
    yield ("unit", "month", "sessions", "done", "prompted", "missed", "open", "breaches", "minutes")
    for s in stretches:
        minutes = "" if s.seconds is None else f"{s.seconds / 60:.1f}"
        yield (
            f"{s.unit} ({s.site})" if s.unit else s.site, s.month or "no date", str(s.sessions), str(s.done),
            str(s.prompted), str(s.missed), str(s.open), str(s.breaches), minutes,
        )  # fmt: skip


def text_bar(s: StepCount, width: int = WIDTH) -> str:
    """A bar of `width` characters; every count that is not nought has at least one of them."""
    return "".join(FILLED[what] * n for what, n in zip(FILLED, shares(s, width), strict=True))


def shares(s: StepCount, width: int) -> tuple[int, ...]:
    """`width` parted as done, prompted, missed and open are; none that is there vanishes."""
    counts = (s.done, s.prompted, s.missed, s.open)
    whole = sum(counts)
    if not whole:
        return (0, 0, 0, 0)
    parts = [max(1, count * width // whole) if count else 0 for count in counts]
    while (rest := width - sum(parts)) != 0:
        # the part whose share is furthest from its due gets or gives the next character
        gap = [count * width / whole - part for count, part in zip(counts, parts, strict=True)]
        can = [i for i, count in enumerate(counts) if count and (rest > 0 or parts[i] > 1)]
        at = max(can, key=lambda i: gap[i]) if rest > 0 else min(can, key=lambda i: gap[i])
        parts[at] += 1 if rest > 0 else -1
    return tuple(parts)


def _table(rows: Iterator[tuple[str, ...]], left: int) -> Iterator[str]:
    """Aligned columns: the first `left` to the left, numbers to the right."""
    cells = list(rows)
    widths = [max(_columns(row[n]) for row in cells) for n in range(len(cells[0]))]
    for row in cells:
        parts = (
            text + " " * (width - _columns(text)) if n < left else " " * (width - _columns(text)) + text
            for n, (text, width) in enumerate(zip(row, widths, strict=True))
        )
        yield f"  {'  '.join(parts)}".rstrip()


def _columns(words: str) -> int:
    """Terminal columns some text takes (Unicode UAX #11)."""
    import unicodedata

    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 0 if unicodedata.combining(c) else 1 for c in words)


# --- a page -----------------------------------------------------------------------------------------------------


def for_page(tally: Tally) -> dict[str, Any]:
    """What the template of the page sees."""
    return {
        "groups": tuple(_shown(n, g) for n, g in enumerate(tally.groups)),
        "together": tally.together,
        "refused": tally.refused,
    }


def _shown(n: int, g: Group) -> dict[str, Any]:
    return {
        "id": str(n), "title": g.title or g.code, "code": g.code,
        "editions": tuple(_edition(*e) for e in g.editions),
        "sessions": g.sessions, "first": g.first, "last": g.last,
        "unplaced": bool(g.checklists and any(s.breaches for s in g.stretches)),
        "steps": tuple(
            {"step": s.step, "label": s.label, "headline": s.headline or s.step, "done": s.done,
             "prompted": s.prompted, "missed": s.missed, "open": s.open, "breaches": s.breaches,
             "seconds": _short(s.seconds)} for s in g.steps
        ),
        "units": tuple(
            {"unit": s.unit, "site": s.site, "month": s.month, "sessions": s.sessions, "done": s.done,
             "prompted": s.prompted, "missed": s.missed, "open": s.open, "breaches": s.breaches,
             "minutes": "" if s.seconds is None else f"{s.seconds / 60:.1f}"} for s in g.stretches
        ),
    }  # fmt: skip
