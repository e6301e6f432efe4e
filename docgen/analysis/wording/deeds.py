"""Turn acts and headlines into findings: what must be clean is said where everybody reads it."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.wording.passages import Reading
from docgen.findings import Finding, error
from docgen.model.edition import Act
from docgen.model.moment import Rule

CLEANING = frozenset({"sanitize", "rub-hands", "wash", "clean", "change-gloves"})
"""Acts that the sequence analysis counts as cleaning."""

UNSAID = Rule(
    "wording/cleaning-unsaid",
    "A step that cleans hands, gloves or anything else says so in its headline.",
    "The acts are for programs: one without words makes the sequence look safe, and nobody does it. Posters, cards and "
    "checklists carry headlines only.",
    "DOE-STD-1029-92 (from memory) and UK HSE HSG48: one action a step; logic",
    "Only where the language's list has words for cleaning.",
    (("every profile", "error"),),
    waivable=False,
    example="`Remove the apron` with the act `sanitize: outer-gloves` → add a step `Sanitize the outer gloves`",
)


def cleaning_unsaid(reading: Reading) -> Iterator[Finding]:
    """Cleaning acts in steps whose headline has no word for cleaning."""
    if not reading.words.cleaning:
        return
    for step in reading.edition.all_steps():
        words = step.headline.plain.lower().split()
        acts = [act for act in step.acts if act.verb in CLEANING]
        if acts and not any(word.startswith(reading.words.cleaning) for word in words):
            yield error(
                UNSAID.name,
                f"step `{step.id}` {_what(acts[0])}, but its headline `{step.headline.plain}` does not tell anybody to",
                acts[0].where if acts[0].where.file else step.where,
                hint="make it a step of its own with a headline such as `Sanitize the gloves`, or say it in this one",
                step=step.id,
                data=(("text", step.headline.key),),
            )


def _what(act: Act) -> str:
    return f"has the act `{act.verb}: {', '.join(act.targets)}`"
