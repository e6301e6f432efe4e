"""Turn template texts into the sandbox they run in, and keep it: a template is compiled once a process."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2.sandbox import ImmutableSandboxedEnvironment


@lru_cache(maxsize=8)
def environment(
    templates: tuple[tuple[str, str], ...], *, autoescape: bool = False, keep_trailing_newline: bool = False
) -> ImmutableSandboxedEnvironment:
    """The sandbox for some templates, (path, text) each; a name that is not defined is an error in it."""
    from jinja2 import DictLoader, StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    return ImmutableSandboxedEnvironment(
        loader=DictLoader(dict(templates)),
        undefined=StrictUndefined,
        autoescape=autoescape,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=keep_trailing_newline,
    )
