"""A small hand-made edition, and a plain drawing of its artifacts with ReportLab that tests can damage before painting.

Nothing here comes from the product's own layout: the read-back must judge any layout.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files

import pikepdf
import segno
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas

from docgen.model.edition import Branch, Caution, Edition, Hold, Phase, Role, Step
from docgen.model.stamp import code_of
from docgen.model.text import NO_TEXT, Run, Text

MM = 72 / 25.4
FACE = "NotoSansForTests"
SIGNALS = {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}


def words(text: str, key: str = "") -> Text:
    return Text(key, text, (Run(text),)) if text else NO_TEXT


def caution(id: str, signal: str, hazard: str, consequence: str, avoid: str) -> Caution:
    return Caution(id, signal, words(hazard), words(consequence), words(avoid))


SNAP = caution(
    "snap", "warning", "Gloves snap back.", "Droplets reach your face within 2 m.", "Do not pull at the fingertips."
)
BARE = caution(
    "bare", "danger", "Bare skin may touch the outside.", "The virus reaches your skin.", "Pinch the cuff only."
)
FUMES = caution(
    "fumes", "caution", "The rub gives off fumes.", "Your eyes water.", "Wait 20 s before you lean over it."
)


def step(id: str, number: int, headline: str, *, label: str = "", phase: str = "", **more) -> Step:
    texts = {k: words(v) for k, v in more.items() if isinstance(v, str)}
    lists = {k: tuple(words(x) for x in v) for k, v in more.items() if k in ("do", "watch")}
    rest = {k: v for k, v in more.items() if k in ("hold", "cautions", "branches")}
    return Step(id, number, label or str(number), phase, words(headline), "wearer", **texts, **lists, **rest)


def make_edition(**change) -> Edition:
    """Seven steps in two phases, one headline three times, four cautions (one twice), a hold, a branch of two steps."""
    main = (
        step(
            "look",
            1,
            "Look at your whole suit",
            phase="ready",
            say="Look at your whole suit, front and back.",
            answer="I see no tear.",
            watch=("Every seam, front and back.",),
            done_when="Nothing is torn.",
            hold=Hold("observer", words("the observer says that no tear was seen")),
        ),
        step(
            "clean-1",
            2,
            "Clean your gloves",
            phase="ready",
            say="Clean both gloves for 30 s.",
            answer="Both are wet.",
            do=("Use 3 ml of hand rub.", "Rub for 30 s, not less."),
            watch=("All fingers are wet.",),
            done_when="Both gloves are dry.",
            cautions=(FUMES,),
        ),
        step(
            "outer-off",
            3,
            "Take off the outer gloves",
            phase="off",
            say="Take off the outer gloves.",
            answer="Both are in the bin.",
            do=("Pinch the cuff, and peel it off inside out.",),
            watch=("Inner gloves are whole.",),
            done_when="Both gloves are in the bin.",
            cautions=(SNAP, BARE),
            branches=("tear",),
        ),
        step(
            "clean-2",
            4,
            "Clean your gloves",
            phase="off",
            say="Clean the inner gloves for 30 s.",
            answer="Both are wet.",
            done_when="Both gloves are dry.",
            watch=("All fingers are wet.",),
        ),
        step(
            "shield",
            5,
            "Lift off the face shield",
            phase="off",
            say="Bend forward 30° and lift the shield by its band.",
            answer="It is in the bin.",
            do=("Do not touch the front.",),
            watch=("Eyes are shut.",),
            done_when="The shield is in the bin.",
        ),
        step(
            "clean-3",
            6,
            "Clean your gloves",
            phase="off",
            say="Clean the inner gloves once more.",
            answer="Both are wet.",
            done_when="Both gloves are dry.",
        ),
        step(
            "inner-off",
            7,
            "Take off the inner gloves",
            phase="off",
            say="Take off the inner gloves.",
            answer="My hands are bare.",
            done_when="No glove is left.",
            cautions=(SNAP,),
        ),
    )
    branch = Branch(
        "tear",
        "A",
        words("Is an inner glove torn?"),
        (
            step(
                "tear-clean",
                1,
                "Clean the torn glove at once",
                label="A1",
                say="Clean the torn glove now.",
                answer="It is wet.",
                done_when="The glove is dry.",
            ),
            step(
                "tear-change",
                2,
                "Change both inner gloves",
                label="A2",
                say="Change both inner gloves.",
                answer="New gloves are on.",
                done_when="Two whole gloves are on.",
                cautions=(BARE,),
            ),
        ),
        "clean-2",
        tell=words("Tell the shift lead, telephone 4711."),
    )
    edition = Edition(
        "glove-removal",
        "IP-GLV-01",
        words("Take off double gloves"),
        "removal",
        "2.1",
        datetime.date(2026, 3, 1),
        datetime.date(2027, 3, 1),
        "approved",
        words("Infection prevention"),
        words("Ward staff"),
        words("Gloves come off without a touch of the outside."),
        "enhanced",
        "ansi_z535",
        True,
        "",
        10,
        (),
        None,
        (),
        (words("Step 3 now asks for 30 s, not 20 s."), words("The face shield comes off before the inner gloves.")),
        words("A review found torn gloves too late."),
        (Role("wearer", words("Wearer"), "circle"), Role("observer", words("Observer"), "square")),
        (),
        (),
        (),
        (),
        (),
        (
            Phase("ready", 1, words("Get ready"), ("look", "clean-1")),
            Phase("off", 2, words("Take it off"), ("outer-off", "clean-2", "shield", "clean-3", "inner-off")),
        ),
        main,
        (branch,),
        (),
        "north",
        words("Invented General"),
        words("Ward 9"),
        (),
        (),
        0,
        "",
        (),
        fingerprint="7K3MQ2WXA4",
    )
    return replace(edition, **change)


# --- marks ---------------------------------------------------------------------------------------------------------


@dataclass
class Ink:
    """Words at a place: points from the top left corner; `y` is the baseline."""

    what: str
    text: str
    x: float
    y: float
    size: float
    step: str = ""
    caution: str = ""
    colour: tuple[float, float, float] = (0, 0, 0)
    mode: int = 0
    alpha: float = 1
    clip: tuple[float, float, float, float] | None = None
    """Left, top, width, height of a frame around it."""
    stretch: float = 1
    turn: float = 0


@dataclass
class Block:
    """A filled rectangle."""

    x: float
    y: float
    width: float
    height: float
    colour: tuple[float, float, float] = (1, 1, 1)


@dataclass
class Code:
    """A square code with its quiet zone of `border` modules; `side` without it."""

    text: str
    x: float
    y: float
    side: float


@dataclass
class Blank:
    """A form field."""

    kind: str
    name: str
    label: str
    x: float
    y: float
    width: float
    height: float
    value: str = ""
    step: str = ""
    shown: bool = True


Mark = Ink | Block | Code | Blank


@dataclass
class Leaf:
    """A page."""

    width: float
    height: float
    marks: list[Mark] = field(default_factory=list)

    def inks(self, what: str = "", step: str = "") -> list[Ink]:
        return [
            m
            for m in self.marks
            if isinstance(m, Ink) and (not what or m.what == what) and (not step or m.step == step)
        ]


@dataclass(frozen=True)
class Form:
    """How an artifact is drawn here: sheet in mm, columns, sizes of headlines and other texts, stamp size, metres."""

    sheet: tuple[float, float]
    columns: int
    headline: float
    body: float
    claim: str
    code: float
    margin: float = 12
    stamp: float = 8
    per_side: int = 0


FORMS = {
    "poster": Form((420, 594), 2, 40, 24, "1.5 m", 34, stamp=11),
    "cards": Form((105, 148), 1, 12, 11, "0.4 m", 20, margin=6, per_side=2),
    "script": Form((210, 297), 1, 15, 14, "0.5 m", 20),
    "checklist": Form((210, 297), 1, 12, 11.5, "0.4 m", 20),
    "notice": Form((210, 297), 1, 16, 14, "0.4 m", 24),
}


@cache
def face() -> str:
    pdfmetrics.registerFont(TTFont(FACE, str(files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf")))
    return FACE


class Drawer:
    """Lays blocks down the columns of leaves; a step is never split."""

    def __init__(self, edition: Edition, artifact: str) -> None:
        self.edition, self.artifact, self.form = edition, artifact, FORMS[artifact]
        self.width, self.height = (v * MM for v in self.form.sheet)
        self.leaves: list[Leaf] = []
        self.column = 0
        self.y = 0.0
        self.on_side = 0
        self.leaf()

    @property
    def top(self) -> float:
        return self.form.margin * MM + 2.2 * self.form.headline

    @property
    def bottom(self) -> float:
        return self.height - self.form.margin * MM - self.form.code * MM - 6

    @property
    def measure(self) -> float:
        gap = 9 * MM
        return (self.width - 2 * self.form.margin * MM - (self.form.columns - 1) * gap) / self.form.columns

    @property
    def left(self) -> float:
        return self.form.margin * MM + self.column * (self.measure + 9 * MM)

    def leaf(self) -> None:
        self.leaves.append(Leaf(self.width, self.height))
        self.column, self.y, self.on_side = 0, self.top, 0
        title = self.edition.title.plain
        self.leaves[-1].marks.append(
            Ink("title", title, self.form.margin * MM, self.form.margin * MM + self.form.headline, self.form.headline)
        )

    def block(self, lines: list[tuple[str, str, float, str, str]], lead: float, fields: list[Blank] = ()) -> None:  # type: ignore[assignment]
        """(what, text, size, step, caution), all together; a `number` stands beside what follows it."""
        face()
        indent = 2.6 * self.form.headline
        height = lead + sum(self._tall(what, text, size, indent) for what, text, size, _, _ in lines)
        full = self.form.per_side and self.on_side >= self.form.per_side
        if self.y + height > self.bottom or full:
            if self.column + 1 < self.form.columns and not full:
                self.column, self.y = self.column + 1, self.top
            else:
                self.leaf()
        self.on_side += 1
        self.y += lead
        start = self.y
        for what, text, size, step, of in lines:
            if what == "number":
                self.leaves[-1].marks.append(Ink(what, text, self.left, self.y + self.form.headline, size, step, of))
                continue
            for part in self._broken(text, size, self.measure - indent - self._reserve()):
                self.y += 1.3 * size
                self.leaves[-1].marks.append(Ink(what, part, self.left + indent, self.y - 0.3 * size, size, step, of))
        for blank in fields:
            blank.y += start
            self.leaves[-1].marks.append(blank)

    def _reserve(self) -> float:
        return 78 * MM if self.artifact == "checklist" else 0

    def _tall(self, what: str, text: str, size: float, indent: float) -> float:
        if what == "number":
            return 0
        return 1.3 * size * len(self._broken(text, size, self.measure - indent - self._reserve()))

    def _broken(self, text: str, size: float, room: float) -> list[str]:
        lines: list[str] = []
        for word in text.split():
            if lines and stringWidth(f"{lines[-1]} {word}", face(), size) <= room:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        return lines

    def step(self, s: Step, before: list[tuple[str, str, float, str, str]], after: list[str]) -> None:
        h, b = self.form.headline, self.form.body
        lines = list(before)
        for c in s.cautions:
            lines.append(("signal", SIGNALS[c.signal], b, s.id, c.id))
            for what, text in zip(("hazard", "consequence", "avoid"), c.texts, strict=True):
                lines.append((what, text.plain, b, s.id, c.id))
        lines += [("number", s.label, h, s.id, ""), ("headline", s.headline.plain, h, s.id, "")]
        if self.artifact == "script":
            lines.append(("say", f"“{s.say.plain}”", b, s.id, ""))
            lines.append(("answer", f"Answer: “{s.answer.plain}”", b, s.id, ""))
            lines += [("do", t.plain, b, s.id, "") for t in s.do]
        if self.artifact in ("script", "checklist"):
            lines += [("watch", t.plain, b, s.id, "") for t in s.watch]
            lines.append(("done-when", f"Done when: {s.done_when.plain}", b, s.id, ""))
        if s.hold:
            lines.append(("hold", f"STOP · Observer: {s.hold.until.plain}", b, s.id, ""))
        lines += [("after", text, b, s.id, "") for text in after]
        self.block(lines, 0.8 * h, self._fields(s, lines) if self.artifact == "checklist" else [])

    def _fields(self, s: Step, lines) -> list[Blank]:
        x = self.width - self.form.margin * MM - 76 * MM
        down = sum(self._tall(w, t, z, 2.6 * self.form.headline) for w, t, z, _, c in lines if c)
        out = [
            Blank("choice", f"{s.id}.result", f"Step {s.label}: {v}", x + n * 20, down + 4, 12, 12, v, s.id)
            for n, v in enumerate(("done", "prompted", "missed"))
        ]
        out.append(Blank("text", f"{s.id}.comment", f"Step {s.label}: comment", x + 64, down + 4, 140, 14, "", s.id))
        return out

    def stamps(self) -> None:
        e, count = self.edition, len(self.leaves)
        for n, leaf in enumerate(self.leaves, 1):
            y = self.height - self.form.margin * MM
            mark = f"{e.fingerprint[:5]}\u2009{e.fingerprint[5:]}"
            size = self.form.stamp
            lines = (
                f"{e.code} · v{e.version} · in force from {e.effective}",
                f"review by {e.review} · {mark} · {e.language}",
                f"sheet {n} of {count} · readable from {self.form.claim}",
            )
            for k, line in enumerate(lines):
                leaf.marks.append(Ink("stamp", line, self.form.margin * MM, y - (3 - 1.4 * k) * size, size))
            if e.draft:
                leaf.marks.append(
                    Ink("draft", "DRAFT – not for use", self.form.margin * MM, self.form.margin * MM, size)
                )
            if n == 1 or self.artifact == "poster":
                side = self.form.code * MM * 29 / 37
                quiet = self.form.code * MM * 4 / 37
                text = str(code_of(e, self.artifact, n, count))
                leaf.marks.append(Code(text, self.width - self.form.margin * MM - side - quiet, y - side - quiet, side))


def lay(edition: Edition, artifact: str) -> list[Leaf]:
    """The artifact, faithfully, as leaves of marks."""
    d = Drawer(edition, artifact)
    b, h = d.form.body, d.form.headline
    if artifact == "notice":
        d.block([("purpose", edition.purpose.plain, b, "", "")], h)
        d.block([("reason", edition.reason.plain, b, "", "")], h)
        for change in edition.changes:
            d.block([("change", change.plain, b, "", "")], 0.5 * h)
        d.stamps()
        return d.leaves
    if artifact == "checklist":
        names = ("wearer", "role", "observer", "sizes", "date", "start", "end", "next-due", "signature", "action")
        x = d.form.margin * MM
        for n, name in enumerate(names):
            d.block([("entry", name.title(), b, "", "")], 4, [Blank("text", name, name.title(), x + 200, 2, 200, 14)])
            del n
        d.block(
            [("entry", "Breach", b, "", "")],
            4,
            [
                Blank("choice", "breach", f"Breach: {v}", x + 200 + 20 * k, 2, 12, 12, v)
                for k, v in enumerate(("no", "yes"))
            ],
        )
    for phase in edition.phases:
        for n, id in enumerate(phase.steps):
            s = edition.step(id)
            before = [("phase", f"{phase.number} {phase.title.plain}", b, "", "")] if n == 0 else []
            after = [f"{edition.branch(x).question.plain} See {edition.branch(x).letter}" for x in s.branches]
            d.step(s, before, after)
    for branch in edition.branches:
        for n, s in enumerate(branch.steps):
            before = [("question", f"{branch.letter} {branch.question.plain}", b, s.id, "")] if n == 0 else []
            after = []
            if n == len(branch.steps) - 1:
                if artifact in ("script", "checklist") and branch.tell:
                    after.append(branch.tell.plain)
                after.append(f"Go on at step {edition.step(branch.rejoin).label}.")
            d.step(s, before, after)
    d.stamps()
    return d.leaves


def paint(leaves: Iterable[Leaf], *, encrypt: object = None, marked: bool = False) -> bytes:
    """PDF bytes of leaves; `marked` gives each Ink of a page its own marked content, counted from 0."""
    out = io.BytesIO()
    c = canvas.Canvas(out, invariant=1, encrypt=encrypt, lang="en")
    c.setTitle("test")
    face()
    for leaf in leaves:
        c.setPageSize((leaf.width, leaf.height))
        count = 0
        for mark in leaf.marks:
            c.saveState()
            if marked and isinstance(mark, Ink):
                c.addLiteral(f"/P <</MCID {count}>> BDC")
                count += 1
            _paint(c, mark, leaf.height)
            if marked and isinstance(mark, Ink):
                c.addLiteral("EMC")
            c.restoreState()
        c.showPage()
    c.save()
    return out.getvalue()


def tag(data: bytes, elements: list[list[tuple[list[int], str]]]) -> bytes:
    """Structure for marked pages: page by page, elements of (marked content, exact text or nothing)."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        root = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.StructTreeRoot))
        document = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.StructElem, S=pikepdf.Name.Document, P=root))
        kids, numbers = [], []
        for n, (page, parts) in enumerate(zip(pdf.pages, elements, strict=True)):
            page.obj.StructParents = n
            parents = {}
            for mcids, actual in parts:
                element = pdf.make_indirect(
                    pikepdf.Dictionary(
                        Type=pikepdf.Name.StructElem, S=pikepdf.Name.P, P=document, Pg=page.obj, K=pikepdf.Array(mcids)
                    )
                )
                if actual:
                    element.ActualText = pikepdf.String(actual)
                kids.append(element)
                parents |= dict.fromkeys(mcids, element)
            row = [parents.get(k, document) for k in range(max(parents, default=-1) + 1)]
            numbers += [n, pdf.make_indirect(pikepdf.Array(row))]
        document.K = pikepdf.Array(kids)
        root.K = document
        root.ParentTree = pdf.make_indirect(pikepdf.Dictionary(Nums=pikepdf.Array(numbers)))
        root.ParentTreeNextKey = len(elements)
        pdf.Root.StructTreeRoot = root
        pdf.Root.MarkInfo = pikepdf.Dictionary(Marked=True)
        pdf.save(out)
    return out.getvalue()


