"""Turn one authored string into runs of words, once: emphasis, `{slots}` and numbers that must stay whole.

CommonMark's emphasis and backslash escapes are all that is switched on; HTML, links, lists and entities stay the
characters they are. A star that marks nothing is refused, since it is nearly always a lost multiplication sign.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.rules_inline import StateInline

from docgen.model.text import Flaw, Run, Runs, Words, WordsError

_PLAIN = re.compile(r"[^*_\\{}]*")
_BLANKS = re.compile(r"[ \t\r\n]+")
_SLOT = re.compile(r"\{([a-z0-9]+(?:-[a-z0-9]+)*)\}")

_NUMBER = r"\d+(?:[.,:/\u2044]\d+)*"
_UNIT = (
    r"(?:%|‰|°\s?[CF]?\b|[µμmkcdnM]?(?:g|[lL]|m|s|A|V|W|J|Pa|Hz|mol|cd|lx|Bq|Gy|Sv)(?:[²³]|\b)"
    r"|(?:min|h|d|kPa|mmHg|ppm|in|ft|yd|oz|lb|gal|rpm|IU|pH|dB)\b)"
)
_WHOLE = re.compile(
    rf"""
    (?<![\w.])(?:
      \+?\(?\d[\d()]*(?:[ \u00a0-]\(?\d[\d()]*){{2,}}       # a telephone number: three groups or more
    | \+\d[\d()]*(?:[ \u00a0-]\(?\d[\d()]*)+                # … or two with the international sign
    | [<>≤≥≈~±+\-−]?[ \u00a0]?{_NUMBER}                     # a number with its sign,
      (?:\s?[–—×x/-]\s?{_NUMBER})*                          # a range, a ratio, a size
      (?:[ \u00a0\u202f]?{_UNIT}(?:/{_UNIT})?)?             # and its unit
    )(?!\w)
    """,
    re.VERBOSE,
)
_BARE = re.compile(r"\d+")


def _slot(state: StateInline, silent: bool) -> bool:
    """`{name}` is a slot, `{{` and `}}` are braces; any other brace is noted as a flaw."""
    char = state.src[state.pos]
    if char not in "{}":
        return False
    if state.src.startswith(char * 2, state.pos):
        if not silent:
            state.pending += char
        state.pos += 2
        return True
    found = _SLOT.match(state.src, state.pos)
    flaw = None if found else _brace(state.src, state.pos)
    if not silent:
        if found:
            state.push("slot", "", 0).content = found[1]
        else:
            state.env["flaws"].append(flaw)
    skipped = found[0] if found else flaw.fragment if flaw and flaw.fragment.endswith("}") else char
    state.pos += len(skipped)
    return True


def _brace(src: str, pos: int) -> Flaw:
    if src[pos] == "}":
        return Flaw("a `}` closes nothing", "write `}}` for a brace, or `{name}` for a placeholder", src[pos : pos + 8])
    inside = src[pos + 1 : src.find("}", pos)] if "}" in src[pos:] else None
    if inside is None or "{" in inside:
        return Flaw("a `{` is not closed", "write `{{` for a brace, or `{name}` for a placeholder", src[pos : pos + 8])
    name = re.sub(r"[^a-z0-9]+", "-", inside.lower()).strip("-")
    hint = f"write `{{{name}}}`" if name else "put a name between the braces"
    message = f"`{{{inside}}}` is no placeholder: its name is lower-case words joined by hyphens"
    return Flaw(message, hint, f"{{{inside}}}")


def _strays(state: StateInline) -> None:
    """Stars that opened and closed nothing, and stars between digits that would vanish as emphasis."""
    tokens = state.tokens
    for index, token in enumerate(tokens):
        if token.type == "text" and token.content == "*":
            state.env["strays"].append(_star())
        elif token.nesting:
            beside = reversed(tokens[:index]) if token.nesting > 0 else tokens[index + 1 :]
            outside = next((t.content for t in beside if t.content), "")
            touching = outside[-1:] if token.nesting > 0 else outside[:1]
            if touching.isdigit() and token.markup[0] == "*":
                state.env["strays"].append(_star(f"{touching}*" if token.nesting > 0 else f"*{touching}"))


def _parser() -> MarkdownIt:
    md = MarkdownIt("zero").enable(["escape", "emphasis"])
    md.inline.ruler.before("emphasis", "slot", _slot)
    md.inline.ruler2.after("emphasis", "strays", _strays)
    return md


_MD = _parser()


@lru_cache(maxsize=4096)
def inline(text: str) -> Words:
    """Parse authored words: NFC, line folds as single blanks. Raises `WordsError` with every flaw.

    The runs joined, with slots as `{name}`, are the author's text without its marks; the source is kept beside them.
    """
    source = _BLANKS.sub(" ", unicodedata.normalize("NFC", text)).strip(" ")
    if _PLAIN.fullmatch(source):
        return Words(source, _whole(Run(source)) if source else ())
    env: dict[str, Any] = {"flaws": [], "strays": []}
    tokens: list[Any] = []
    _MD.inline.parse(source, _MD, env, tokens)
    flaws = [*(_products(source) or env["strays"][:1]), *env["flaws"]]
    if flaws:
        raise WordsError(tuple(flaws))
    return Words(source, _runs(tokens))


def _star(at: str = "") -> Flaw:
    if at:
        message = "a `*` with a digit outside would be read as emphasis and vanish"
        return Flaw(message, "write `×` for a multiplication sign, `\\*` for a star, or leave a blank", at)
    return Flaw(
        "a `*` marks nothing", "write `\\*` for a star, `×` for a multiplication sign, or close the emphasis", "*"
    )


def _products(source: str) -> list[Flaw]:
    """`2*3`: stars between digits."""
    bare = re.sub(r"\\.", "  ", source)
    found = list(re.finditer(r"\w*\d\s?\*+\s?\d\w*", bare))
    hint = "write `×` for a multiplication sign, or `\\*` for a star"
    return [Flaw(f"the `*` in `{m[0]}` would be read as emphasis and vanish", hint, m[0]) for m in found]


def _runs(tokens: list[Any]) -> Runs:
    strong = emphasis = 0
    out: list[Run] = []
    for token in tokens:
        if token.type in ("strong_open", "strong_close"):
            strong += token.nesting
        elif token.type in ("em_open", "em_close"):
            emphasis += token.nesting
        elif token.type == "slot":
            out.append(Run("", strong > 0, emphasis > 0, token.content))
        elif token.content:
            last = out[-1] if out else None
            if last and not last.slot and (last.strong, last.emphasis) == (strong > 0, emphasis > 0):
                out[-1] = Run(last.text + token.content, last.strong, last.emphasis)
            else:
                out.append(Run(token.content, strong > 0, emphasis > 0))
    return tuple(piece for run in out for piece in ((run,) if run.slot else _whole(run)))


def _whole(run: Run) -> Runs:
    """Cut a run so that each number with its sign and unit, range or telephone number stands alone."""
    out: list[Run] = []
    at = 0
    for found in _WHOLE.finditer(run.text):
        start, end = found.span()
        while run.text[start] in " \u00a0":
            start += 1
        if _BARE.fullmatch(run.text, start, end):
            continue
        if start > at:
            out.append(Run(run.text[at:start], run.strong, run.emphasis))
        out.append(Run(run.text[start:end], run.strong, run.emphasis, isolate=True))
        at = end
    if at < len(run.text):
        out.append(Run(run.text[at:], run.strong, run.emphasis))
    return tuple(out)
