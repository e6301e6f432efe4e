"""Turn an edition into what an artifact says: templates (Markdown + Jinja2) to blocks.

Templates come from whoever edits them, so they run in Jinja's sandbox, an undefined name is an error, and they can
print authored words but never change them.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from docgen.compose.changes import Changes
from docgen.compose.environment import environment
from docgen.compose.handles import Ledger
from docgen.compose.markup import Voice, compose_page, compose_report
from docgen.compose.problems import line_of, problem_of
from docgen.compose.records import seen
from docgen.compose.sayings import Translate
from docgen.compose.skeleton import blocks
from docgen.compose.views import LATE, Views, box
from docgen.findings import Finding, Where, error
from docgen.model.block import Composition, Origin
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.model.text import Run

__all__ = ["PARTS", "Voice", "compose", "compose_page", "compose_record", "compose_report"]

PARTS = ("main", "head", "stamp", "band", "columns", "end")
"""`main` flows; `head`, `columns` (a table head), `stamp` and `band` repeat on every sheet; `end` closes the last."""


def _iso(day: datetime.date) -> str:
    return day.isoformat()


def compose(
    edition: Edition,
    artifact: str,
    templates: Mapping[str, str],
    analysis: Analysis,
    translate: Translate,
    long_date: Callable[[datetime.date], str] = _iso,
    other: Translate | None = None,
    change: Change | None = None,
    record: Mapping[str, Any] | None = None,
) -> tuple[Composition | None, tuple[Finding, ...]]:
    """Compose one artifact.

    `templates`: path below templates/ → text, such as `poster/main.md.j2`; a part an artifact lacks is taken from
    `house/`. `translate` gives a template's own words in the edition's language, `other` in the one beside it.
    `change`: what differs from the version before. `record`: what an approval record says besides the edition. Returns
    None with the findings if a template can't be used.
    """
    ledger = Ledger()
    views = Views(edition, analysis, ledger, translate, long_date, other)
    edition_seen = views.edition()
    if change:
        edition_seen = replace(edition_seen, change=Changes(change, ledger, translate).view())
    context = {
        "edition": edition_seen, "record": seen(record or {}, ledger), "_": views.word, "source": views.source,
        "beside": views.beside, "box": views.box,
    }  # fmt: skip
    return _rendered(artifact, templates, (artifact, "house"), context, ledger)


def compose_record(
    artifact: str, templates: Mapping[str, str], record: Mapping[str, Any]
) -> tuple[Composition | None, tuple[Finding, ...]]:
    """Compose a sheet that is not of an edition, such as a round sheet: its templates see `record`, `box`, and the
    number `sheet` of `sheets`. What a mapping under `id` calls itself, everything in it speaks for."""
    ledger = Ledger()
    late = {name: ledger.runs((Run(slot=name, isolate=True),), Origin("stamp", field=name)) for name in LATE}
    context = {"record": seen(record, ledger), "box": partial(box, ledger), **late}
    return _rendered(artifact, templates, (artifact,), context, ledger)


def _rendered(
    artifact: str, templates: Mapping[str, str], folders: tuple[str, ...], context: Mapping[str, Any], ledger: Ledger
) -> tuple[Composition | None, tuple[Finding, ...]]:
    from jinja2 import TemplateSyntaxError

    env = environment(tuple(templates.items()), keep_trailing_newline=True)
    parts = []
    findings: list[Finding] = []
    for part in PARTS:
        file = next((f for folder in folders if (f := f"{folder}/{part}.md.j2") in templates), "")
        if not file:
            continue
        try:
            skeleton = env.get_template(file).render(context)
        except TemplateSyntaxError as problem:
            findings.append(problem_of(problem.name or file, templates, problem.lineno, f"{problem.message}"))
            continue
        except Exception as problem:  # a template is somebody's program: whatever it does wrong is its own finding
            findings.append(problem_of(file, templates, line_of(problem, file), str(problem)))
            continue
        found, problems = blocks(re.sub(r"\n{3,}", "\n\n", skeleton), ledger, f"templates/{file}")
        findings += problems
        parts.append((part, found))
    if findings:
        return None, tuple(findings)
    if not dict(parts).get("main"):
        return None, (
            error(
                "compose/no-template",
                f"there is no template for `{artifact}`",
                Where(f"templates/{artifact}/main.md.j2"),
                artifact=artifact,
                hint=f"write templates/{artifact}/main.md.j2, or copy the shipped one",
            ),
        )
    return Composition(artifact, tuple(parts)), ()