def _paint(c: canvas.Canvas, mark: Mark, height: float) -> None:
    if isinstance(mark, Ink):
        if mark.clip:
            path = c.beginPath()
            path.rect(mark.clip[0], height - mark.clip[1] - mark.clip[3], mark.clip[2], mark.clip[3])
            c.clipPath(path, stroke=0)
        c.setFillColorRGB(*mark.colour)
        c.setFillAlpha(mark.alpha)
        text = c.beginText()
        text.setTextRenderMode(mark.mode)
        text.setFont(face(), mark.size)
        if mark.turn or mark.stretch != 1:
            c.translate(mark.x, height - mark.y)
            c.rotate(mark.turn)
            c.scale(mark.stretch, 1)
            text.setTextOrigin(0, 0)
        else:
            text.setTextOrigin(mark.x, height - mark.y)
        text.textOut(mark.text)
        c.drawText(text)
        if mark.mode:
            after = c.beginText(0, 0)
            after.setTextRenderMode(0)
            c.drawText(after)
    elif isinstance(mark, Block):
        c.setFillColorRGB(*mark.colour)
        c.rect(mark.x, height - mark.y - mark.height, mark.width, mark.height, stroke=0, fill=1)
    elif isinstance(mark, Code):
        symbol = segno.make(mark.text, error="q", micro=False, boost_error=False)
        rows = list(symbol.matrix)
        module = mark.side / len(rows)
        path = c.beginPath()
        for y, row in enumerate(rows):
            for x, dark in enumerate(row):
                if dark:
                    path.rect(mark.x + x * module, height - mark.y - (y + 1) * module, module, module)
        c.drawPath(path, stroke=0, fill=1)
    else:
        _field(c, mark, height)


def _field(c: canvas.Canvas, mark: Blank, height: float) -> None:
    from reportlab.lib.colors import black, white

    border = black if mark.shown else white
    common = {
        "tooltip": mark.label,
        "x": mark.x,
        "y": height - mark.y - mark.height,
        "borderColor": border,
        "fillColor": white,
        "borderWidth": 1,
        "forceBorder": True,
    }
    if mark.kind == "text":
        c.acroForm.textfield(name=mark.name, width=mark.width, height=mark.height, fontSize=9, **common)
    elif mark.kind == "choice":
        c.acroForm.radio(name=mark.name, value=mark.value, size=mark.width, selected=False, **common)
    else:
        c.acroForm.checkbox(name=mark.name, size=mark.width, **common)


def faithful(
    artifact: str, damage: Callable[[list[Leaf]], None] | None = None, edition: Edition | None = None
) -> bytes:
    """The artifact of the hand-made edition; `damage` may change its leaves before they are painted."""
    leaves = lay(edition or make_edition(), artifact)
    if damage:
        damage(leaves)
    return paint(leaves)
