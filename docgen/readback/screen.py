"""Turn the bytes of a page and its edition into findings: everything on it that is not as the edition says.

The same words in the same order as on sheets, by the same comparison; and that the page hides nothing, loads nothing,
sends nothing, and gives its program the right path through the steps.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from hashlib import sha256

from docgen.findings import Finding, Where, error
from docgen.model.edition import SCREENS, Edition, Step
from docgen.readback.carriage import carriage
from docgen.readback.copy import Unreadable
from docgen.readback.flow import Flow
from docgen.readback.foreign import foreign_words
from docgen.readback.html import Article, View, Web, read_web
from docgen.readback.stamp import DRAFT, stamp_of_words
from docgen.readback.stream import RIGHT_TO_LEFT, stream_of
from docgen.readback.styles import judge
from docgen.readback.verdict import shortened
from docgen.readback.wanted import SIGNALS

RULES: tuple[tuple[str, str], ...] = (
    ("readback/markup", "the page is put together as HTML asks for"),
    ("readback/active-content", "the page loads nothing, sends nothing, and runs no program but its own"),
    ("readback/foreign-script", "the program of the page is the template's"),
    ("readback/hidden", "nothing hides words but what is known to"),
    ("readback/style", "the style sheet can be read and leaves words as they are"),
    ("readback/figure-unsaid", "every figure has words for those who cannot see it"),
    ("readback/reader-path", "the program is given the steps, stops, branches and times of the edition"),
    ("readback/language-missing", "the page speaks the language it is examined for"),
    ("readback/walk-ended", "a walk through the page in a browser comes to its end"),
    ("readback/link-broken", "every link leads to something that is there"),
)
"""Rules for pages alone; those of sheets that hold for pages too have the same names."""
FACTS = ("code", "version", "fingerprint", "site", "language", "effective", "review")
_HASH = re.compile(r"'sha256-[A-Za-z0-9+/=]+'")
_PICTURE = re.compile(r"data:image/png;base64,[A-Za-z0-9+/=]+")


def examine_page(
    data: bytes,
    edition: Edition,
    artifact: str,
    file: str,
    *,
    draft: bool = False,
    known_words: Iterable[str] | None = None,
    terms: Mapping[str, str] | None = None,
    script: str | None = None,
    files: Iterable[str] = (),
) -> tuple[Finding, ...]:
    """Compare a finished page with its edition, in the edition's language.

    `draft`, `known_words` and `terms` as for sheets. `script`: the program it must have; not compared if left
    out. `files`: what links of a page may lead to. Never raises for anything in `data`.
    """
    if artifact not in SCREENS:
        raise ValueError(f"`{artifact}` is no page; one of {', '.join(SCREENS)}")
    try:
        web = read_web(data)
    except Unreadable as problem:
        findings = [error(problem.rule, problem.message, Where(file), hint=problem.hint)]
    else:
        findings = [*_page(web, file, script, frozenset(files))]
        article = next((a for a in web.articles if a.language == edition.language), None)
        if article is None:
            there = ", ".join(f"`{a.language}`" for a in web.articles) or "no language"
            findings.append(
                error("readback/language-missing", f"the page has {there} and not `{edition.language}`", Where(file),
                      hint="make the page in this language")
            )  # fmt: skip
        else:
            findings += _judge(article, edition, artifact, file, draft, known_words, terms)
    return tuple(
        replace(f, artifact=artifact, language=edition.language, site=edition.site, protocol=edition.protocol)
        for f in shortened(findings, file)
    )


def page_facts(data: bytes) -> tuple[tuple[str, Mapping[str, str]], ...]:
    """What a page says of itself in each of its languages, artifact first; nothing if it can't be read."""
    try:
        web = read_web(data)
    except Unreadable:
        return ()
    return tuple(("reader" if a.views else "index", a.facts) for a in web.articles)


# --- the page as a whole ------------------------------------------------------------------------------------------


