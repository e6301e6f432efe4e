"""Judge whether a style sheet could hide words, or make them too small or too faint, without running a browser.

Style sheets can hide words in more ways than anybody can list. So a page may use only what this module knows: each
property in `SAFE` with the values it takes, each rule that hides something in `HIDING` by its very words, one colour
never without the ground it stands on, and sizes in steps of two named ones. Everything else is a finding.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from docgen.readback.pixels import contrast

LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3."""
LEAST_REM = 0.75
"""Least type size in root ems: 12 CSS pixels."""
LEAST_PT = 8.0
"""The same on paper, points."""

HIDING = frozenset(
    {
        ("", "html:not(.on) .live"),
        ("", ".late, .early"),
        ("", ".idle .marks"),
        ("", ".voiced .voiceless"),
        ("", ".ended .complete, html:not(.ended) .left"),
        ("@media screen", ".on .edition:not(.shown), .on .part:not(.here), .on .view:not(.now)"),
        (
            "@media screen",
            '.on .confirm[aria-pressed="false"] .sign-tick, .on .confirm[aria-pressed="true"] .sign-box',
        ),
        ("@media print", ".top, .hands, .say-aloud, .help, .saves, dialog, .timer, .confirm"),
        ("@media print", ".on .edition:not(.shown)"),
        ("@media print", "html:not(.record-only) .record, .record-only .view:not(.record), .record-only .part"),
    }
)
"""Medium and selector of every rule that may say `display: none`: what only the program shows, one step of many, and
what is of no use on paper."""

_LENGTH = r"(?:0|-?(?:\d*\.)?\d+(?:px|mm|em|rem|%|vw|vh|dvh|vmin|vmax|fr|pt)?)"
_SOME = r"(?:(?:\d*\.)?\d*[1-9]\d*(?:\.\d+)?(?:px|mm|em|rem|%|vw|vh|dvh|vmin|vmax|fr|pt))"
_NOT_NEGATIVE = r"(?:0|(?:\d*\.)?\d+(?:px|mm|em|rem|%|vw|vh|vmin|vmax|pt)|var\(--gap\)|calc\(2 \* var\(--gap\)\))"
_SPACE = rf"(?:{_NOT_NEGATIVE}|auto)(?: (?:{_NOT_NEGATIVE}|auto)){{0,3}}"
_WIDE = rf"(?:{_SOME}|auto|none|var\(--touch\)|max\({_SOME}, {_SOME}\)|min\({_SOME}, {_SOME}\)|0(?=;min))"
_LINE = (
    r"(?:[1-9]\d*(?:px|mm)|max\([^()]*\)|0|none)?(?: ?(?:solid|dashed|double))?(?: ?(?:currentColor|var\(--[\w-]+\)))?"
)
_COLOUR = r"var\(--[a-z-]+\)|#[0-9A-Fa-f]{6}"
_TRACKS = r"[\w\s\"()%,./*-]+"

