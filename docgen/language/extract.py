"""Turn templates, signal words and figure phrases into messages to translate.

Templates are parsed with Jinja itself: one that cannot be parsed is a finding and not a hole in the catalogue.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from jinja2 import TemplateSyntaxError, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

from docgen.findings import Finding, Where, error, warning
from docgen.language.texts import room, translatable
from docgen.model.catalogue import TEMPLATE, Message

SIGNALS = ("danger", "warning", "caution", "notice")
"""Of ANSI Z535.4, gravest first; `WARNING` is what a template asks for."""
_SUFFIX = ".j2"
_SHEETS = ".md.j2"
"""What ends up on a sheet, where every word has to be in its reader's language."""
_OUTSIDE = re.compile(r"(?<!\w)[^\W\d_]{3,}(?!\w)")
"""A word of a template's own outside `_(…)`. Signs such as `v` and `m` are no words."""


def extract(templates: Mapping[str, str]) -> tuple[tuple[Message, ...], tuple[Finding, ...]]:
    """The words of all templates (path below templates/ → text), each once with the files it stands in."""
    files: dict[str, list[str]] = {}
    boxed: set[str] = set()
    slots: dict[str, list[str]] = {}
    findings: list[Finding] = []
    env = ImmutableSandboxedEnvironment(trim_blocks=True, lstrip_blocks=True)
    for name, text in sorted(templates.items()):
        if not name.endswith(_SUFFIX):
            continue
        file, lines = f"templates/{name}", text.splitlines()
        try:
            tree = env.parse(text)
        except TemplateSyntaxError as problem:
            message = f"the template can't be parsed, so its words are not known: {problem.message}".rstrip(".")
            findings.append(
                error("language/template", message, _at(file, problem.lineno, lines), hint="mend the line shown")
            )
            continue
        for call in _calls(tree, "_"):
            first = call.args[0] if call.args else None
            if not (isinstance(first, nodes.Const) and isinstance(first.value, str)) or call.dyn_args:
                findings.append(
                    error("language/template", "`_(…)` must be given its words in quotes, so that they can be found",
                          _at(file, call.lineno, lines), hint='write `_("words with {slots}", slot=…)`')
                )  # fmt: skip
                continue
            files.setdefault(first.value, []).append(file)
            slots.setdefault(first.value, [k.key for k in call.kwargs])
        for call in _calls(tree, "box"):
            boxed |= {c.args[0].value for c in _calls(call, "_") if c.args and isinstance(c.args[0], nodes.Const)}
        findings += _outside(tree, file, lines) if name.endswith(_SHEETS) else ()
    messages = tuple(
        Message(f"{TEMPLATE}.{words}", words, _notes(words, words in boxed, slots[words]), tuple(dict.fromkeys(where)))
        for words, where in files.items()
        if translatable(TEMPLATE, words) or slots[words]
    )
    return messages, tuple(findings)


def signal_messages() -> tuple[Message, ...]:
    """The four signal words."""
    note = "Signal word of ANSI Z535.4 over a caution. Use the word of your country's safety signs."
    return tuple(Message(f"signal.{s}", s.upper(), (note, f"Room: {room(s)} characters."), ()) for s in SIGNALS)


def phrase_messages(phrases: Mapping[str, str]) -> tuple[Message, ...]:
    """The phrases of spoken descriptions of figures: key → English."""
    note = "Part of a figure's description; screen readers say it, it is not printed."
    extra = {"separator": "Stands between two names of a list; its blanks count."}
    return tuple(
        Message(f"figure.{key}", words, (note, *filter(None, [extra.get(key)])), ()) for key, words in phrases.items()
    )


def _calls(tree: nodes.Node, name: str) -> Iterator[nodes.Call]:
    for call in tree.find_all(nodes.Call):
        if isinstance(call.node, nodes.Name) and call.node.name == name:
            yield call


def _notes(words: str, boxed: bool, slots: list[str]) -> tuple[str, ...]:
    notes = ["Name of a box to fill in; screen readers say it." if boxed else "Printed on the sheets."]
    notes += [f"Keep {', '.join(f'{{{s}}}' for s in slots)}."] if slots else []
    return (*notes, f"Room: {room(words)} characters.")


def _outside(tree: nodes.Template, file: str, lines: list[str]) -> Iterator[Finding]:
    for part in tree.find_all(nodes.TemplateData):
        found = _OUTSIDE.search(part.data)
        if found:
            line = part.lineno + part.data[: part.data.find(found[0])].count("\n")
            yield warning(
                "language/words-outside", f"`{found[0]}` stands outside `_(…)`, so it is printed in every language",
                _at(file, line, lines), hint=f'write `{{{{ _("{found[0]} …") }}}}`',
            )  # fmt: skip


def _at(file: str, line: int, lines: list[str]) -> Where:
    return Where(file, line, 1, lines[line - 1] if 0 < line <= len(lines) else "")
