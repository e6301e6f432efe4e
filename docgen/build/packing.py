"""Turn what there is to print at a site into files for the printer: one for each size of paper, the order on top.

Only released files are printed, and only as they were released: each is compared with the digest in its release first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path

from docgen.artifacts.pack import Job, Placed, Side, Unprintable, sizes, write_pack
from docgen.build.bench import back, faces_of
from docgen.build.layouts import PACK
from docgen.build.outcome import Outcome
from docgen.build.posting import Asking, Walk, walks
from docgen.build.printing import Row, content, film
from docgen.build.rounds import Desk, desk
from docgen.build.verifying import POSTINGS
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.layout import SIZES
from docgen.model.posting import Order
from docgen.model.press import Nest, laying, nest
from docgen.model.sheet import MM
from docgen.project import Project
from docgen.publish import Publishing, refused, write
from docgen.release.lists import named
from docgen.release.orders import CARDS, office, paper
from docgen.report import counted, gather

COVER, GUIDE, MARKS = "cover", "guide", "marks"
BLEED = 3.0
"""Millimetres beyond the cards of a press sheet that belong to the print (usual in the trade; common practice)."""


@dataclass(frozen=True, slots=True)
class Ordering:
    """Who orders what to be printed."""

    asking: Asking
    by: str
    grey: bool = False
    out: Path = Path("out")


@dataclass
class Stack:
    """The sides of one file, while it grows."""

    duplex: bool
    sides: list[Side] = field(default_factory=list)
    bookmarks: list[tuple[str, int]] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def leaf(self) -> None:
        """Begin on the front of a sheet of paper."""
        if self.duplex and len(self.sides) % 2:
            self.sides.append(replace(self.sides[-1], placed=(), trim=None, bleed=0.0))

    def add(self, sides: list[Side], row: Row) -> None:
        """Sides that belong together, and their line in the order."""
        self.leaf()
        first = len(self.sides) + 1
        self.sides += sides
        last = len(self.sides)
        self.leaf()
        self.bookmarks.append((row.what, first - 1))
        self.rows.append(replace(row, pages=f"{first}–{last}" if last > first else str(first)))


def pack(project: Project, ordering: Ordering) -> Outcome:
    """Write the pack of each site where anything is to be printed: all its files, or none."""
    round_ = walks(project, ordering.asking)
    made, problems = desk(project)
    findings = [*round_.findings, *problems]
    lines: list[str] = []
    if made is None or has_errors(findings):
        return Outcome(gather(findings))
    day = round_.today.isoformat()
    for walk in round_.walks:
        name = walk.site.site
        if not walk.orders:
            lines.append(f"{name}: nothing is left to print")
            continue
        files, said = _files(made, walk, ordering, day)
        findings += said
        if has_errors(said):
            lines.append(f"{name}: no pack was made, and nothing was changed")
            continue
        try:
            with Publishing(ordering.out) as publishing:
                findings += publishing.findings
                folder = publishing.stage(0, (POSTINGS, name, day, "pack"))
                for file, (data, _) in files.items():
                    write(folder / file, data)
                publishing.put(0, (POSTINGS, name, day, "pack"))
        except OSError as problem:
            findings.append(refused("write the pack", ordering.out, problem))
            continue
        shown = ordering.out / POSTINGS / name / day / "pack"
        lines += [f"{shown / file}: {counted(pages, 'page')}" for file, (_, pages) in files.items()]
    return Outcome(gather(findings), tuple(lines))


# --- released files ---------------------------------------------------------------------------------------------


def released(project: Project, walk: Walk, out: Path) -> tuple[dict[str, bytes], list[Finding]]:
    """The files to print by their names; a finding for each that is not the one that was released."""
    found: dict[str, bytes] = {}
    findings: list[Finding] = []
    for order in walk.orders:
        copy, file = order.target.copy, order.target.file
        folder = out / copy.protocol / copy.version / walk.site.site / copy.language.lower()
        data, problems = project.sheet(folder / file.file)
        where = Where(str(folder / file.file))
        if data is None:
            hint = (
                f"bring it back from a backup, or make it anew from the sources of v{copy.version} with `docgen make`"
            )
            findings += (error("pack/missing", "the released file is not there", where, hint=hint) for _ in problems)
        elif sha256(data).hexdigest() != file.sha256:
            message = f"this is not the file that was released as v{copy.version}: its SHA-256 is another"
            hint = "bring the released file back, and find out who changed it; nothing is printed from this one"
            findings.append(error("pack/altered", message, where, hint=hint, site=walk.site.site))
        else:
            found[file.file] = data
    return found, findings


# --- the files --------------------------------------------------------------------------------------------------


def _files(
    made: Desk, walk: Walk, ordering: Ordering, day: str
) -> tuple[dict[str, tuple[bytes, int]], tuple[Finding, ...]]:
    """Name → bytes and pages of each file, the one with the order on top first."""
    sources, findings = released(made.project, walk, ordering.out)
    if findings:
        return {}, tuple(findings)
    press = office(walk.site)
    papers = [press, *(p for p in paper(walk.orders) if p != press)]
    names = {p: _name(walk, p, ordering.grey) for p in papers}
    try:
        covered, guess = b"", 1
        for _ in range(3):  # the order says on which pages everything is, and may itself take more pages than thought
            stacks, more = _stacks(made, walk, papers, sources, guess, press)
            stated = content(walk, stacks, names, ordering.by, day, ordering.grey)
            covered, pages, said = made.pdf(PACK, f"Print order: {walk.site.site}", stated, press, {})
            if has_errors(said) or not pages:
                return {}, said
            if pages == guess:
                break
            guess = pages
        everything = {**sources, **more, COVER: covered}
        out = {}
        for name in papers:
            stack = stacks[name]
            title = f"{walk.site.site}, {day}: {name}"
            job = Job(title, tuple(stack.sides), stack.duplex, tuple(stack.bookmarks), ordering.grey)
            out[names[name]] = (write_pack(job, everything), len(stack.sides))
    except Unprintable as problem:
        return {}, (error("pack/unreadable", f"a released file can't be read: {problem}", site=walk.site.site),)
    return out, said


def _name(walk: Walk, paper_: str, grey: bool) -> str:
    return f"{walk.site.site}-pack-{paper_.lower()}{'-grey' if grey else ''}.pdf"


def _stacks(
    made: Desk, walk: Walk, papers: list[str], sources: Mapping[str, bytes], cover: int, press: str
) -> tuple[dict[str, Stack], dict[str, bytes]]:
    """Paper → the sides of its file, in the order of the walk, cards last; and the files of marks they need."""
    stacks = {p: Stack(any(o.duplex for o in walk.orders if o.paper == p)) for p in papers}
    more: dict[str, bytes] = {}
    width, height = (v * MM for v in SIZES[press])
    stacks[press].sides = [Side(width, height, (Placed(COVER, n),)) for n in range(cover)]
    stacks[press].bookmarks = [("Print order", 0)]
    cards = [o for o in walk.orders if o.target.copy.artifact == CARDS and o.paper != o.target.copy.sheet]
    sheets = sorted(
        ((task, order) for order in walk.orders if order not in cards for task in order.tasks),
        key=lambda x: walk.tasks.index(x[0]),
    )
    for task, order in sheets:
        stacks[order.paper].add(
            list(_plain(order, task.missing, sources)), _row(order, task.missing, task.spot.location)
        )
    guides: dict[tuple[float, float], Nest] = {}
    for n, order in enumerate(cards):
        own = f"{MARKS}-{n}"
        sides, more[own], laid = _imposed(order, sources, own, made)
        alone = len(order.tasks) == 1
        where = "; ".join(t.spot.location + ("" if alone else f" ({t.missing})") for t in order.tasks)
        stacks[order.paper].add(sides, _row(order, order.copies, where, laid))
        film_ = laying(SIZES[order.target.copy.sheet], order.paper) if order.laminated else None
        if film_:
            guides[SIZES[order.target.copy.sheet]] = film_
    for n, guide in enumerate(guides.values()):
        more[f"{GUIDE}-{n}"] = _guide(guide, press, made)
        side = Side(guide.width * MM, guide.height * MM, (Placed(f"{GUIDE}-{n}", 0),))
        stacks[press].add([side], Row("", "laying guide for laminating cut cards", "1", "whoever laminates", "keep it"))
    return stacks, more


def _row(order: Order, copies: int, where: str, laid: Nest | None = None) -> Row:
    then = [f"cut to {order.target.copy.sheet}, {laid.slots} to a sheet"] if laid else []
    then += ["laminate"] if order.laminated else []
    return Row(
        "", f"{order.target.copy.protocol} {named(order.target.copy)}", str(copies), where, ", then ".join(then) or "–"
    )


def _plain(order: Order, copies: int, sources: Mapping[str, bytes]) -> Iterator[Side]:
    """Copies of a file on its own sheets, each from the front of a sheet of paper."""
    file = order.target.file.file
    pages = sizes(sources[file])
    for _ in range(copies):
        for n, (width, height) in enumerate(pages):
            yield Side(width, height, (Placed(file, n),))
        if order.duplex and len(pages) % 2:
            yield Side(*pages[-1])


def _imposed(order: Order, sources: Mapping[str, bytes], own: str, made: Desk) -> tuple[list[Side], bytes, Nest]:
    """Cards of all copies on press sheets, fronts and backs in turn; the marks around them; where they lie.

    When the cut piles are put on one another, from left to right and from top to bottom, all sets are in order.
    """
    from docgen.typeset.press import press_marks

    file = order.target.file.file
    pages = sizes(sources[file])
    laid = nest((pages[0][0] / MM, pages[0][1] / MM), order.paper)
    assert laid  # the order was made for a press sheet that holds a card
    per_set = -(-len(pages) // 2)
    pieces = per_set * order.copies
    leaves = -(-pieces // laid.slots)
    width, height = laid.width * MM, laid.height * MM
    sides: list[Side] = []
    lines: list[tuple[str, tuple[int, ...], bool]] = []
    for leaf in range(leaves):
        piece = {slot: slot * leaves + leaf for slot in range(laid.slots) if slot * leaves + leaf < pieces}
        for back_ in (False, True):
            placed = [Placed(own, len(sides))]
            for slot, n in piece.items():
                page = 2 * (n % per_set) + back_
                if page < len(pages):
                    x, y = laid.corner(slot, back_)
                    turn = (-90 if back_ else 90) if laid.turned else 0
                    placed.append(Placed(file, page, x * MM, y * MM, turn))
            block = laid.block
            trim = (block[0] * MM, block[1] * MM, block[2] * MM, block[3] * MM)
            sides.append(Side(width, height, tuple(placed), trim, BLEED * MM))
            what, which = named(order.target.copy), "back" if back_ else "front"
            line = f"{order.target.copy.protocol} {what} · leaf {leaf + 1} of {leaves}, {which} · long edge"
            lines.append((line, tuple(piece), back_))
    faces = faces_of(made.project)
    return sides, back().write(press_marks(laid, lines, faces), faces), laid


def _guide(laid: Nest, press: str, made: Desk) -> bytes:
    from docgen.typeset.press import laying_guide

    words = (
        f"Laying guide: put it under an open {press} pouch ({film(press)}).",
        "Lay the cut cards on the outlines, laminate, take this sheet away, and cut the film along the dashed lines.",
    )
    faces = faces_of(made.project)
    return back().write(laying_guide(laid, words, faces), faces)
