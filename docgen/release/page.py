"""Turn accounts of changes into one page for a browser that needs nothing but itself."""

from __future__ import annotations

from collections.abc import Iterable

from docgen.model.change import Change
from docgen.release.account import HOW, WHAT, title
from docgen.release.touched import Touched
from docgen.release.version import least

PAGE = "compare/page.html.j2"
"""Its template."""


def page(changes: Iterable[tuple[Change, Touched]], template: str) -> str:
    """The page. Raises `jinja2.TemplateError` if the template can't be used; every value is escaped."""
    from jinja2 import StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    env = ImmutableSandboxedEnvironment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True
    )
    shown = [
        {
            "change": change, "touched": touched, "before": change.before, "after": change.after,
            "least": least(change.before.version, change.degree),
            "parts": [{"part": p, "title": title(p), "how": HOW[p.how]} for p in change.parts],
        }
        for change, touched in changes
    ]  # fmt: skip
    return env.from_string(template).render(changes=shown, field=lambda name: WHAT.get(name, name))
