"""Turn measured figures into tables, and into the page of results with every aim beside what was measured."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

Figures = dict[str, Any]


def _table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """A Markdown table, aligned so that it can be read as it is."""
    cells = [[*head], *([f"{c:.1f}" if isinstance(c, float) else str(c) for c in row] for row in rows)]
    wide = [max(len(row[n]) for row in cells) for n in range(len(cells[0]))]
    lines = ["| " + " | ".join(c.ljust(w) for c, w in zip(row, wide, strict=True)) + " |" for row in cells]
    lines.insert(1, "|" + "|".join("-" * (w + 2) for w in wide) + "|")
    return "\n".join(lines) + "\n"


def whole_set(found: Figures) -> str:
    """Artifacts down, stages and engines across; the last row is how often our making goes into it."""
    rows, pages = found["milliseconds"], found["pages"]
    names = list(rows["poster"])
    ours = rows["whole set"]["making"]
    body = [
        [artifact, pages.get(artifact, sum(pages.values())), *(row[n] for n in names)] for artifact, row in rows.items()
    ]
    body.append(["ratio to making", "", *(f"{rows['whole set'][n] / ours:.2f} ×" for n in names)])
    return _table(["ms", "pages", *names], body)


def one_edit(found: Figures) -> str:
    """What each artifact takes after an edit."""
    return _table(["after one edit", "ms"], found.items())


def languages(found: Figures) -> str:
    """Stages across, languages down."""
    names = list(found["en"])
    return _table(["ms", *names], ([language, *row.values()] for language, row in found.items()))


def lengths(found: Figures) -> str:
    """Steps down, engines across."""
    names = list(found["10"])
    return _table(["steps", *names], ([steps, *(row.get(n, "–") for n in names)] for steps, row in found.items()))


def processes(found: Figures) -> str:
    """Whole processes."""
    rows = (
        [name, f"{r['processor s']:.2f}", f"{r['clock s']:.2f}", f"{r['peak MB']:.0f}"] for name, r in found.items()
    )
    return _table(["whole process", "processor s", "clock s", "peak MB"], rows)


TABLES: dict[str, Callable[[Figures], str]] = {
    "set": whole_set, "edit": one_edit, "languages": languages, "lengths": lengths, "processes": processes,
}  # fmt: skip

TITLES = {
    "set": "The set of a protocol of 30 steps, other words every round",
    "edit": "One sentence changed, in a process that is kept",
    "languages": "The largest shipped edition, 46 steps, warm",
    "lengths": "The script of longer protocols, milliseconds",
    "processes": "Whole processes",
}


def aims(f: Figures) -> str:
    """Every aim beside what was measured, and what stands in the way where it was missed; no row for what was not."""
    rows: list[tuple[str, str, str, str]] = []
    total = f["set"]["milliseconds"]["whole set"]
    making, pages = total["making"], sum(f["set"]["pages"].values())
    rows.append(("whole set, warm, Latin", "60 ms, 17 pages", f"{making:.0f} ms, {pages} pages", WHY["set"]))
    if "languages" in f:
        both = " and ".join(f"{f['languages'][tag]['making']:.0f}" for tag in ("ar", "hi"))
        rows.append(("whole set, warm, Arabic and Hindi", "120 ms, 17 pages", f"{both} ms, 39 pages", WHY["set"]))
    for name, aim in (("ReportLab paragraphs", "3 ×"), ("Typst", "4 ×"), ("WeasyPrint", "45 ×")):
        if name in total:
            rows.append((f"{name} over ours", aim, f"{total[name] / making:.1f} ×", WHY["engines"]))
    if "edit" in f:
        times = sorted(took for name, took in f["edit"].items() if "," not in name)
        rows.append(("one edit, an artifact", "15 ms", f"{times[0]:.0f} to {times[-1]:.0f} ms", WHY["edit"]))
    rows.append(("read-back with pixels over making", "4 ×", f"{total['read back'] / making:.1f} ×", ""))
    if "lengths" in f:
        hundred, thousand = (f["lengths"][steps]["making"] for steps in ("100", "1000"))
        said = f"{thousand / 1000:.1f} s, {thousand / hundred:.1f} × that of 100 steps"
        rows.append(("script of 1,000 steps", "0.4 s, linear", said, WHY["long"]))
    if "processes" in f:
        for name, aim, run, why in (
            ("nothing changed, everything shipped", "0.5 s", "everything shipped again, nothing changed", WHY["again"]),
            ("cold command, read back", "0.6 s", "make one set, cold", WHY["cold"]),
            ("`--help`", "0.12 s", "--help", ""),
            ("`check`, one file", "0.35 s", "check, one file", WHY["check"]),
        ):
            rows.append((name, aim, f"{f['processes'][run]['processor s']:.2f} s", why))
        memory = f["processes"]["make one set, cold"]["peak MB"]
        rows.append(("memory of one process", "120 MB", f"{memory:.0f} MB", WHY["memory"]))
    return _table(["what", "aim", "measured", "what stands in the way"], rows)


WHY = {
    "set": "more and roomier pages; lines are measured and set in Python (half), a square code a sheet (a quarter)",
    "engines": "they draw no figures, frames, stamps or square codes; Typst is compiled code, and is faster than this",
    "edit": "an artifact is placed as a whole; every sheet's fingerprint, and so its square code, changes",
    "again": "every run makes and reads back everything",
    "check": "all combinations of options and branches are run through, with and without a site",
    "cold": "imports, fonts, shaping every word once, then the read-back's pixels",
    "memory": "pixels of pages that are looked at, fonts, drawings kept",
    "long": "the same as for the set, times the pages",
}
"""What stands in the way of an aim, if it is missed."""


def page(found: Figures) -> str:
    """The page of results."""
    parts = ["# How long sheets take\n", INTRODUCTION]
    parts += ["\n".join(f"- {name}: {value}" for name, value in found["machine"].items()) + "\n"]
    parts += ["## Aims\n", aims(found)]
    for name, title in TITLES.items():
        if name in found:
            parts += [f"## {title}\n", TABLES[name](found[name])]
    return "\n".join([*parts, "## Where the time goes\n", PROFILE])


INTRODUCTION = """\
Written by `python tests/bench/bench.py --page tests/bench/RESULTS.md`. Times are milliseconds or seconds of the
processor (user and system), medians of rounds in which all engines take turns, on a machine that had other work to do
at the same time: read the ratios, not the figures. All engines were given the same paragraphs and sheets, and what they
made was checked to have the same words. The content is generated and differs from round to round.
"""
PROFILE = """\
The largest shipped edition (46 steps, 39 pages of five artifacts), warm, processor milliseconds before and after the
work on speed, both measured at the same time on a busy machine; the same bytes were made:

| stage     | before | after |
|-----------|--------|-------|
| compose   | 457    | 113   |
| place     | 1752   | 389   |
| write     | 203    | 157   |
| read back | 1880   | 1393  |

The three largest costs, and what was done:

1. Figures were drawn anew for every artifact (a third of placing). Now once a process, whatever items are called.
2. Of every square code, eight masks were weighed one by one (a fifth of placing); now all at once. Sizes of a poster
   were sought for every number of columns; now only beyond the best one so far.
3. The read-back asked numpy and pdfium about every run by itself, and squashed the same texts again and again. Now
   colours are compared a slice at a time, covering is looked for page by page, texts are squashed once.

Templates were compiled for every artifact; now once a process, and a skeleton's Markdown is parsed once, whatever its
texts.
At last, Python's search for cycles took a third of all making: it now happens seldom, since what is made has none.

What is left: measuring boxes and setting lines in Python (half of placing), a square code for every sheet (a quarter),
rendering every page twice (a third of the read-back), and asking pdfium about each run of words.
"""
