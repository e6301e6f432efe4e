"""Time each stage of making an artifact, in this process, and the whole of other processes.

Machines are noisy, so times are of the processor (user and system), not of the clock, and contenders take turns.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from content import protocol, site
from workbench import ROOT, faces, project, templates

from docgen.analysis import analyse
from docgen.artifacts import write_pdf
from docgen.build.bench import Bench, back, composed
from docgen.build.expected import expected
from docgen.build.figures import pictures
from docgen.build.layouts import layouts
from docgen.build.prepare import Wanted, prepare
from docgen.build.shelf import Asked
from docgen.edition import resolve
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.readback import examine
from docgen.source import read_protocol, read_site
from docgen.typeset import place

MAKING = ("compose", "place", "write")
STAGES = (*MAKING, "read back")


def spent() -> float:
    """Milliseconds of processor time of this process and those it has waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return 1000 * sum(u.ru_utime + u.ru_stime for u in used)


def timed(work: Callable[[], Any]) -> tuple[Any, float]:
    """What a call gives, and the milliseconds of this process it took."""
    start = time.process_time()
    done = work()
    return done, 1000 * (time.process_time() - start)


@dataclass(frozen=True, slots=True)
class Made:
    """What came of an artifact, and milliseconds of each stage."""

    data: bytes
    took: dict[str, float]
    composition: Any
    document: Any

    @property
    def making(self) -> float:
        """All stages but the read-back."""
        return sum(self.took[stage] for stage in MAKING)


@cache
def house() -> Bench:
    """Shipped templates and layouts."""
    laid, look, _ = layouts(templates())
    assert look is not None
    back()  # as a run of docgen does
    return Bench(project(), templates(), laid, look)


def generated(steps: int, seed: int, edited: int | None = None) -> tuple[Edition, Analysis]:
    """An edition of generated content."""
    read = read_protocol(protocol(steps, seed, edited=edited), "bench.yaml"), read_site(site(), "bench-site.yaml")
    edition, findings = resolve(*read)
    assert edition is not None, findings
    return edition, analyse(edition)


def shipped(name: str, at: str, language: str) -> tuple[Edition, Analysis, Bench]:
    """A shipped edition in a language, with what it takes to make it."""
    asked = Asked((ROOT / "protocols" / f"{name}.yaml",), (at,))
    wanted = Wanted(asked, languages=(language,), draft=True)
    prepared = prepare(project(), wanted)
    ready = prepared.ready(wanted)[0]
    assert prepared.bench is not None
    return ready.edition, ready.analysis, prepared.bench


def make(of: Edition, analysis: Analysis, artifact: str, bench: Bench, *, look: bool = True) -> Made:
    """One artifact, and what each stage took; `look`: with the read-back."""
    took: dict[str, float] = {}
    layout, choice, words = bench.layouts[artifact], of.sheet(artifact), bench.words.get(of.language)
    sheet = choice.sheet or layout.sheet
    (composition, found), took["compose"] = timed(lambda: composed(of, analysis, artifact, bench))
    assert composition is not None, found
    figures = pictures(of, analysis, words)
    far = choice.distance or None
    (document, found), took["place"] = timed(
        lambda: place(composition, of, layout, bench.house, faces(), figures, sheet=sheet, distance=far)
    )
    assert document is not None, found
    data, took["write"] = timed(lambda: write_pdf(document, faces()))
    if look:
        wanted = expected(of, artifact, layout, sheet, composition, words)
        found, took["read back"] = timed(lambda: examine(data, of, artifact, artifact, **wanted))
        assert not [f for f in found if f.severity.value == "error"], found
    return Made(data, took, composition, document)


@dataclass(frozen=True, slots=True)
class Whole:
    """What a whole process took: seconds of the processor and of the clock, and its greatest memory in MB."""

    processor: float
    clock: float
    memory: float


_PROBE = """
import resource, subprocess, sys, time
start = time.perf_counter()
subprocess.run(sys.argv[1:], capture_output=True, check=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(used.ru_utime + used.ru_stime, time.perf_counter() - start, used.ru_maxrss / 1024)
"""


def whole(*words: str | Path) -> Whole:
    """docgen with some arguments, as a process of its own, in the folder of the sources."""
    command = [sys.executable, "-c", _PROBE, sys.executable, "-m", "docgen", *map(str, words)]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    said = subprocess.run(command, capture_output=True, text=True, check=True, env=env, cwd=ROOT).stdout
    return Whole(*map(float, said.split()))


def peak() -> float:
    """Greatest memory of this process so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def in_turn(rounds: int, *contenders: Callable[[int], Any]) -> Iterator[None]:
    """Let contenders take turns, so that a slow moment of the machine meets all alike."""
    for n in range(rounds):
        for contender in contenders:
            contender(n)
        yield
