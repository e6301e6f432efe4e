"""Turn the record of hung copies into lines and back: CSV that people, spreadsheets and version control can read.

Nothing in it is ever rewritten: new lines go to its end. A cell that a spreadsheet could take for a formula gets an
apostrophe in front, which is taken away again when it is read.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterable, Iterator, Sequence

from docgen.findings import Finding, Where, error
from docgen.model.posting import Copy, Hung

COLUMNS = (
    "date", "posting", "location", "protocol", "artifact", "sheet", "language", "version", "fingerprint", "there", "by",
    "note",
)  # fmt: skip
FORMULA = ("=", "+", "-", "@")
"""First characters of a cell that spreadsheets calculate (common practice of web security)."""
MOST = 100_000
"""Copies at one place: a larger number is a slip."""


def cells(rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV text, one line each."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([[_safe(str(cell)) for cell in row] for row in rows])
    return out.getvalue()


def _safe(cell: str) -> str:
    words = " ".join(cell.split())
    return f"'{words}" if words.startswith((*FORMULA, "'")) else words


def plain(cell: str) -> str:
    """A cell as it was before it was written."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in (*FORMULA, "'") else cell


def line(hung: Hung) -> Sequence[object]:
    """A line of the record."""
    c = hung.copy
    return (hung.on, hung.posting, hung.location, c.protocol, c.artifact, c.sheet, c.language, c.version, c.fingerprint,
            hung.there, hung.by, hung.note)  # fmt: skip


def added(text: str, lines: Iterable[Hung]) -> str:
    """The record with more lines at its end."""
    head = text if text.strip() else cells([COLUMNS])
    return head + ("" if head.endswith("\n") else "\n") + cells(line(h) for h in lines)


def parse(text: str, file: str) -> tuple[tuple[Hung, ...], tuple[Finding, ...]]:
    """The lines of a record, in order, and what is wrong with those that can't be read."""
    out: list[Hung] = []
    findings: list[Finding] = []
    for where, row in table(text, file, COLUMNS, findings):
        try:
            out.append(_hung(row))
        except ValueError as problem:
            hint = "mend the line, or take the file from version control"
            findings.append(error("postings/unreadable", str(problem), where, hint=hint))
    return tuple(out), tuple(findings)


def table(
    text: str, file: str, columns: Sequence[str], findings: list[Finding]
) -> Iterator[tuple[Where, dict[str, str]]]:
    """The rows of a CSV text by the names in its first line, each with its place. Blank rows are passed over.

    Commas, semicolons or tabs part the cells, whichever the first line has.
    """
    first = text.lstrip("\ufeff").partition("\n")[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), delimiter=mark)
    names: list[str] = []
    try:
        for cells_ in reader:
            where = Where(file, reader.line_num, excerpt=mark.join(cells_)[:200])
            row = [plain(" ".join(cell.split())) for cell in cells_]
            if not any(row):
                continue
            if not names:
                names = [name.lower() for name in row]
                if lacking := [c for c in columns if c not in names]:
                    message = f"the first line lacks {', '.join(f'`{c}`' for c in lacking)}"
                    hint = f"begin the file with {','.join(columns)}"
                    findings.append(error("postings/unreadable", message, where, hint=hint))
                    return
                continue
            yield where, dict(zip(names, row, strict=False))
    except csv.Error as problem:
        where = Where(file, reader.line_num)
        findings.append(error("postings/unreadable", f"this is no CSV: {problem}", where, hint="save it as CSV anew"))


def day(words: str) -> datetime.date:
    """A day; `ValueError` says what is wrong."""
    try:
        return datetime.date.fromisoformat(words)
    except ValueError:
        raise ValueError(f"`{words}` is not a day such as 2026-03-31") from None


def count(words: str) -> int:
    """A number of copies; `ValueError` says what is wrong."""
    if not (words.isascii() and words.isdigit() and int(words) <= MOST):
        raise ValueError(f"`{words}` is not a number of copies")
    return int(words)


def _hung(row: dict[str, str]) -> Hung:
    got = {name: row.get(name, "") for name in COLUMNS}
    if empty := [n for n in COLUMNS if not got[n] and n not in ("location", "fingerprint", "note")]:
        raise ValueError(f"nothing stands under {', '.join(f'`{n}`' for n in empty)}")
    what = Copy(*(got[n] for n in ("protocol", "artifact", "sheet", "language", "version", "fingerprint")))
    return Hung(
        day(got["date"]), got["posting"], got["location"], what, count(got["there"]), got["by"], got["note"]
    )  # fmt: skip
