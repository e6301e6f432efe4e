"""All rules of the sequence, as one visible tuple: by theme, in the order in which they are shown.

Eye protection before or after the gown is deliberately no rule: published sequences do it both ways.
"""

from __future__ import annotations

from docgen.analysis.sequence.rules import branches, donning, hands, order, people, places, stages, words, worn
from docgen.analysis.sequence.rules.base import Check
from docgen.model.moment import Rule

CHECKS: tuple[Check, ...] = (
    *worn.CHECKS,
    *order.CHECKS,
    *hands.CHECKS,
    *stages.CHECKS,
    *branches.CHECKS,
    *people.CHECKS,
    *places.CHECKS,
    *words.CHECKS,
    *donning.CHECKS,
)

SAFETY_RULES: tuple[Rule, ...] = tuple(dict.fromkeys(rule for check in CHECKS for rule in check.rules))
