"""Turn what goes wrong in a template into a finding at its own line."""

from __future__ import annotations

from collections.abc import Mapping

from docgen.findings import Finding, Where, error


def problem_of(file: str, templates: Mapping[str, str], line: int, message: str) -> Finding:
    """The finding for a template that can't be used, shown at one of its lines."""
    lines = templates.get(file, "").splitlines()
    return error(
        "compose/template",
        f"the template can't be used: {message[:1].lower()}{message[1:]}".rstrip("."),
        Where(f"templates/{file}", line, 1 if line else 0, lines[line - 1] if 0 < line <= len(lines) else ""),
        hint="mend the line shown; names a template may use are listed in DEVELOPERS.md",
    )


def line_of(problem: BaseException, file: str) -> int:
    """The line of the template in which rendering failed: Jinja rewrites its frames to the template's own lines."""
    line = 0
    trace = problem.__traceback__
    while trace:
        if trace.tb_frame.f_code.co_filename in (file, "<template>"):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line
