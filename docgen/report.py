"""Turn findings into what a person or a program reads: text with the offending line, JSON, or SARIF 2.1.0.

Only strings come out of here; nothing is printed. Whatever a hostile file put into a message or an excerpt is made
visible first, so that it cannot drive the terminal it is shown on.
"""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from docgen.findings import Finding, Note, Severity, Where
from docgen.model.moment import Rule

Paint = Callable[[str, str], str]
"""Text and what it is (`error`, `warning`, `advice`, `quiet`) → the same text, coloured."""

_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.ADVICE: 2}
_EXCERPT = 96
"""Characters of a long source line that are shown."""
_REORDERING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Controls that make a terminal show text in another order than it has (Unicode Bidirectional Algorithm, 2.1-2.4)."""


def gather(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """In reading order, each said once: what holds for a protocol anywhere is not repeated for each site."""
    together: dict[Finding, list[str]] = defaultdict(list)
    for f in dict.fromkeys(findings):
        together[replace(f, site="")].append(f.site)
    general = {_spot(f) for f, sites in together.items() if "" in sites and f.where.line}
    out = []
    for f, sites in together.items():
        if "" in sites:
            out.append(f)
        elif _spot(f) not in general:
            out.append(replace(f, site=", ".join(sorted(sites))))
    return tuple(sorted(out, key=_order))


def _spot(f: Finding) -> tuple:
    return (f.rule, f.severity, f.where.file, f.where.line, f.where.column, f.step, f.artifact, f.language)


def _order(f: Finding) -> tuple:
    w = f.where
    return (w.file, w.line, w.column, w.page, _WEIGHT[f.severity], f.rule, f.step, f.artifact, f.site, f.message)


def counted(number: int, noun: str) -> str:
    """`1 error`, `2 errors`."""
    return f"{number} {noun if number == 1 else noun + 's'}"


def summary(findings: Iterable[Finding]) -> str:
    """`2 errors, 1 warning`, or `no findings`."""
    of: dict[Severity, int] = defaultdict(int)
    for f in findings:
        of[f.severity] += 1
    parts = [
        counted(of[Severity.ERROR], "error"),
        counted(of[Severity.WARNING], "warning"),
        f"{of[Severity.ADVICE]} advice",
    ]
    return ", ".join(p for p in parts if not p.startswith("0 ")) or "no findings"


# --- text -------------------------------------------------------------------------------------------------------


def text(findings: Iterable[Finding], paint: Paint = lambda words, _kind: words) -> str:
    """For a person: `file:line:column: error: message [rule]`, the line with a caret, the story, the hint."""
    return "".join(_told(f, paint) for f in findings)


def _told(f: Finding, paint: Paint) -> str:
    place = f"{visible(str(f.where))}: " if f.where.file else ""
    lines = [
        f"{place}{paint(f'{f.severity}:', f.severity)} {visible(f.message)} {paint(f'[{f.rule}]', 'quiet')}",
        *_excerpt(f.where, paint),
    ]
    about = [
        f"step {f.step}" if f.step else "",
        f.artifact,
        f"language {f.language}" if f.language else "",
        f"site {f.site}" if f.site else "",
    ]
    if any(about):
        lines.append(f"  in: {visible(', '.join(filter(None, about)))}")
    lines += [f"  {number}. {visible(_noted(note))}" for number, note in enumerate(f.notes, 1)]
    if f.hint:
        lines.append(f"  hint: {visible(f.hint)}")
    return "\n".join(lines) + "\n"


def _noted(note: Note) -> str:
    return f"{note.text} ({note.where})" if note.where.file else note.text


def _excerpt(where: Where, paint: Paint) -> list[str]:
    if not where.excerpt.strip():
        return []
    start = max(0, where.column - 1 - _EXCERPT * 2 // 3) if len(where.excerpt) > _EXCERPT else 0
    shown = where.excerpt[start : start + _EXCERPT]
    gutter = f"{where.line:>6} | " if where.line else "       | "
    lines = [paint(gutter, "quiet") + visible(shown).rstrip()]
    if where.column:
        before = visible(shown[: where.column - 1 - start])
        lines.append(paint("       | ", "quiet") + " " * _columns(before) + paint("^", "error"))
    return lines


def _columns(words: str) -> int:
    """Terminal columns some text takes (East Asian wide characters take two, marks none: Unicode UAX #11)."""
    return sum(
        2 if unicodedata.east_asian_width(c) in "WF" else 0 if unicodedata.combining(c) else 1 for c in words
    )  # fmt: skip


def visible(words: str) -> str:
    """Text with every control character spelled out, and tabs as spaces."""
    return "".join(
        c if (c.isprintable() and c not in _REORDERING) or c in "\u200c\u200d"
        else " " if c in "\t\u00a0\u202f\u3000"
        else f"\\u{ord(c):04x}" if ord(c) > 0xFF
        else f"\\x{ord(c):02x}"
        for c in words
    )  # fmt: skip


# --- JSON -------------------------------------------------------------------------------------------------------


def json(findings: Iterable[Finding]) -> str:
    """For a program: a list of objects, each with the same keys. `line`, `column` and `page` are 0 when unknown."""
    from json import dumps

    return dumps([_object(f) for f in findings], ensure_ascii=False, indent=2) + "\n"


def _object(f: Finding) -> dict[str, Any]:
    return {
        "rule": f.rule,
        "severity": str(f.severity),
        "message": f.message,
        "file": f.where.file,
        "line": f.where.line,
        "column": f.where.column,
        "step": f.step,
        "artifact": f.artifact,
        "hint": f.hint,
        "protocol": f.protocol,
        "site": f.site,
        "language": f.language,
        "excerpt": f.where.excerpt,
        "page": f.where.page,
        "box": list(f.where.box) if f.where.box else None,
        "notes": [
            {"text": n.text, "file": n.where.file, "line": n.where.line, "column": n.where.column} for n in f.notes
        ],
        "data": dict(f.data),
    }


# --- SARIF ------------------------------------------------------------------------------------------------------

_LEVEL = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "note"}


