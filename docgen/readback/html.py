"""Turn the bytes of a page into what stands on it, with the standard library's parser and nothing of what wrote it.

What is found is a `Copy`, as of a sheet, one row a block, so that everything a sheet is compared with holds for a page
too. Words that only a running program shows, and words that nothing shows, are kept apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

from docgen.readback.copy import Copy, Page, Run, Unreadable

LIMIT = 16 * 1024 * 1024
"""Bytes of a page that is read."""
DEEPEST = 100
"""Elements inside one another."""
VOID = frozenset({"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"})
_TAGS = """a article aside b bdi body button caption code dd details dialog div dl dt em fieldset figcaption figure
    footer g h1 h2 h3 h4 h5 h6 head header html i label legend li main nav ol p path script section small span strong
    style summary svg table tbody td textarea tfoot th thead title tr ul use"""
KNOWN = VOID | frozenset(_TAGS.split())
"""Elements a page may have; anything else is odd."""
INLINE = frozenset({"a", "b", "bdi", "code", "em", "i", "small", "span", "strong", "svg", "g", "path", "use", "img"})
"""Elements that words flow through; a link is a block where it is marked as a way."""
UNSEEN = frozenset({"head", "script", "style", "dialog", "details", "textarea"})
"""Elements whose words are not on the page, or not before somebody opens them."""
LIVE = "live"
"""Class of what only a running program shows."""
APART = frozenset({"number", "letter", "question"})
"""Classes of words that stand beside others in a row of their own."""
ROW = 5.0
"""Millimetres of a row; places are made up, in the order of the file."""


@dataclass(slots=True)
class Element:
    """An element with what matters of it."""

    name: str
    attributes: dict[str, str]
    line: int
    classes: frozenset[str] = frozenset()
    live: bool = False
    unseen: bool = False


@dataclass(slots=True)
class View:
    """One thing that the program shows at a time."""

    step: str
    label: str
    line: int
    branch: str = ""
    holds: int = 0
    confirms: int = 0
    seconds: list[str] = field(default_factory=list)
    ways: list[tuple[str, str]] = field(default_factory=list)
    """Branch and address of each way out of it."""


@dataclass(slots=True)
class Part:
    """A branch as the program knows it."""

    id: str
    letter: str
    goes: str
    line: int
    asked: str = ""
    """The question it begins with."""


@dataclass(slots=True)
class Article:
    """The page in one language."""

    language: str
    facts: dict[str, str]
    """Its `data-` attributes, without `data-`."""
    line: int
    rows: list[tuple[list[tuple[str, str]], int]] = field(default_factory=list)
    """Words side by side with what they are set as, and their line."""
    others: list[tuple[list[tuple[str, str]], int]] = field(default_factory=list)
    """The same, of what a program shows or somebody opens."""
    views: list[View] = field(default_factory=list)
    branches: list[Part] = field(default_factory=list)
    doors: list[tuple[str, str, int]] = field(default_factory=list)
    """Branch, address and line of every way that can be taken at any step."""

    def copy(self, others: bool = False) -> Copy:
        """As a sheet of one page."""
        runs = []
        for n, (words, _) in enumerate(self.others if others else self.rows):
            at = 0.0
            for text, kind in words:
                box = (at, n * 2 * ROW, at + 2.0 * len(text), n * 2 * ROW + ROW)
                face = sum(kind.encode()) % 9973
                runs.append(Run(text, box, box[3], 12.0, 2.0, face, (0, 0, 0), 1.0, 0, True, -1, n))
                at = box[2] + 3.0
        height = 2 * ROW * (len(self.rows) + 1)
        return Copy((Page(1, 10000.0, height, tuple(runs)),), language=self.language)

    def line_of(self, top: float, others: bool = False) -> int:
        """The line of the file for a place on that sheet."""
        rows = self.others if others else self.rows
        return rows[min(len(rows) - 1, int(top / (2 * ROW)))][1] if rows else self.line


@dataclass(slots=True)
class Web:
    """A page, as found."""

    articles: list[Article] = field(default_factory=list)
    title: str = ""
    language: str = ""
    policy: str = ""
    styles: list[str] = field(default_factory=list)
    scripts: list[str] = field(default_factory=list)
    links: list[tuple[str, str, int]] = field(default_factory=list)
    """Element and attribute, address, line."""
    ids: set[str] = field(default_factory=set)
    oddities: list[tuple[str, str, int]] = field(default_factory=list)
    """Rule, what is odd, line."""


def read_web(data: bytes) -> Web:
    """What stands on a page. Raises Unreadable if it is none."""
    if len(data) > LIMIT:
        raise Unreadable("readback/too-large", f"the page is larger than {LIMIT >> 20} MiB", "give a smaller file")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise Unreadable("readback/unreadable", "this is not UTF-8", "make the page anew") from None
    if not text.lstrip()[:15].lower().startswith("<!doctype html>"):
        raise Unreadable("readback/unreadable", "this does not begin as an HTML page does", "make the page anew")
    parser = _Parser()
    parser.feed(text)
    parser.close()
    parser.finish()
    return parser.web


_LOADING = """src href action data poster srcset xlink:href formaction ping background cite longdesc manifest codebase
    archive classid usemap imagesrcset"""
ADDRESSES = frozenset(_LOADING.split())
"""Attributes that can name another file."""


class _Parser(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.web = Web()
        self._stack: list[Element] = []
        self._article: Article | None = None
        self._row: list[tuple[str, str]] = []
        self._words: list[str] = []
        self._view: View | None = None
        self._from = 0

    # --- elements ---------------------------------------------------------------------------------------------

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        line = self.getpos()[0]
        attributes = {name: value or "" for name, value in attrs}
        if len(attributes) < len(attrs):
            self._odd("readback/markup", f"<{tag}> has an attribute twice", line)
        element = Element(tag, attributes, line, frozenset(attributes.get("class", "").split()))
        above = self._stack[-1] if self._stack else None
        element.live = (above is not None and above.live) or LIVE in element.classes
        element.unseen = (above is not None and above.unseen) or tag in UNSEEN
        self._look_at(element)
        if tag not in INLINE or "way" in element.classes:
            self._end_row()
        elif element.classes & APART:
            self._end_words()
        if tag not in VOID:
            self._stack.append(element)
            if len(self._stack) > DEEPEST:
                raise Unreadable("readback/too-complex", "elements stand too deep inside one another", "make it anew")
        self._open(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        line = self.getpos()[0]
        if not self._stack or self._stack[-1].name != tag:
            self._odd("readback/markup", f"</{tag}> closes nothing that is open", line)
            if tag not in (e.name for e in self._stack):
                return
        while self._stack:
            element = self._stack.pop()
            if element.classes & APART and element.name in INLINE:
                self._end_words(next(iter(element.classes & APART)))
            elif element.name not in INLINE or "way" in element.classes:
                self._end_row(element)
            if element.name == "article":
                self._article = None
            if "view" in element.classes:
                self._view = None
            if element.name == tag:
                break

    def _look_at(self, e: Element) -> None:
        if e.name not in KNOWN:
            self._odd("readback/active-content", f"<{e.name}> has no place in a page", e.line)
        for name, value in e.attributes.items():
            if name.startswith("on"):
                self._odd("readback/active-content", f"<{e.name}> runs a program of its own (`{name}`)", e.line)
            if name in ("style", "hidden", "inert") or (name == "aria-hidden" and e.name != "svg"):
                self._odd("readback/hidden", f"<{e.name}> hides or restyles itself (`{name}`)", e.line)
            if name in ADDRESSES:
                self.web.links.append((f"{e.name} {name}", value, e.line))
            if name == "id":
                if value in self.web.ids:
                    self._odd("readback/markup", f"two elements have the id `{value}`", e.line)
                self.web.ids.add(value)
        if e.name == "svg" and "figure" in e.classes and not e.attributes.get("aria-label", "").strip():
            self._odd("readback/figure-unsaid", "a figure has no alternative text", e.line)
        if e.name == "img" and not e.attributes.get("alt", "").strip():
            self._odd("readback/figure-unsaid", "a picture has no alternative text", e.line)
        if e.name == "meta":
            kind = e.attributes.get("http-equiv", "").lower()
            if kind == "content-security-policy":
                self.web.policy = e.attributes.get("content", "")
            elif kind:
                self._odd(
                    "readback/active-content", f"<meta http-equiv={kind}> changes how the page is treated", e.line
                )

    def _open(self, e: Element) -> None:
        facts = {n.removeprefix("data-"): v for n, v in e.attributes.items() if n.startswith("data-")}
        if e.name == "html":
            self.web.language = e.attributes.get("lang", "")
        if e.name == "article":
            self._article = Article(e.attributes.get("lang", ""), facts, e.line)
            self.web.articles.append(self._article)
        if self._article is None:
            return
        if "branch" in e.classes:
            part = Part(facts.get("branch", ""), facts.get("letter", ""), facts.get("goes", ""), e.line)
            self._article.branches.append(part)
        if "view" in e.classes:
            branch = next(
                (a.attributes.get("data-branch", "") for a in reversed(self._stack) if "branch" in a.classes), ""
            )
            self._view = View(facts.get("step", ""), facts.get("label", ""), e.line, branch)
            self._article.views.append(self._view)
        if "way" in e.classes and not self._view:
            self._article.doors.append((facts.get("branch", ""), e.attributes.get("href", ""), e.line))
        if self._view:
            self._view.holds += "hold" in e.classes
            self._view.confirms += e.name == "button" and "confirm" in e.classes
            if "timer" in e.classes:
                self._view.seconds.append(facts.get("seconds", ""))
            if "way" in e.classes:
                self._view.ways.append((facts.get("branch", ""), e.attributes.get("href", "")))

    # --- words ------------------------------------------------------------------------------------------------

    def handle_data(self, data: str) -> None:
        inside = self._stack[-1] if self._stack else None
        match inside.name if inside else "":
            case "style":
                self.web.styles.append(data)
            case "script":
                self.web.scripts.append(data)
            case "title":
                self.web.title += data
            case "head" | "html" | "":
                if data.strip():
                    self._odd("readback/markup", f"`{data.strip()[:40]}` stands outside the page", self.getpos()[0])
            case _:
                if data.strip() and not self._words and not self._row:
                    self._from = self.getpos()[0]
                self._words.append(data)

    def handle_comment(self, data: str) -> None:
        self._odd("readback/markup", "a comment stands in the page", self.getpos()[0])

    def handle_pi(self, data: str) -> None:
        self._odd("readback/markup", "an instruction to a processor stands in the page", self.getpos()[0])

    def unknown_decl(self, data: str) -> None:
        self._odd("readback/markup", "a declaration stands in the page", self.getpos()[0])

    def _end_words(self, kind: str = "") -> None:
        text = " ".join("".join(self._words).split())
        self._words = []
        if text:
            self._row.append((text, kind))
            if kind == "question" and self._article and self._article.branches:
                self._article.branches[-1].asked = text

    def _end_row(self, closed: Element | None = None) -> None:
        self._end_words()
        row, self._row = self._row, []
        around = closed or (self._stack[-1] if self._stack else None)
        if not row or around is None:
            return
        if self._article is None:
            self._odd("readback/markup", f"`{row[0][0][:40]}` stands outside the edition", self._from)
            return
        name = " ".join(sorted(around.classes)) or around.name
        aside = around.live or around.unseen
        (self._article.others if aside else self._article.rows).append(
            ([(text, kind or name) for text, kind in row], self._from or around.line)
        )

    def finish(self) -> None:
        """Note what was left open."""
        for element in self._stack:
            self._odd("readback/markup", f"<{element.name}> is not closed", element.line)

    def _odd(self, rule: str, what: str, line: int) -> None:
        self.web.oddities.append((rule, what, line))
