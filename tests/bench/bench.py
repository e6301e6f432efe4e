"""Measure how long sheets take, beside general-purpose engines on the same words in the same run.

`python tests/bench/bench.py [--rounds N] [--only PART …] [--long] [--json FILE] [--page FILE]` prints tables; with the
extra `bench` installed, all engines take part. Times are of the processor, so that other work on the machine disturbs
them less, and medians of rounds in which all take turns, each round with words of its own. What counts is the ratio.
"""

from __future__ import annotations

import argparse
import gc
import importlib.metadata
import json
import platform
import statistics
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent.parent)]

import peers  # noqa: E402  (the paths come first)
import results  # noqa: E402
from content import folder  # noqa: E402
from stages import MAKING, STAGES, generated, house, make, peak, shipped, spent, timed, whole  # noqa: E402
from workbench import ROOT  # noqa: E402

from docgen.model.edition import ARTIFACTS  # noqa: E402

STEPS = 30
FLAGSHIP = ("enhanced-removal", "harbour-north")


def _median(found: dict[str, list[float]]) -> dict[str, float]:
    return {name: statistics.median(times) for name, times in found.items()}


def _words(data: bytes) -> Counter[str]:
    import pypdfium2

    pages = pypdfium2.PdfDocument(data)
    return Counter(w for page in pages for w in page.get_textpage().get_text_range().split())


def whole_set(rounds: int) -> dict[str, Any]:
    """The set of a protocol of 30 steps: each stage, the lower bound, and the other engines."""
    found: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    pages: dict[str, int] = {}
    with tempfile.TemporaryDirectory() as kept:
        for seed in range(rounds + 1):  # the first round warms up, and proves that all have the same words
            gc.collect()  # nobody pays for what another has left behind
            of, analysis = generated(STEPS, seed)
            for artifact in ARTIFACTS:
                made = make(of, analysis, artifact, house())
                pages[artifact] = len(made.document.sheets)
                matter = peers.matter(made.composition, made.document)
                took = {**made.took, "making": made.making}
                _, took["canvas, lines given"] = timed(lambda made=made: peers.canvas(made.document, kept))
                for name in peers.at_hand():
                    before = spent()
                    data = peers.ENGINES[name](matter, kept)
                    took[name] = spent() - before
                    if not seed:
                        lost = Counter(w for _, p in matter.paragraphs for w in p.split()) - _words(data)
                        assert not lost, (name, artifact, lost)
                for name, milliseconds in took.items():
                    if seed:
                        found[artifact][name].append(milliseconds)
    rows = {artifact: _median(times) for artifact, times in found.items()}
    rows["whole set"] = {name: sum(row[name] for row in rows.values()) for name in rows["poster"]}
    return {"milliseconds": rows, "pages": pages, "fields": 3 * STEPS, "peak MB": peak()}


def one_edit(rounds: int) -> dict[str, Any]:
    """A kept process, one sentence of step 16 changed: what each artifact takes."""
    found: dict[str, list[float]] = defaultdict(list)
    for n in range(rounds):
        before = generated(STEPS, 100 + n)
        for artifact in ARTIFACTS:
            make(*before, artifact, house(), look=False)
        after, took = timed(lambda n=n: generated(STEPS, 100 + n, edited=16))
        found["read, resolve, analyse"].append(took)
        for artifact in ARTIFACTS:
            found[artifact].append(make(*after, artifact, house(), look=False).making)
    return _median(found)


def languages(rounds: int) -> dict[str, Any]:
    """The largest shipped edition, in scripts of three kinds."""
    out = {}
    for language in ("en", "ar", "hi"):
        of, analysis, bench = shipped(*FLAGSHIP, language)
        found: dict[str, list[float]] = defaultdict(list)
        for n in range(rounds + 1):
            sums: Counter[str] = Counter()
            for artifact in ARTIFACTS:
                made = make(of, analysis, artifact, bench)
                sums.update(made.took)
            if n:
                for stage in STAGES:
                    found[stage].append(sums[stage])
        out[language] = _median(found)
        out[language]["making"] = sum(out[language][stage] for stage in MAKING)
    return out


