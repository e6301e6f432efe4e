"""Each safety check can fail: faithful artifacts pass, and each damaged one is caught by the rule meant for it."""

from __future__ import annotations

from functools import cache

import pytest
from damages import MUTANTS, Mutant
from faithful import FORMS, faithful, make_edition

from docgen.findings import Severity
from docgen.readback import examine

CASES = [pytest.param(m, a, id=f"{m.name} ({a})") for m in MUTANTS for a in m.artifacts]


@cache
def clean(artifact: str) -> tuple:
    return examine(faithful(artifact), make_edition(), artifact, "x.pdf", sheet=FORMS[artifact].sheet)


@pytest.mark.parametrize("artifact", FORMS)
def test_a_faithful_artifact_has_no_findings(artifact: str) -> None:
    """What is drawn as the edition says passes every check."""
    assert clean(artifact) == ()


@pytest.mark.parametrize(("mutant", "artifact"), CASES)
def test_a_damaged_artifact_is_caught(mutant: Mutant, artifact: str) -> None:
    """The rule meant for a damage is among the errors."""
    drawn = mutant.drawn(make_edition()) if mutant.drawn else None
    findings = examine(
        faithful(artifact, mutant.marks, drawn), make_edition(), artifact, "x.pdf", sheet=FORMS[artifact].sheet
    )
    rules = {f.rule for f in findings if f.severity is Severity.ERROR}
    assert mutant.rule in rules, "\n".join(f"{f.rule}: {f.message}" for f in findings)