SAFE: Mapping[str, str] = {
    "align-content": r"start|center", "align-items": r"start|center|baseline|stretch", "background": _COLOUR,
    "border": _LINE, "border-block-end": _LINE, "border-block-start": _LINE, "border-inline-start": _LINE,
    "border-collapse": r"collapse", "border-style": r"solid|dashed|double", "border-width": r"[1-9]\d*px",
    "border-color": r"transparent|currentColor|" + _COLOUR, "box-sizing": r"border-box", "break-after": r"avoid",
    "break-inside": r"avoid", "color": _COLOUR, "color-scheme": r"light|dark|light dark",
    "column-gap": _NOT_NEGATIVE, "cursor": r"\w+", "flex": r"[\w .]+",
    "display": r"block|flex|grid|contents|table(?:-row-group|-footer-group)?",
    "flex-wrap": r"wrap", "font": r"inherit", "font-style": r"italic", "font-variant-numeric": r"tabular-nums",
    "font-weight": r"400|700", "font-family": r'"docgen [\w-]+",system-ui,sans-serif', "gap": rf"{_SPACE}",
    "grid-area": r"marks|back|next", "grid-column": r"[12]|1 / -1", "grid-row": r"[1-6]", "grid-template": _TRACKS,
    "grid-template-columns": _TRACKS, "height": rf"{_WIDE}|100d?vh", "justify-content": r"[\w-]+",
    "line-height": r"[12]|[12]\.\d+", "list-style": r"none", "margin": _SPACE, "margin-block-end": _SPACE,
    "margin-block-start": _SPACE, "margin-inline-start": _SPACE, "max-height": _WIDE, "max-width": _WIDE,
    "min-height": rf"{_WIDE}|0", "min-width": rf"{_WIDE}|0", "outline": _LINE, "outline-offset": r"-?\dpx",
    "overflow-wrap": r"break-word|anywhere", "overflow-x": r"auto", "overflow-y": r"auto", "padding": _SPACE,
    "padding-block": _SPACE, "padding-inline": _SPACE, "padding-inline-start": _SPACE, "row-gap": _NOT_NEGATIVE,
    "scroll-behavior": r"smooth", "stroke-linecap": r"\w+", "stroke-linejoin": r"\w+",
    "text-align": r"start|center|end", "text-decoration": r"none|underline",
    "touch-action": r"manipulation|pan-y pinch-zoom", "vertical-align": r"top",
    "white-space": r"nowrap", "width": _WIDE, "-webkit-text-size-adjust": r"100%",
}  # fmt: skip
"""Property → the values it may take."""
_SIZE = re.compile(r"var\(--(?:base|small)\)|calc\(var\(--(?:base|small)\) \* (?P<times>\d+(?:\.\d+)?)\)")
_NAMED = re.compile(r"(?:calc\(var\(--zoom\) \* )?clamp\((?P<rem>[\d.]+)rem, [^()]*\)\)?|(?P<pt>[\d.]+)pt")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a style sheet."""

    around: str
    """Its at-rule, or nothing."""
    selector: str
    properties: tuple[tuple[str, str], ...]


def rules_of(text: str) -> Iterator[Rule]:
    """The rules of a style sheet. Raises ValueError where it can't be read."""
    text = re.sub(r"/\*.*?\*/", " ", text, flags=re.DOTALL)
    around: list[str] = []
    at = 0
    for m in re.finditer(r"[{}]", text):
        words = " ".join(text[at : m.start()].split())
        at = m.end()
        if m[0] == "{":
            around.append(words)
        elif not around:
            raise ValueError(f"`}}` closes nothing after `{words[-40:]}`")
        else:
            opened = around.pop()
            if words or not opened.startswith("@media"):
                yield Rule(" ".join(around), opened, tuple(_properties(words)))
    if around or text[at:].strip():
        raise ValueError(f"`{(around or [text[at:].strip()])[-1][:40]}` is not closed")


def _properties(words: str) -> Iterator[tuple[str, str]]:
    for part in re.split(r";(?![^(]*\))", words):
        if part.strip():
            name, colon, value = part.partition(":")
            if not colon:
                raise ValueError(f"`{part.strip()[:40]}` is no declaration")
            yield name.strip(), value.strip()


def judge(text: str) -> Iterator[tuple[str, str]]:
    """Rule of this room, and what is wrong, for everything in a style sheet that is not known to be safe."""
    try:
        rules = tuple(rules_of(text))
    except ValueError as problem:
        yield "readback/style", f"the style sheet can't be read: {problem}"
        return
    themes = tuple(_themes(rules))
    for rule in rules:
        if rule.selector == "@font-face":
            continue
        if rule.selector.startswith("@") and rule.selector != "@page":
            yield "readback/style", f"`{rule.selector[:60]}` is not known to leave words as they are"
            continue
        if rule.around not in ("", "@media print") and not rule.around.startswith(("@media screen", "@media (")):
            yield "readback/style", f"`{rule.around[:60]}` is not known to leave words as they are"
        if re.search(r"::|:(?:before|after|first-l)", rule.selector):
            yield "readback/hidden", f"`{rule.selector[:60]}` adds or changes words"
        yield from _values(rule)
        yield from _colours(rule, themes)


