"""Judge the stamp of every sheet and card side: the document it names, and that it names no other."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from docgen.findings import Finding, Where, error
from docgen.model.edition import Edition
from docgen.readback.copy import Copy
from docgen.readback.flow import Flow
from docgen.readback.headlines import plain_label
from docgen.readback.wanted import known_texts

VERSION = re.compile(r"(?<![\w.])v\s?(\d+(?:\.\d+)+)(?![\w.]*\d)", re.IGNORECASE)
DATE = re.compile(r"(?<!\d)\d{4}-\d{2}-\d{2}(?!\d)")
FINGERPRINT = re.compile(
    r"(?<![0-9A-Z-])([0-9A-HJKMNP-TV-Z]{5})[\s\u2009\u202f·–-]?([0-9A-HJKMNP-TV-Z]{5})(?![0-9A-Z-])"
)
"""Two groups of five from a base 32 alphabet without I, L, O and U."""
OF = re.compile(r"(?<![\d.-])(?=(\d{1,4})(?!\d)[^\d\n]{1,14}?(?<![\d.-])(\d{1,4})(?![\d-]))")
"""`sheet 2 of 5` in any wording; overlapping pairs are all found."""
NEAR = 200
"""Characters around the fingerprint that are the stamp."""
TOTAL_FIRST = ("zh", "ja", "ko", "tr")
"""Languages that may name the total before the sheet."""
DRAFT = "DRAFT"


def stamp(
    copy: Copy,
    flow: Flow,
    edition: Edition,
    artifact: str,
    draft: bool,
    draft_word: str | None,
    also: Iterable[str] = (),
) -> Iterator[Finding]:
    """Findings about the stamps; `draft_word` is how the draft band is worded, None if that is not known.

    `also`: other words that may name versions, dates and fingerprints.
    """
    pages = [_ascii_digits(flow.rest(n)) for n in range(len(copy.pages))]
    own = " \n".join((*known_texts(edition), *also))
    for index, words in enumerate(pages):
        where = Where(flow.file, page=copy.pages[index].number)
        yield from _parts(words, edition, where)
        yield from _foreign(words, edition, own, where)
        yield from _draft(words, draft, draft_word, where)
    yield from _numbering(copy, flow, pages, edition, artifact)


def stamp_of_words(
    words: str, edition: Edition, draft: bool, draft_word: str | None, where: Where
) -> Iterator[Finding]:
    """Findings about the stamp of a page for screens, which has no sheets to number."""
    words = _ascii_digits(words)
    yield from _parts(words, edition, where)
    yield from _foreign(words, edition, " \n".join(known_texts(edition)), where)
    yield from _draft(words, draft, draft_word, where)


def numbers(copy: Copy, flow: Flow, edition: Edition, artifact: str) -> list[tuple[int, int]]:
    """What each page must say of itself: sheet and number of sheets. Cards may count sides, or cards of two sides."""
    pages = [_ascii_digits(flow.rest(n)) for n in range(len(copy.pages))]
    return _scheme(pages, edition, artifact)


def _ascii_digits(words: str) -> str:
    return plain_label(words)


def _missing(what: str, value: str, where: Where) -> Finding:
    return error(
        "readback/stamp-missing",
        f"the stamp lacks the {what} `{value}`",
        where,
        hint="print the whole stamp on every sheet and card side",
    )


def _parts(words: str, edition: Edition, where: Where) -> Iterator[Finding]:
    if not re.search(rf"(?<![\w-]){re.escape(edition.code)}(?![\w-])", words):
        yield _missing("document code", edition.code, where)
    if edition.version not in VERSION.findall(words):
        yield _missing("version", f"v{edition.version}", where)
    dates = DATE.findall(words)
    for what, day in (("effective date", edition.effective), ("review date", edition.review)):
        if day.isoformat() not in dates:
            yield _missing(what, day.isoformat(), where)
    marks = [m for m in FINGERPRINT.finditer(words) if m[1] + m[2] == edition.fingerprint]
    if not marks:
        yield _missing("fingerprint", f"{edition.fingerprint[:5]} {edition.fingerprint[5:]}", where)
        near = words
    else:
        near = "\n".join(words[max(0, m.start() - NEAR) : m.end() + NEAR] for m in marks)
    if not re.search(rf"(?<![\w-]){re.escape(edition.language)}(?![\w-])", near, re.IGNORECASE):
        yield _missing("language tag", edition.language, where)
    order = [d for d in dates if d in (edition.effective.isoformat(), edition.review.isoformat())]
    if (
        edition.effective != edition.review
        and order
        and order[-2:] == [edition.review.isoformat(), edition.effective.isoformat()]
    ):
        yield error(
            "readback/stamp-wrong",
            "the review date stands before the effective date, so that each is taken for the other",
            where,
            hint="print the effective date first",
        )


def _foreign(words: str, edition: Edition, own: str, where: Where) -> Iterator[Finding]:
    """Versions, dates and fingerprints that are not this edition's."""
    dates = {edition.effective, edition.review}
    dates |= {d for w in edition.waivers for d in (w.on, w.review)}
    dates |= {edition.approval.on} if edition.approval else set()
    known = {d.isoformat() for d in dates}
    for what, values, right in (
        ("version", VERSION.findall(words), {edition.version}),
        ("date", DATE.findall(words), known),
        ("fingerprint", [a + b for a, b in FINGERPRINT.findall(words) if _mixed(a + b)], {edition.fingerprint}),
    ):
        for value in dict.fromkeys(values):
            if value not in right and value not in own:
                yield error(
                    "readback/stamp-foreign",
                    f"the {what} `{value}` is not of this edition (`v{edition.version}`, effective "
                    f"`{edition.effective}`, review `{edition.review}`, `{edition.fingerprint}`)",
                    where,
                    hint="render the sheet again from the present source",
                )


