"""Time the making of sheets beside a bare ReportLab canvas that is told where every line goes.

`python tests/bench/bench.py [--rounds N] [--json FILE]` prints a table. Machines are noisy, so figures are medians of
rounds in which the contenders take turns, and what counts is the ratio in the last column: 1.0 is the canvas, the lower
bound for anything that draws with ReportLab. It draws the same words at the same places and sizes, without measuring,
shaping, fitting, tags, form fields, figures or frames.
"""

from __future__ import annotations

import argparse
import io
import json
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent.parent)]

import reportlab  # noqa: E402  (the path comes first)
from reportlab.pdfbase import pdfmetrics  # noqa: E402
from reportlab.pdfbase.ttfonts import TTFont  # noqa: E402
from reportlab.pdfgen.canvas import Canvas  # noqa: E402
from workbench import ROOT, edition, faces, templates  # noqa: E402

from docgen.artifacts import write_pdf  # noqa: E402
from docgen.build.expected import expected  # noqa: E402
from docgen.build.figures import pictures  # noqa: E402
from docgen.build.layouts import layouts  # noqa: E402
from docgen.compose import compose  # noqa: E402
from docgen.model.edition import ARTIFACTS  # noqa: E402
from docgen.model.sheet import Document, Ink  # noqa: E402
from docgen.readback import examine  # noqa: E402
from docgen.source import inline  # noqa: E402
from docgen.typeset import place  # noqa: E402

PROTOCOL, SITE = "enhanced-removal", "harbour-north"


def canvas(document: Document) -> bytes:
    """The document's lines on a bare canvas."""
    out = io.BytesIO()
    page = Canvas(out, invariant=1)
    for sheet in document.sheets:
        page.setPageSize((sheet.width, sheet.height))
        for mark in sheet.marks:
            if isinstance(mark, Ink):
                bold = any(run.face.endswith("Bold") for run in mark.line.runs)
                page.setFont("Bold" if bold else "Regular", mark.size)
                page.drawString(mark.x, sheet.height - mark.y, mark.line.text)
        page.showPage()
    page.save()
    return out.getvalue()


def static_fonts() -> None:
    """ReportLab can't use a variable font: give it a static one of each weight."""
    import uharfbuzz as hb

    data, index = faces()._sources["NotoSans"]()
    for weight, name in ((400, "Regular"), (700, "Bold")):
        face = hb.Face(hb.Blob(data), index)
        asked = hb.SubsetInput()
        asked.keep_everything()
        asked.pin_axis_location(face, "wght", weight)
        asked.pin_axis_location(face, "wdth", 100)
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(hb.subset(face, asked).blob.data)))


def stages(artifact: str) -> dict[str, Callable[[], object]]:
    """Stage → what does it, each given what the one before has made."""
    of, analysis = edition(PROTOCOL, SITE)
    laid, house, _ = layouts(templates())
    layout, choice = laid[artifact], of.sheet(artifact)
    sheet = choice.sheet or layout.sheet

    def composed():
        return compose(of, artifact, templates(), analysis, inline)[0]

    def placed():
        return place(
            composition,
            of,
            layout,
            house,
            faces(),
            pictures(of, analysis),
            sheet=sheet,
            distance=choice.distance or None,
        )[0]

    composition = composed()
    document = placed()
    data = write_pdf(document, faces())
    wanted = expected(of, artifact, layout, sheet, composition)
    return {
        "canvas": lambda: canvas(document),
        "compose": composed,
        "place": placed,
        "write": lambda: write_pdf(document, faces()),
        "read back": lambda: examine(data, of, artifact, artifact, **wanted),
    }


def milliseconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def whole(*words: str, rounds: int = 3) -> tuple[float, float]:
    """Median seconds and greatest peak MB of a whole process."""
    seconds, peak = [], 0.0
    for _ in range(rounds):
        start = time.perf_counter()
        probe = (
            "import resource, subprocess, sys; subprocess.run(sys.argv[1:], capture_output=True, check=True);"
            "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
        )
        said = subprocess.run([sys.executable, "-c", probe, *words], capture_output=True, text=True, check=True)
        seconds.append(time.perf_counter() - start)
        peak = max(peak, int(said.stdout) / 1024)
    return statistics.median(seconds), peak


def main() -> None:
    """Measure and print."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--rounds", type=int, default=7)
    arguments.add_argument("--json", type=Path)
    asked = arguments.parse_args()
    static_fonts()
    rows: dict[str, dict[str, float]] = {}
    for artifact in ARTIFACTS:
        work = stages(artifact)
        found: dict[str, list[float]] = {stage: [] for stage in work}
        for _ in range(asked.rounds):
            for stage, do in work.items():  # in turn, so that a slow moment of the machine meets all alike
                found[stage].append(milliseconds(do))
        rows[artifact] = {stage: statistics.median(times) for stage, times in found.items()}
    rows["whole set"] = {stage: sum(row[stage] for row in rows.values()) for stage in rows["poster"]}
    print(f"{PROTOCOL} at {SITE}; Python {platform.python_version()}, ReportLab {reportlab.Version}; medians of")
    print(f"{asked.rounds} rounds, milliseconds, warm; making = compose + place + write\n")
    print(f"{'':10}{'canvas':>9}{'compose':>9}{'place':>9}{'write':>9}{'read back':>11}{'making/canvas':>15}")
    for name, row in rows.items():
        making = row["compose"] + row["place"] + row["write"]
        row["making / canvas"] = making / row["canvas"]
        print(
            f"{name:10}{row['canvas']:9.1f}{row['compose']:9.1f}{row['place']:9.1f}{row['write']:9.1f}"
            f"{row['read back']:11.1f}{row['making / canvas']:14.1f}×"
        )
    docgen = [sys.executable, "-m", "docgen"]
    processes = {
        "docgen --help": whole(*docgen, "--help"),
        "docgen check one file": whole(*docgen, "check", str(ROOT / "protocols" / f"{PROTOCOL}.yaml")),
    }
    print(f"\n{'whole process':24}{'seconds':>9}{'peak MB':>9}")
    for name, (seconds, peak) in processes.items():
        print(f"{name:24}{seconds:9.2f}{peak:9.0f}")
    print(f"{'this one':24}{'':9}{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:9.0f}")
    if asked.json:
        asked.json.write_text(json.dumps({"stages": rows, "processes": processes}, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
