"""Turn the whole of an artifact's text into advice on how easy it is to read."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.readability import Score, measure
from docgen.analysis.wording.passages import Reading
from docgen.findings import Finding, advice
from docgen.model.moment import Rule

READABILITY = Rule(
    "wording/hard-to-read",
    "The script and the poster, each as a whole, are easy to read.",
    "People of many schools and first languages work from them, tired and in a hurry.",
    "Flesch 1948, Kincaid and others 1975 (English); Szigriszt-Pazos with the INFLESZ bands, Barrio-Cantalejo 2008 "
    "(Spanish); Björnsson's LIX (other languages). Targets from memory: Reading Ease 60, grade 8, INFLESZ 65, LIX 40",
    "Never computed for one step: it is too short for the formulas. No score for scripts without spaces between words.",
    (("every profile", "advice"),),
    example="shorter sentences first, then shorter words",
)
ARTIFACTS = {
    "poster": ("headline", "hazard", "consequence", "avoid", "question"),
    "script": (
        "headline", "say", "answer", "do", "watch", "done-when", "hold",
        "hazard", "consequence", "avoid", "question", "leave",
    ),
}  # fmt: skip
"""What each artifact says, by field: every step and caution; the script also the words spoken and the technique."""


def scores(reading: Reading) -> Iterator[tuple[str, tuple[Score, ...]]]:
    """How easy each artifact is to read as a whole, by every formula made for its language."""
    for artifact, fields in ARTIFACTS.items():
        sentences = [s.words for p in reading.of(*fields) for s in p.sentences]
        yield artifact, tuple(measure(sentences, reading.edition.language))


def hard_to_read(reading: Reading) -> Iterator[Finding]:
    """Scores that miss their target, one finding an artifact."""
    for artifact, measured in scores(reading):
        missed = [s for s in measured if not s.easy]
        if missed:
            said = ", ".join(f"{s.name} {s.value:.1f} (aim: {s.aim})" for s in missed)
            yield advice(
                READABILITY.name, f"the {artifact} as a whole is hard to read: {said}",
                hint="shorten the longest sentences first, then replace long words", artifact=artifact,
                data=tuple((s.name, f"{s.value:.1f}") for s in measured),
            )  # fmt: skip