def sarif(findings: Iterable[Finding], version: str, rules: Iterable[Rule] = ()) -> str:
    """For code-review services: OASIS SARIF 2.1.0. `version` is docgen's; `rules` lend descriptions to their names."""
    from json import dumps

    findings = tuple(findings)
    described = {rule.name: rule for rule in rules}
    names = sorted({f.rule for f in findings})
    log = {
        "$schema": "https://json.schemastore.org/sarif-2.1.0.json",
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "docgen",
                        "semanticVersion": version,
                        "rules": [_descriptor(name, described.get(name)) for name in names],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [_result(f, names.index(f.rule)) for f in findings],
            }
        ],
    }
    return dumps(log, ensure_ascii=False, indent=2) + "\n"


def _descriptor(name: str, rule: Rule | None) -> dict[str, Any]:
    words = name.partition("/")[2].replace("-", " ")
    if rule is None:
        return {"id": name, "shortDescription": {"text": words}}
    return {
        "id": name,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": rule.why or rule.title},
        "help": {"text": "\n".join(filter(None, (rule.why, f"Basis: {rule.basis}", rule.exceptions)))},
    }


def _result(f: Finding, index: int) -> dict[str, Any]:
    result: dict[str, Any] = {
        "ruleId": f.rule,
        "ruleIndex": index,
        "level": _LEVEL[f.severity],
        "message": {"text": f"{f.message}\nhint: {f.hint}" if f.hint else f.message},
    }
    if f.where.file:
        result["locations"] = [_location(f.where)]
    if f.notes:
        steps = [{"location": _location(n.where) | {"message": {"text": n.text}}} for n in f.notes]
        result["codeFlows"] = [{"threadFlows": [{"locations": steps}]}]
    result["partialFingerprints"] = {"docgen/v1": _identity(f)}
    more = {"protocol": f.protocol, "site": f.site, "language": f.language, "artifact": f.artifact, "step": f.step,
            "hint": f.hint, "page": f.where.page, **dict(f.data)}  # fmt: skip
    result["properties"] = {key: value for key, value in more.items() if value}
    return result


def _location(where: Where) -> dict[str, Any]:
    if not where.file:
        return {}
    physical: dict[str, Any] = {"artifactLocation": {"uri": _uri(where.file)}}
    if where.line:
        physical["region"] = {"startLine": where.line}
        if where.column:
            physical["region"]["startColumn"] = where.column
        if where.excerpt:
            physical["region"]["snippet"] = {"text": where.excerpt}
    return {"physicalLocation": physical}


def _uri(file: str) -> str:
    """A path as a URI reference (RFC 3986): relative ones stay relative."""
    from urllib.parse import quote

    return ("file://" if file.startswith("/") else "") + quote(file)


def _identity(f: Finding) -> str:
    """The same for the same problem after lines above it have moved."""
    from hashlib import sha256

    parts = (f.rule, f.where.file, f.where.excerpt.strip(), f.step, f.artifact, f.site, f.language, f.message)
    return sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:32]