def _page(web: Web, file: str, script: str | None, files: frozenset[str]) -> Iterator[Finding]:
    hints = {"readback/hidden": "take it out of the template", "readback/markup": "mend the template"}
    for rule, what, line in web.oddities:
        yield error(rule, what, Where(file, line), hint=hints.get(rule, "take it out of the template"))
    for rule, what in judge("\n".join(web.styles)):
        yield error(rule, what, Where(file), hint="change the style sheet of the template")
    yield from _program(web, file, script)
    for what, address, line in web.links:
        inside = address.startswith("#") and address[1:] in web.ids
        icon = (what, address) == ("link href", "data:,")
        picture = what == "img src" and _PICTURE.fullmatch(address) is not None
        if inside or icon or picture or (what == "a href" and address in files):
            continue
        if what == "a href" and not re.match(r"[a-z][a-z0-9+.-]*:|//|/", address, re.IGNORECASE):
            yield error("readback/link-broken", f"the link to `{address[:60]}` leads nowhere", Where(file, line),
                        hint="link to a step of the page, or to a file beside it")  # fmt: skip
        else:
            yield error("readback/active-content", f"the page asks for `{address[:60]}` ({what})", Where(file, line),
                        hint="put everything the page needs into it")  # fmt: skip


def _program(web: Web, file: str, script: str | None) -> Iterator[Finding]:
    where = Where(file)
    if len(web.styles) != 1 or len(web.scripts) > 1:
        yield error("readback/active-content", f"the page has {len(web.styles)} style sheets and {len(web.scripts)} "
                    "programs; one of each at most", where, hint="put them together")  # fmt: skip
    if script is not None and "".join(web.scripts) != script:
        yield error("readback/foreign-script", "the program of the page is not the template's", where,
                    hint="make the page anew, and find out who changed it")  # fmt: skip
    allowed = {
        "default-src": "'none'", "style-src": " ".join(map(_hash, web.styles)),
        "script-src": " ".join(map(_hash, web.scripts)) or "'none'", "font-src": "data:", "img-src": "data:",
        "form-action": "'none'", "base-uri": "'none'",
    }  # fmt: skip
    given = dict(part.strip().partition(" ")[::2] for part in web.policy.split(";") if part.strip())
    for name, value in allowed.items():
        if given.get(name) != value:
            said = _HASH.sub("a hash", given.get(name, "nothing"))
            yield error("readback/active-content", f"the content security policy says `{said}` for `{name}`", where,
                        hint="leave the policy as it is written")  # fmt: skip
    for name in given.keys() - allowed.keys():
        yield error("readback/active-content", f"the content security policy speaks of `{name}`", where,
                    hint="leave the policy as it is written")  # fmt: skip


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


# --- one language of it -------------------------------------------------------------------------------------------


def _judge(
    article: Article,
    edition: Edition,
    artifact: str,
    file: str,
    draft: bool,
    known_words: Iterable[str] | None,
    terms: Mapping[str, str] | None,
) -> Iterator[Finding]:
    base = edition.language.split("-")[0].lower()
    rtl = base in RIGHT_TO_LEFT
    words = dict(terms or {})
    if base == "en":
        words = {**SIGNALS, "draft": DRAFT, **words}
    signals = {k: v for k, v in words.items() if k in SIGNALS}
    flow = carriage(article.copy(), edition, artifact, file, signals)
    found = [*flow.findings, *stamp_of_words(flow.rest(0), edition, draft, words.get("draft"), Where(file))]
    known = (*(known_words or ()), *words.values())
    if known_words is not None:
        found += foreign_words(flow, edition, known, rtl)
    yield from (_at_line(f, article, file, others=False) for f in found)
    if known_words is not None:
        others = Flow(stream_of(article.copy(others=True), edition.language), file, (1,))
        yield from (_at_line(f, article, file, others=True) for f in foreign_words(others, edition, known, rtl))
    for name in FACTS:
        value = getattr(edition, name)
        right = value if isinstance(value, str) else value.isoformat()
        if _plain(article.facts.get(name, "")) != _plain(right):
            taken = article.facts.get(name, "")
            yield error(
                "readback/stamp-wrong", f"the page takes `{taken}` for its {name}; it is `{right}`",
                Where(file, article.line), hint="make the page from the present source",
            )  # fmt: skip
    if artifact == "reader":
        yield from _path(article, edition, file)


