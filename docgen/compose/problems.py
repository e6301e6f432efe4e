"""Turn what goes wrong in a template into a finding at its own line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from difflib import get_close_matches

from docgen.compose.views import BranchView, CautionView, EditionView, PhaseView, RoleView, StepView
from docgen.findings import Finding, Where, error

VIEWS = (EditionView, PhaseView, StepView, CautionView, BranchView, RoleView)
_NO_ATTRIBUTE = re.compile(r"'[\w.]*\.(\w+) object' has no attribute '(\w+)'")


def problem_of(file: str, templates: Mapping[str, str], line: int, message: str) -> Finding:
    """The finding for a template that can't be used, shown at one of its lines."""
    lines = templates.get(file, "").splitlines()
    return error(
        "compose/template",
        f"the template can't be used: {_said(message)[:1].lower()}{_said(message)[1:]}".rstrip("."),
        Where(f"templates/{file}", line, 0, lines[line - 1] if 0 < line <= len(lines) else ""),
        hint=_hint(message),
    )


def _hint(message: str) -> str:
    """What to write instead of a name that does not exist."""
    found = _NO_ATTRIBUTE.search(message)
    if found and (names := {n.name for view in VIEWS if view.__name__ == found[1] for n in fields(view)}):
        if close := get_close_matches(found[2], names, n=1):
            return f"did you mean `{close[0]}`?"
        return "it has " + ", ".join(f"`{n}`" for n in sorted(names))
    return "mend the line shown; names a template may use are listed in DEVELOPERS.md"


def _said(message: str) -> str:
    """Jinja's message without names of classes."""
    found = _NO_ATTRIBUTE.search(message)
    if not found:
        return message
    return f"{found[1].removesuffix('View').lower()} has no `{found[2]}`"


def line_of(problem: BaseException, file: str) -> int:
    """The line of the template in which rendering failed: Jinja rewrites its frames to the template's own lines."""
    line = 0
    trace = problem.__traceback__
    while trace:
        if trace.tb_frame.f_code.co_filename in (file, "<template>"):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line
