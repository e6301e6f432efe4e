"""Turn a YAML parser's complaint into what the author did and how to mend it."""

from __future__ import annotations

import re
from typing import Any

_QUOTE = "put quotes round the whole text"
_INDENT = "line it up with the keys above it, with blanks only"


def explain(problem: Any, lines: list[str]) -> tuple[str, str, int, int]:
    """Message, hint, line and column (from 0) for a `yaml.YAMLError`."""
    mark: Any = getattr(problem, "problem_mark", None) or getattr(problem, "context_mark", None)
    start: Any = getattr(problem, "context_mark", None) or mark
    said = str(getattr(problem, "problem", None) or getattr(problem, "reason", None) or "it cannot be read")
    context = str(getattr(problem, "context", None) or "")
    if mark is None:
        return f"this is not YAML: {_tidy(said)}", "look at the lines around", 0, 0
    line, column = mark.line, mark.column
    row = lines[line] if line < len(lines) else ""
    here = row[column : column + 1]

    if "violates indentation" in said or re.match(r" *\t", row):
        return "a tab is used for indentation", "use blanks instead of tabs", line, max(row.find("\t"), 0)
    if "mapping values are not allowed" in said:
        before = row[:column].strip(" -")
        if ":" in before or (line == start.line and before.count(" ") > 3):
            return "a second `: ` in a text without quotes", _QUOTE, line, column
        return "a `:` stands where no key can be: an indentation is off, or a text runs on", _INDENT, line, column
    if "cannot start any token" in said:
        if "\t" in (here, row[: column + 1][-1:]) or re.match(r" *\t", row):
            return "a tab is used for indentation", "use blanks instead of tabs", line, row.find("\t")
        return f"a text cannot start with `{here}` without quotes", _QUOTE, line, column
    if "while scanning an alias" in context or "while scanning an anchor" in context:
        sign = "*" if "alias" in context else "&"
        return f"a text cannot start with `{sign}` without quotes", _QUOTE, start.line, start.column
    if "block sequence entries are not allowed" in said:
        return "a `-` stands where no list can begin", "begin the list on its own line, below its key", line, column
    if "quoted scalar" in context and "end of stream" in said:
        return "a quote is opened here and never closed", "close it with the same quote mark", start.line, start.column
    if "unknown escape" in said:
        return "an unknown `\\` sequence inside double quotes", "use single quotes, or write `\\\\`", line, column
    if "flow" in context:
        what = "[" if "sequence" in context else "{"
        message = f"`{what}` opens here and is not closed as expected"
        return message, f"close it, or {_QUOTE} if it is a text", start.line, start.column
    if "did not find expected key" in said or "expected '-'" in said:
        return _after_value(row, line, column, lines)
    if "could not find expected ':'" in said:
        hint = "write `key: value`, or quote a text that runs on"
        return "a key without `: ` after it", hint, start.line, start.column
    if "expected <document start>" in said:
        return "text stands after the end of the document", "delete what follows `...`", line, column
    return f"this is not YAML: {_tidy(said)}", "look at this line and the one above", line, column


def _after_value(row: str, line: int, column: int, lines: list[str]) -> tuple[str, str, int, int]:
    """The parser wanted the next key: either words after a closing quote or brace, or an indentation that is off."""
    before = row[:column].rstrip()
    if before.endswith("}"):
        hint = "put quotes round a text that starts with `{`"
        return "words after a closing `}`", hint, line, column
    if before.endswith(("'", '"')):
        hint = "double a `'` inside single quotes (`it''s`), or quote the whole text"
        return "words after a closing quote", hint, line, column
    return "this line's indentation fits none of the lines above", _INDENT, line, column


def _tidy(said: str) -> str:
    return said.rstrip(".").replace("<", "").replace(">", "")
