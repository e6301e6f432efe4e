"""Turn editions into pages for screens: HTML templates (Jinja2, escaped) to markup with the edition's pieces in it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from docgen.compose.environment import environment
from docgen.compose.handles import CLOSE, MARK, OPEN, Handle, Ledger
from docgen.compose.problems import line_of, problem_of
from docgen.compose.sayings import Sayings, Translate
from docgen.compose.views import Views
from docgen.findings import Finding, Where, error
from docgen.model.block import Origin, Piece
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.model.page import Article, Page, Said
from docgen.model.text import Run

SHARED = "house/screen.css"
"""Style sheet of all pages; an artifact's own, `<artifact>/page.css`, follows it, and `<artifact>/page.js` moves it."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One edition in one language, and how that language speaks."""

    edition: Edition
    analysis: Analysis
    translate: Translate
    long_date: Callable[[datetime.date], str]
    rtl: bool
    own_name: str
    """What the language calls itself."""


def compose_page(
    artifact: str, voices: Sequence[Voice], templates: Mapping[str, str], more: Mapping[str, Any] | None = None
) -> tuple[Page | None, tuple[Finding, ...]]:
    """Compose one page from `<artifact>/page.html.j2`, once for each voice.

    The template sees `edition`, `_`, `plain(handle)` for the words alone (for attributes), `thing(kind, name, label)`
    for something to be drawn, with words for those who can't see it, `rtl`, `languages` (tag and own name of every
    voice) and whatever is in `more`, which it must not trust: everything but handles is escaped. Returns None with the
    findings if a template can't be used.
    """
    ledger = Ledger()
    articles: list[Article] = []
    for voice in voices:
        views = Views(voice.edition, voice.analysis, ledger, voice.translate, voice.long_date)
        context = {
            **(more or {}),
            "edition": views.edition(),
            "_": views.word,
            "rtl": voice.rtl,
            "languages": tuple(_named(v, ledger) for v in voices),
        }
        text, findings = _rendered(artifact, templates, ledger, context)
        if findings:
            return None, findings
        language = voice.edition.language
        phrases = tuple(views.phrases | dict.fromkeys((*_literal(text), *(v.own_name for v in voices))))
        articles.append(Article(language, voice.rtl, tuple(_parts(text, ledger, language)), phrases))
    return _page(artifact, voices[0].edition.title.plain, articles, templates), ()


def compose_report(
    name: str, title: str, language: str, rtl: bool, translate: Translate, templates: Mapping[str, str],
    more: Mapping[str, Any],
) -> tuple[Page | None, tuple[Finding, ...]]:  # fmt: skip
    """Compose a page that is of no edition, from `<name>/page.html.j2`, in one language.

    The template sees `language`, `rtl`, `_`, `plain`, `thing` and `more`, as for `compose_page`; `title` is one of the
    template's own words.
    """
    ledger = Ledger()
    sayings = Sayings(ledger, translate)
    context = {**more, "_": sayings.word, "language": language, "rtl": rtl}
    text, findings = _rendered(name, templates, ledger, context)
    if findings:
        return None, findings
    phrases = tuple(sayings.phrases | dict.fromkeys(_literal(text)))
    article = Article(language, rtl, tuple(_parts(text, ledger, language)), phrases)
    return _page(name, _plain(ledger)(sayings.word(title)), (article,), templates), ()


def _rendered(
    artifact: str, templates: Mapping[str, str], ledger: Ledger, context: Mapping[str, Any]
) -> tuple[str, tuple[Finding, ...]]:
    """What the template of a page says, with handles in it; or what is wrong with it."""
    from jinja2 import TemplateSyntaxError

    file = f"{artifact}/page.html.j2"
    env = environment(tuple(templates.items()), autoescape=True)
    try:
        text = env.get_template(file).render({**context, "plain": _plain(ledger), "thing": _thing(ledger)})
    except TemplateSyntaxError as problem:
        return "", (problem_of(problem.name or file, templates, problem.lineno, f"{problem.message}"),)
    except Exception as problem:  # a template is somebody's program: whatever it does wrong is its own finding
        return "", (problem_of(file, templates, line_of(problem, file), str(problem)),)
    if {OPEN, CLOSE} & set(MARK.sub("", text)):
        return "", (_cut(file),)
    if inside := _inside_a_tag(text, ledger):
        return "", (_in_attribute(file, inside),)
    return text, ()


def _page(artifact: str, title: str, articles: Sequence[Article], templates: Mapping[str, str]) -> Page:
    styles = [templates.get(name, "") for name in (SHARED, f"{artifact}/page.css")]
    script = templates.get(f"{artifact}/page.js", "")
    return Page(artifact, title, tuple(articles), "\n".join(filter(None, styles)), script)


def _literal(text: str) -> list[str]:
    """What the template itself says outside its tags: signs between words."""
    return [words for part in re.split(r"<[^>]*>", MARK.sub("<>", text)) if (words := part.strip())]


def _plain(ledger: Ledger) -> Callable[[Handle | str], str]:
    def plain(handle: Handle | str) -> str:
        return "".join(run.text for piece in ledger.behind(handle) for run in piece.runs)

    return plain


def _named(voice: Voice, ledger: Ledger) -> tuple[str, Handle]:
    """A language's tag, and its own name, which is set in its own font wherever it stands."""
    tag = voice.edition.language
    return tag, ledger.give(Piece((Run(voice.own_name),), Origin("word"), language=tag))


def _thing(ledger: Ledger) -> Callable[..., Handle]:
    def thing(kind: str, name: str, label: Handle | str = "") -> Handle:
        runs = tuple(run for piece in ledger.behind(label) for run in piece.runs)
        return ledger.thing(Origin(kind, name), runs)

    return thing


def _parts(text: str, ledger: Ledger, language: str) -> list[str | Said]:
    out: list[str | Said] = []
    for n, part in enumerate(MARK.split(text)):
        if n % 2:
            out += [Said(piece, piece.language or language) for piece in ledger[int(part)]]
        elif part:
            out.append(part)
    return out


def _inside_a_tag(text: str, ledger: Ledger) -> str:
    """The words of the first handle that stands between `<` and `>`; empty if none does."""
    for mark in MARK.finditer(text):
        if text.rfind("<", 0, mark.start()) > text.rfind(">", 0, mark.start()):
            return _plain(ledger)(mark[0])
    return ""


def _in_attribute(file: str, words: str) -> Finding:
    return error(
        "compose/text-in-tag",
        f"the template puts a text of the protocol into a tag: `{words[:40]}`",
        Where(f"templates/{file}"),
        hint="write `plain(…)` around it there",
    )


def _cut(file: str) -> Finding:
    return error(
        "compose/text-cut",
        "the template cuts or changes a text of the protocol",
        Where(f"templates/{file}"),
        hint="print texts as they are: no filters, slices or string methods on them",
    )
