"""Turn an edition into proof that its sequence is safe, or into the story of how it is not.

The edition is run as a state machine (`state`, `acts`), through every combination of options and every branch
(`explore`); rules (`rules`) look at each act, step and end; a breach becomes a finding with its story (`trace`,
`report`) and the smallest change that mends it (`suggest`). A site may waive rules (`waivers`). The same states say
what the figure of each step shows (`moments`).
"""

from __future__ import annotations

import datetime

from docgen.analysis.sequence.explore import MOST_RUNS, explore
from docgen.analysis.sequence.moments import moments
from docgen.analysis.sequence.pairs import PAIR, check_pair
from docgen.analysis.sequence.report import findings_of
from docgen.analysis.sequence.rules import CHECKS, SAFETY_RULES
from docgen.analysis.sequence.rules.base import NO_SOURCE
from docgen.analysis.sequence.rules.branches import never_possible
from docgen.analysis.sequence.setting import setting_of
from docgen.analysis.sequence.suggest import Change, apply
from docgen.analysis.sequence.waivers import WAIVER_RULES, waive
from docgen.findings import Finding, warning
from docgen.model.edition import Edition
from docgen.model.moment import Counts, Moment, Rule

BOUNDED = Rule(
    "sequence/not-explored-whole",
    "Every combination of options and branches is explored.",
    "A rule that was not asked everywhere proves nothing there.",
    NO_SOURCE,
    "More combinations or paths than the stated bound: the finding says what was left out.",
    (("standard", "warning"), ("enhanced", "warning")),
    waivable=False,
    example="137 of 131072 combinations were explored: every choice together with every other choice → check each site",
)

SEQUENCE_RULES: tuple[Rule, ...] = (*SAFETY_RULES, PAIR, *WAIVER_RULES, BOUNDED)


def run(
    edition: Edition, today: datetime.date | None = None, most_runs: int = MOST_RUNS
) -> tuple[tuple[Finding, ...], tuple[Moment, ...], Counts]:
    """Findings after waivers, the wearer at each step, and what was explored.

    `today` is the day on which waivers are judged; without it none expires. `most_runs` bounds the exploration.
    """
    setting = setting_of(edition)
    walk = explore(setting, CHECKS, most_runs)
    for branch in walk.never_entered():
        walk.note(never_possible(branch), "", -1, 0, setting.options.mask(branch.when), None)
    counts = walk.counts()
    findings = findings_of(walk)
    if counts.bounded:
        hint = "check the edition of each site, which has no open options, or split the protocol"
        findings = (*findings, warning(BOUNDED.name, counts.bounded, hint=hint, protocol=edition.protocol))
    return waive(edition, findings, SEQUENCE_RULES, today), moments(setting), counts


__all__ = ["SEQUENCE_RULES", "Change", "apply", "check_pair", "run"]
