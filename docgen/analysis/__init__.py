"""Turn an edition into what is known about it: is it safe, well worded, short enough, and who wears what when."""

from __future__ import annotations

import datetime

from docgen.analysis import rules as _rules
from docgen.analysis.sequence import SEQUENCE_RULES, apply, check_pair, run
from docgen.analysis.timing import estimate
from docgen.analysis.wording import check as check_wording
from docgen.model.edition import Edition
from docgen.model.moment import Analysis, Rule
from docgen.model.wordlist import WordList

RULES: tuple[Rule, ...] = (*SEQUENCE_RULES, *_rules.RULES)
"""Every rule of the analysis, in the order of the page of rules."""


def analyse(edition: Edition, today: datetime.date | None = None, words: WordList | None = None) -> Analysis:
    """Everything about an edition. A general edition (open options) is explored in every combination.

    `today`: the day on which waivers are judged; without it none expires. `words`: the word list of the edition's
    language; without it the wording is not judged. Never raises on an edition that could be resolved.
    """
    found, moments, counts = run(edition, today)
    timings, slow = estimate(edition)
    worded = check_wording(edition, words) if words else ()
    return Analysis((*found, *worded, *slow), moments, timings, counts)


def explain(name: str) -> str:
    """A rule in plain words with its basis; for a name that is none, the nearest ones."""
    return _rules.explain(name, RULES)


def rules_page() -> str:
    """All rules as one Markdown page."""
    return _rules.rules_page(RULES)


__all__ = ["RULES", "analyse", "apply", "check_pair", "explain", "rules_page"]
