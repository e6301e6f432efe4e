"""Turn a language's pairs into suspicions that two translations have changed places.

No rule that looks at one text at a time finds two whole, good translations under each other's sources. Words that mean
the same thing come together again and again, though: over all pairs of a language, each source word is tied to the
words its translations share, by the Dice coefficient of their occurrences (Smadja et al., Computational Linguistics
22(1), 1996, from memory). Two pairs that fit better crosswise than straight are shown.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence

from docgen.findings import Finding, Note
from docgen.language.local import spaced
from docgen.language.pairs import Pair
from docgen.model.moment import Rule

STEM = 4
"""Letters of a word that are compared, so that endings do not part what belongs together."""
KINDS = ("step.", "caution.", "branch.", "phase.")
"""Texts that are judged: what people do. Words of templates are few and much alike."""
GAIN, EACH = 0.4, 0.05
"""By how much two must fit better crosswise, together and each of them; 0 = as now, 1 = every word known and matched.
Chosen so that one of 8000 shipped translations is suspected and three of four swaps made at random in them are found.
"""
DOUBTFUL = 0.5
"""A pair that fits at least so well as it stands is not suspected."""
_WORD = re.compile(r"\w[\w'’]*")
_SLOT = re.compile(r"\{[^{}]*\}")

SWAPPED = Rule(
    "language/swapped", "A translation stands under its own source.",
    "Two headlines that change places, in a spreadsheet sorted by one column only, are two good translations of the "
    "wrong steps.", "common practice, no source", "Texts whose words stand nowhere else are not judged.",
    (("every profile", "warning"),), example="`Rub your palms together` → `Frótese el dorso de cada mano`",
)  # fmt: skip


def swapped(pairs: Sequence[Pair], language: str, source_language: str) -> Iterator[Finding]:
    """Pairs of texts of one kind in one catalogue that fit better crosswise, the likeliest first."""
    ours = [_parts(p.entry.source, source_language) for p in pairs]
    theirs = [_parts(p.entry.translation, language) for p in pairs]
    once = {(p.entry.source, p.entry.translation): n for n, p in enumerate(pairs)}.values()
    fit = _Fit([(ours[n], theirs[n]) for n in once])
    own = [fit.straight(s, t) for s, t in zip(ours, theirs, strict=True)]
    groups: dict[tuple[str, str], list[int]] = defaultdict(list)
    for n, pair in enumerate(pairs):
        if own[n] < DOUBTFUL and pair.entry.key.startswith(KINDS):
            groups[pair.catalogue, _kind(pair.entry.key)].append(n)
    told: set[int] = set()
    for _, a, b in sorted(_crosswise(groups.values(), pairs, ours, theirs, own, fit), key=lambda g: -g[0]):
        if a in told or b in told or pairs[a].accepts(SWAPPED) or pairs[b].accepts(SWAPPED):
            continue
        told |= {a, b}
        first, second = pairs[a], pairs[b]
        other = second.entry.where.line
        finding = first.found(SWAPPED, f"this translation and the one in line {other} may have changed places",
                              "read both; put each under its source, or accept one in a comment")  # fmt: skip
        notes = (*finding.notes, Note(f"source: `{second.entry.source}`", second.entry.where),
                 Note(f"translation: `{second.entry.translation}`"))  # fmt: skip
        yield Finding(finding.rule, finding.severity, finding.message, finding.where, hint=finding.hint,
                      step=finding.step, notes=notes, data=finding.data)  # fmt: skip


def _crosswise(
    groups: Iterable[list[int]],
    pairs: Sequence[Pair],
    ours: list[frozenset[str]],
    theirs: list[frozenset[str]],
    own: list[float],
    fit: _Fit,
) -> Iterator[tuple[float, int, int]]:
    for group in groups:
        for x, a in enumerate(group):
            for b in group[x + 1 :]:
                if ours[a] == ours[b] or theirs[a] == theirs[b]:
                    continue
                gain = fit.across(ours[a], theirs[b]) - own[a]
                if gain > EACH and (other := fit.across(ours[b], theirs[a]) - own[b]) > EACH and gain + other > GAIN:
                    yield gain + other, a, b


class _Fit:
    """How well a source and a translation fit by what all others of the language say; 0 to 1."""

    def __init__(self, pairs: Sequence[tuple[frozenset[str], frozenset[str]]]) -> None:
        self.source = Counter(w for s, _ in pairs for w in s)
        self.target = Counter(w for _, t in pairs for w in t)
        self.both: dict[str, Counter[str]] = defaultdict(Counter)
        for s, t in pairs:
            for word in s:
                self.both[word].update(t)
        self.weight = {w: math.log(len(pairs) / n) for w, n in self.source.items() if n > 2}
        ties: dict[str, dict[str, float]] = {}
        for word in self.weight:
            n = self.source[word]
            ties[word] = {w: 2 * c / (n + self.target[w]) for w, c in self.both[word].items() if c > 1}
        self.ties = ties

    def straight(self, source: frozenset[str], target: frozenset[str]) -> float:
        """As it stands, leaving out what the pair says of itself; 1 when no word is known from elsewhere."""

        def tie(word: str) -> float:
            n = self.source[word] - 1
            found = (2 * (c - 1) / (n + self.target[w] - 1) for w in target if (c := self.both[word].get(w, 0)) > 2)
            return max(found, default=0.0)

        return self._mean([(self.weight[w], tie(w)) for w in source if w in self.weight], 1.0)

    def across(self, source: frozenset[str], target: frozenset[str]) -> float:
        """With another's translation; 0 when no word is known from elsewhere."""
        ties = self.ties
        known = [(self.weight[w], ties[w]) for w in source if w in ties]
        return self._mean([(k, max((t[w] for w in target if w in t), default=0.0)) for k, t in known], 0.0)

    @staticmethod
    def _mean(parts: list[tuple[float, float]], otherwise: float) -> float:
        total = sum(weight for weight, _ in parts)
        return sum(weight * tie for weight, tie in parts) / total if total else otherwise


def _parts(text: str, language: str) -> frozenset[str]:
    """Beginnings of words; of a language without blanks, each two letters that follow one another."""
    words = _WORD.findall(_SLOT.sub(" ", text).casefold())
    if spaced(language):
        return frozenset(w[:STEM] for w in words)
    return frozenset(w[n : n + 2] for w in words for n in range(max(1, len(w) - 1)))


def _kind(key: str) -> str:
    """`step.headline`, `caution.avoid`: texts that could be taken for one another."""
    parts = key.split(".")
    return f"{parts[0]}.{parts[2] if len(parts) > 2 else parts[-1]}"