def _mixed(text: str) -> bool:
    """Letters and digits: so that two words of five capitals are not taken for a fingerprint."""
    return any(c.isdigit() for c in text) and any(c.isalpha() for c in text)


def _draft(words: str, draft: bool, word: str | None, where: Where) -> Iterator[Finding]:
    if word is None:
        return
    stands = re.search(rf"(?<!\w){re.escape(word)}(?!\w)", words) is not None
    if draft and not stands:
        yield error(
            "readback/draft-band",
            f"the draft does not say `{word}`",
            where,
            hint="print the band of drafts on every sheet",
        )
    if stands and not draft:
        yield error(
            "readback/draft-band",
            f"`{word}` stands on a sheet that is no draft",
            where,
            hint="render it without the band",
        )


def _says(words: str, sheet: int, sheets: int, total_first: bool) -> bool:
    pairs = [(int(a), int(b)) for a, b in OF.findall(words)]
    return (sheet, sheets) in pairs or (total_first and (sheets, sheet) in pairs)


def _scheme(pages: list[str], edition: Edition, artifact: str) -> list[tuple[int, int]]:
    count = len(pages)
    by_side = [(n + 1, count) for n in range(count)]
    if artifact != "cards":
        return by_side
    by_card = [(n // 2 + 1, (count + 1) // 2) for n in range(count)]
    total_first = edition.language.split("-")[0] in TOTAL_FIRST
    hits = [
        sum(_says(words, *pair, total_first) for words, pair in zip(pages, scheme, strict=True))
        for scheme in (by_side, by_card)
    ]
    return by_card if hits[1] > hits[0] else by_side


def _numbering(copy: Copy, flow: Flow, pages: list[str], edition: Edition, artifact: str) -> Iterator[Finding]:
    total_first = edition.language.split("-")[0] in TOTAL_FIRST
    for index, (sheet, sheets) in enumerate(_scheme(pages, edition, artifact)):
        if not _says(pages[index], sheet, sheets, total_first):
            yield error(
                "readback/stamp-numbering",
                f"the stamp does not say that this is sheet `{sheet} of {sheets}`",
                Where(flow.file, page=copy.pages[index].number),
                hint="number the sheets or sides from 1, without a gap, and name how many there are",
            )