def _at_line(f: Finding, article: Article, file: str, others: bool) -> Finding:
    """A place on the made-up sheet becomes a line of the file."""
    if f.where.file != file or f.where.box is None:
        return f
    return replace(f, where=Where(file, article.line_of(f.where.box[1], others)))


def _plain(fingerprint: str) -> str:
    return fingerprint.replace("-", "")


# --- what the program goes by -------------------------------------------------------------------------------------


def _path(article: Article, edition: Edition, file: str) -> Iterator[Finding]:
    def wrong(message: str, line: int, step: str = "") -> Finding:
        hint = "leave the attributes and classes of the template as they are"
        return error("readback/reader-path", message, Where(file, line), step=step, hint=hint)

    views = [
        v for v in article.views if v.step not in ("", "record") and v.step not in {b.id for b in edition.branches}
    ]
    for branch, steps in (("", edition.steps), *((b.id, b.steps) for b in edition.branches)):
        here = [(v.step, v.label) for v in views if v.branch == branch]
        right = [(s.id, s.label) for s in steps]
        if here != right:
            what = f"branch `{branch}`" if branch else "the main path"
            first = next(
                (n for n, (a, b) in enumerate(zip(here, right, strict=False)) if a != b), min(map(len, (here, right)))
            )
            at = right[first][0] if first < len(right) else here[first][0]
            yield wrong(f"the program is given other steps for {what}, from `{at}` on", article.line, at)
    for kind in ("", "record"):
        if [v.step for v in article.views].count(kind) != 1:
            yield wrong(f"there must be one {'record' if kind else 'cover'}", article.line)
    known = {s.id: s for s in edition.all_steps()}
    for view in views:
        if view.step in known:
            for message in _view(view, known[view.step], edition, article.language):
                yield wrong(message, view.line, view.step)
    parts = {b.id: b for b in edition.branches}
    if [p.id for p in article.branches if p.id not in parts] or {p.id for p in article.branches} != parts.keys():
        yield wrong("the program is given other branches", article.line)
    for part in article.branches:
        if part.id in parts and (part.letter, part.goes) != (parts[part.id].letter, parts[part.id].rejoin):
            yield wrong(f"the program takes branch `{part.id}` to go on at `{part.goes}`; it is "
                        f"`{parts[part.id].rejoin}`", part.line)  # fmt: skip
        if part.id in parts and part.asked != " ".join(parts[part.id].question.plain.split()):
            yield wrong(f"branch `{part.id}` does not begin with its question", part.line)
    anywhere = {b.id for b in edition.branches if b.anywhere}
    if {branch for branch, _, _ in article.doors} != anywhere:
        yield wrong("branches for any step can't all be taken at any step", article.line)


def _view(view: View, step: Step, edition: Edition, language: str) -> Iterator[str]:
    holds = 1 if step.hold else 0
    if (view.holds, view.confirms) != (holds, holds):
        yield f"step `{step.label}` has {view.holds} stops with {view.confirms} buttons; it must have {holds}"
    seconds = [t.least for t in (step.time, *(a.time for a in step.acts)) if t and t.least]
    if view.seconds != ([str(max(seconds))] if seconds else []):
        yield f"the timer of step `{step.label}` runs for `{', '.join(view.seconds) or 'no'}` seconds"
    offered = [b for b in step.branches if not view.branch and b in {x.id for x in edition.branches}]
    if [branch for branch, _ in view.ways] != offered:
        yield f"step `{step.label}` does not lead to its branches `{', '.join(offered) or 'none'}`"
    for branch, address in view.ways:
        steps = next((b.steps for b in edition.branches if b.id == branch), ())
        if steps and address != f"#{language}.{steps[0].id}":
            yield f"the way from step `{step.label}` to branch `{branch}` leads to `{address}`"