def _values(rule: Rule) -> Iterator[tuple[str, str]]:
    shown = f"`{rule.selector[:60]}`"
    for name, value in rule.properties:
        if name in ("--base", "--small"):
            found = _NAMED.fullmatch(value)
            if not found or float(found["rem"] or 99) < LEAST_REM or float(found["pt"] or 99) < LEAST_PT:
                yield "readback/too-small", f"{shown} sets `{name}` to `{value[:40]}`, which may be too small to read"
        elif name == "--zoom":
            if not re.fullmatch(r"[1-9]\d*(\.\d+)?", value):
                yield "readback/too-small", f"{shown} makes all words smaller"
        elif name.startswith("--"):
            if not re.fullmatch(rf"{_COLOUR}|max\([\w., ]+\)|inherit", value):
                yield "readback/style", f"{shown} sets `{name}` to `{value[:40]}`, which is no colour or length"
        elif name == "font-size":
            size = _SIZE.fullmatch(value)
            if not size or float(size["times"] or 1) < 1:
                yield "readback/too-small", f"{shown} sets words in `{value[:40]}`; write `calc(var(--base) * 1.2)`"
        elif (name, value) == ("display", "none"):
            if (rule.around, rule.selector) not in HIDING:
                yield "readback/hidden", f"{shown} hides words{' on paper' if 'print' in rule.around else ''}"
        elif name not in SAFE:
            yield "readback/hidden", f"{shown} uses `{name}`, which is not known to leave words as they are"
        elif not re.fullmatch(SAFE[name], value):
            yield "readback/hidden", f"{shown} sets `{name}` to `{value[:40]}`, which may hide words"


def _colours(rule: Rule, themes: Iterable[Mapping[str, str]]) -> Iterator[tuple[str, str]]:
    """A colour comes with its ground, and stands out from it whatever the theme."""
    values = dict(rule.properties)
    ink, ground = values.get("color"), values.get("background")
    if (ink is None) != (ground is None):
        alone = "color" if ink else "background"
        yield "readback/faint", f"`{rule.selector[:60]}` sets `{alone}` alone; set `color` and `background` together"
        return
    if ink is None or ground is None:
        return
    for theme in themes:
        one, other = _resolved(ink, theme), _resolved(ground, theme)
        if not one or not other:
            yield "readback/faint", f"`{rule.selector[:60]}` uses a colour that is nowhere defined"
            return
        ratio = contrast(_luminance(one), _luminance(other))
        if ratio < LEAST_CONTRAST:
            yield "readback/faint", f"`{rule.selector[:60]}` has words of contrast {ratio:.1f} to 1 ({one} on {other})"
            return


def _themes(rules: Iterable[Rule]) -> Iterator[Mapping[str, str]]:
    """Every set of named colours that a page can have: each rule for the root laid over those before it, or not."""
    roots = [dict(r.properties) for r in rules if r.selector.startswith(":root")]
    named = [{n: v for n, v in r.items() if n.startswith("--")} for r in roots]
    base = {
        n: v for r, name in zip(named, rules_named(rules), strict=True) if name == (":root", "") for n, v in r.items()
    }
    extra = [r for r, name in zip(named, rules_named(rules), strict=True) if name != (":root", "") and _has_colours(r)]
    for chosen in product((False, True), repeat=len(extra)):
        theme = dict(base)
        for take, more in zip(chosen, extra, strict=True):
            theme |= more if take else {}
        yield theme


def rules_named(rules: Iterable[Rule]) -> list[tuple[str, str]]:
    """Selector and at-rule of the rules for the root."""
    return [(r.selector, r.around) for r in rules if r.selector.startswith(":root")]


def _has_colours(named: Mapping[str, str]) -> bool:
    return bool({"--ink", "--paper", "--tint"} & named.keys() or any(v.startswith("#") for v in named.values()))


def _resolved(value: str, theme: Mapping[str, str]) -> str:
    for _ in range(8):
        m = re.fullmatch(r"var\((--[\w-]+)\)", value)
        if not m:
            break
        value = theme.get(m[1], "")
    return value if re.fullmatch(r"#[0-9A-Fa-f]{6}", value) else ""


def _luminance(colour: str) -> float:
    """Relative luminance of `#RRGGBB` (WCAG 2.2)."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