def lengths(rounds: int, long: bool) -> dict[str, Any]:
    """The script of 10, 100 and 1,000 steps, beside the engines that can be kept in a process."""
    out: dict[str, dict[str, float]] = {}
    names = [n for n in peers.at_hand() if n != "Chromium"]
    with tempfile.TemporaryDirectory() as kept:
        for steps in (10, 100, 1000):
            found: dict[str, list[float]] = defaultdict(list)
            for seed in range(rounds if steps < 1000 else min(rounds, 3)):
                (of, analysis), took = timed(lambda steps=steps, seed=seed: generated(steps, 200 + seed))
                found["read, resolve, analyse"].append(took)
                made = make(of, analysis, "script", house(), look=False)
                found["making"].append(made.making)
                matter = peers.matter(made.composition, made.document)
                for name in names:
                    if steps < 1000 or name != "WeasyPrint" or long:
                        _, took = timed(lambda name=name, matter=matter: peers.ENGINES[name](matter, kept))
                        found[name].append(took)
                found["pages"].append(len(made.document.sheets))
            out[str(steps)] = _median(found)
    return out


def processes(rounds: int, long: bool) -> dict[str, Any]:
    """Whole processes: start-up, check, cold make with read-back, a second make without change, many editions."""
    out: dict[str, dict[str, float]] = {}

    def note(name: str, *words: str | Path, times: int = rounds) -> None:
        runs = [whole(*words) for _ in range(times)]
        out[name] = {
            "processor s": statistics.median(r.processor for r in runs),
            "clock s": statistics.median(r.clock for r in runs),
            "peak MB": max(r.memory for r in runs),
        }

    note("--help", "--help")
    note("check, one file", "check", ROOT / "protocols" / f"{FLAGSHIP[0]}.yaml")
    with tempfile.TemporaryDirectory() as kept:
        at = Path(kept)
        one = folder(at / "one", STEPS, range(1))
        sheets = [word for artifact in ARTIFACTS for word in ("--artifact", artifact)]
        for name in ("make one set, cold", "make it again, nothing changed"):
            note(name, "make", "--protocols", one, "--out", at / "out", "--jobs", "1", *sheets, times=1)
        for count in (1, 10, 100, 1000) if long else (1, 10):
            many = folder(at / f"many-{count}", 10, range(count))
            for jobs in ("1", "2"):
                name = f"{count} editions of 10 steps, {jobs} processes"
                note(name, "make", "--protocols", many, "--out", at / "out", "--jobs", jobs, *sheets, times=1)
    with tempfile.TemporaryDirectory() as kept:
        note("make everything shipped", "make", "--out", Path(kept) / "out", times=1)
        note("everything shipped again, nothing changed", "make", "--out", Path(kept) / "out", times=1)
    return out


def machine() -> dict[str, str]:
    """What it ran on: no names of hosts, people or folders."""
    lines = Path("/proc/cpuinfo").read_text("utf-8").splitlines() if Path("/proc/cpuinfo").exists() else []
    model = next((line.partition(":")[2].strip() for line in lines if line.startswith("model name")), "")
    cores = sum(line.startswith("processor") for line in lines)
    out = {"processor": f"{model or platform.machine()}, {cores} cores", "system": platform.system()}
    out["Python"] = platform.python_version()
    for name in ("reportlab", "typst", "weasyprint", "pypdfium2", "uharfbuzz"):
        try:
            out[name] = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            out[name] = "not installed"
    return out


def main() -> None:
    """Measure, print, and write what was asked for."""
    parts: dict[str, Callable[[int, bool], dict[str, Any]]] = {
        "set": lambda rounds, long: whole_set(rounds),
        "edit": lambda rounds, long: one_edit(rounds),
        "languages": lambda rounds, long: languages(rounds),
        "lengths": lengths,
        "processes": processes,
    }
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--rounds", type=int, default=5)
    arguments.add_argument("--only", action="append", choices=parts, default=[], help="this part; may be repeated")
    arguments.add_argument("--long", action="store_true", help="also 100 and 1,000 editions, WeasyPrint on 1,000 steps")
    arguments.add_argument("--json", type=Path, help="where to write the figures; parts left out keep those there")
    arguments.add_argument("--page", type=Path, help="where to write the page of results")
    asked = arguments.parse_args()
    found: dict[str, Any] = {}
    if asked.json and asked.json.exists():
        found = json.loads(asked.json.read_text("utf-8"))
    found["machine"], found["rounds"] = machine(), asked.rounds
    for name, part in parts.items():
        if not asked.only or name in asked.only:
            found[name] = part(asked.rounds, asked.long)
            print(results.TABLES[name](found[name]), flush=True)
            if asked.json:
                asked.json.write_text(json.dumps(found, indent=1) + "\n", "utf-8")
    if asked.page:
        asked.page.write_text(results.page(found), "utf-8")


if __name__ == "__main__":
    main()
