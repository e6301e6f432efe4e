"""Turn one finished file and its edition into findings: everything on it that is not as the edition says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from docgen.findings import Finding, Where, error, warning
from docgen.model.edition import ARTIFACTS, Edition
from docgen.readback.carriage import carriage
from docgen.readback.copy import Copy, Unreadable
from docgen.readback.fields import fields
from docgen.readback.foreign import foreign_words
from docgen.readback.imposition import cut, is_imposed, without_blank_back
from docgen.readback.legibility import legibility
from docgen.readback.notice import also_known, changed
from docgen.readback.places import places
from docgen.readback.reading import read
from docgen.readback.sight import sight
from docgen.readback.squares import codes
from docgen.readback.stamp import DRAFT, numbers, stamp
from docgen.readback.stream import RIGHT_TO_LEFT
from docgen.readback.tags import tags
from docgen.readback.wanted import SIGNALS

SIZE_SLACK = 0.5
"""Millimetres by which a page may differ from its sheet."""
MOST_OF_A_RULE = 25
"""Findings of one rule shown for one file; the rest are counted."""

RULES: tuple[tuple[str, str], ...] = (
    ("readback/unreadable", "the file opens as a PDF, whole"),
    ("readback/encrypted", "the file is not locked"),
    ("readback/too-large", "the file has a size that can be read"),
    ("readback/page-count", "the file has a number of pages that can be read"),
    ("readback/too-complex", "no page has more on it than can be read"),
    ("readback/sheet-size", "every page has the size of its sheet"),
    ("readback/unexpected", "nothing is pinned to a page or turned that no artifact has"),
    ("readback/step-missing", "every step is there"),
    ("readback/step-twice", "no step is there twice"),
    ("readback/step-order", "steps are said in the order of their numbers"),
    ("readback/step-out-of-place", "steps are seen in the order of their numbers"),
    ("readback/step-split", "a step stands with all its parts on one sheet or card side"),
    ("readback/number-wrong", "every headline has its own number"),
    ("readback/foreign-step", "no number stands where step numbers stand without a step of the edition"),
    ("readback/foreign-caution", "no signal word stands without a caution of the edition"),
    ("readback/foreign-text", "no words stand that are neither the edition's nor the template's"),
    ("readback/caution-missing", "every caution is there, whole"),
    ("readback/caution-after-step", "no caution stands after its step"),
    ("readback/caution-misplaced", "no caution stands before an earlier step"),
    ("readback/caution-out-of-place", "every caution is seen right above its step"),
    ("readback/signal-word", "every hazard has its own signal word before it"),
    ("readback/branch-missing", "every branch begins with its question"),
    ("readback/rejoin-missing", "every branch says where it goes on"),
    ("readback/text-missing", "say, answer, do, watch, done-when, hold and other texts are there"),
    ("readback/text-altered", "every text is there word for word"),
    ("readback/number-altered", "no number in a text is changed"),
    ("readback/unit-altered", "no unit in a text is changed"),
    ("readback/negation-altered", "no negation in a text is lost or added"),
    ("readback/words-run-together", "words are parted where the source parts them, and nowhere else"),
    ("readback/change-missing", "a notice says everything that differs from the version before, old and new"),
    ("readback/change-order", "a notice says the old words before the new ones"),
    ("readback/title-missing", "the title is there"),
    ("readback/stamp-missing", "the stamp is whole on every sheet and card side"),
    ("readback/stamp-wrong", "the stamp's dates stand in their order"),
    ("readback/stamp-foreign", "no version, date or fingerprint of another edition is there"),
    ("readback/stamp-numbering", "sheets are numbered x of y without a gap"),
    ("readback/draft-band", "drafts say so, and nothing else does"),
    ("readback/code-missing", "the square code is there"),
    ("readback/code-wrong", "the square code says what the stamp says"),
    ("readback/code-too-fine", "the square code is large enough"),
    ("readback/code-crowded", "the square code has its quiet zone"),
    ("readback/missing-glyph", "every character has its glyph"),
    ("readback/off-sheet", "nothing reaches beyond the sheet"),
    ("readback/near-edge", "no words stand where the sheet is trimmed"),
    ("readback/distorted", "no words are turned or squeezed"),
    ("readback/overlap", "no words are printed over others"),
    ("readback/covered", "nothing is painted over words"),
    ("readback/no-ink", "all words leave ink"),
    ("readback/cut", "no words are cut off"),
    ("readback/faint", "all words stand out from their ground, in colour and in grey"),
    ("readback/too-small", "all words are large enough for their distance"),
    ("readback/distance-claim", "the printed reading distance is true and enough"),
    ("readback/field-missing", "a checklist has its fields"),
    ("readback/field-unnamed", "every field has its names"),
    ("readback/field-shared", "no two fields share a name"),
    ("readback/field-unseen", "every field can be filled in on paper"),
    ("readback/tag-missing", "every step is in the structure of a tagged file"),
    ("readback/tag-order", "the structure has the order that is seen"),
    ("readback/tag-words", "the structure says the words that are drawn"),
    ("readback/untagged", "right-to-left text comes with its exact words"),
    ("readback/imposition", "card sides lie on a press sheet so that they can be cut and registered"),
    ("readback/language-terms", "the signal words of the language are known"),
)
"""Every rule of this room, and what must be true."""


def examine(
    data: bytes,
    edition: Edition,
    artifact: str,
    file: str,
    *,
    sheet: tuple[float, float] | None = None,
    distance: float | None = None,
    draft: bool = False,
    known_words: Iterable[str] | None = None,
    terms: Mapping[str, str] | None = None,
    before: Edition | None = None,
) -> tuple[Finding, ...]:
    """Compare a finished file with its edition.

    `sheet`: expected width and height in millimetres. `distance`: metres from which it must be readable. `draft`:
    whether it must carry the band of drafts. `known_words`: every phrase a template may print besides the edition's own
    words (`{slots}` in them stand for anything); with them, all other words are findings. `terms`: how `danger`,
    `warning`, `caution`, `notice` and `draft` are worded in the edition's language; English needs none.
    `before`: the version that this one replaces, on a notice of change. Never raises for anything in `data`.
    See `RULES`.
    """
    if artifact not in ARTIFACTS:
        raise ValueError(f"`{artifact}` is no artifact; one of {', '.join(ARTIFACTS)}")
    edition = replace(edition, draft=draft)
    try:
        copy = read(data)
    except Unreadable as problem:
        where = Where(file, page=problem.page)
        findings: list[Finding] = [error(problem.rule, problem.message, where, hint=problem.hint)]
    else:
        findings = list(_judge(copy, edition, artifact, file, sheet, distance, draft, known_words, terms, before))
    return tuple(
        replace(f, artifact=artifact, language=edition.language, site=edition.site, protocol=edition.protocol)
        for f in shortened(findings, file)
    )


def _judge(
    copy: Copy,
    edition: Edition,
    artifact: str,
    file: str,
    sheet: tuple[float, float] | None,
    distance: float | None,
    draft: bool,
    known_words: Iterable[str] | None,
    terms: Mapping[str, str] | None,
    before: Edition | None = None,
) -> Iterator[Finding]:
    base = edition.language.split("-")[0].lower()
    words = dict(terms or {})
    if base == "en":
        words = {**SIGNALS, "draft": DRAFT, **words}
    signals = {k: v for k, v in words.items() if k in SIGNALS}
    if lacking := {c.signal for s in edition.all_steps() for c in s.cautions} - signals.keys():
        which = ", ".join(f"`{s}`" for s in sorted(lacking))
        yield warning(
            "readback/language-terms",
            f"how {which} is worded in `{edition.language}` is not known, so signal words are not compared",
            Where(file),
            hint="give the signal words of the language",
        )
    yield from _sizes(copy, file, sheet)
    yield from sight(copy, file)
    if artifact == "cards":
        if is_imposed(copy, edition):
            copy, problems = cut(copy, file, edition)
            yield from problems
        copy = without_blank_back(copy)
    flow = carriage(copy, edition, artifact, file, signals)
    also: tuple[str, ...] = ()
    if before is not None:
        changed(flow, edition, before)
        also = also_known(before)
    yield from flow.findings
    yield from places(flow, base in RIGHT_TO_LEFT)
    yield from tags(copy, flow, edition.language)
    yield from stamp(copy, flow, edition, artifact, draft, words.get("draft"), also)
    yield from codes(copy, file, edition, artifact, numbers(copy, flow, edition, artifact))
    yield from legibility(copy, flow, artifact, distance)
    yield from fields(copy, flow, artifact)
    if known_words is not None:
        yield from foreign_words(flow, edition, (*known_words, *words.values(), *also), base in RIGHT_TO_LEFT)


def _sizes(copy: Copy, file: str, sheet: tuple[float, float] | None) -> Iterator[Finding]:
    if sheet is None:
        return
    for page in copy.pages:
        if abs(page.width - sheet[0]) > SIZE_SLACK or abs(page.height - sheet[1]) > SIZE_SLACK:
            yield error(
                "readback/sheet-size",
                f"the page measures {page.width:.1f} × {page.height:.1f} mm; its sheet {sheet[0]:g} × {sheet[1]:g} mm",
                Where(file, page=page.number),
                hint="render it on the sheet that was asked for",
            )


def shortened(findings: list[Finding], file: str) -> Iterator[Finding]:
    """The first findings of each rule, and how many more there are."""
    seen: Counter[str] = Counter()
    for finding in findings:
        seen[finding.rule] += 1
        if seen[finding.rule] <= MOST_OF_A_RULE:
            yield finding
    for rule, count in seen.items():
        if count > MOST_OF_A_RULE:
            first = next(f for f in findings if f.rule == rule)
            yield replace(
                first, message=f"{count - MOST_OF_A_RULE} more of the same", where=Where(file), step="", notes=()
            )
