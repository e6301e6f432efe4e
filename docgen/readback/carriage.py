"""Judge whether a copy carries every step, caution, branch and text of the edition, word for word and in order."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping

from docgen.findings import Note, Where
from docgen.model.edition import Edition, Step
from docgen.model.text import Text
from docgen.readback.closest import closest
from docgen.readback.copy import Copy
from docgen.readback.flow import Flow, Found, Head
from docgen.readback.headlines import Spot, labels, plain_label, spots, usual
from docgen.readback.stream import squash, stream_of
from docgen.readback.wanted import CARRIES, TITLE_ON, Wanted, WantedStep, Warned, wanted_loose, wanted_steps

NO_STYLE = (0, 0.0)


def carriage(copy: Copy, edition: Edition, artifact: str, file: str, signals: Mapping[str, str]) -> Flow:
    """Compare a copy's words with the edition; `signals` gives the printed signal words."""
    flow = Flow(stream_of(copy, edition.languages), file, tuple(p.number for p in copy.pages))
    steps = wanted_steps(edition, artifact)
    _heads(flow, steps, artifact)
    _order(flow)
    leads = [_lead(flow, n, signals) for n in range(len(flow.heads))]
    for n in range(len(flow.heads)):
        _texts(flow, n, leads, squash(edition.code).text)
    _elsewhere(flow, leads)
    _loose(flow, wanted_loose(edition, artifact))
    _title(flow, edition.title, artifact)
    if steps:
        _foreign_numbers(flow, edition)
        _foreign_cautions(flow, signals)
    return flow


def _heads(flow: Flow, steps: tuple[WantedStep, ...], artifact: str) -> None:
    """Choose the place of each step's headline; say which are missing, doubled or wrongly numbered."""
    found = spots(flow.stream, [w.step for w in steps])
    numbers: dict[str, set[str]] = defaultdict(set)
    for w in steps:
        numbers[squash(w.step.headline.plain).text].add(w.step.label)
    numbered = [s for text, many in found.items() for s in many if s.label in numbers[text]]
    style, prefix = usual(numbered)
    several = "say" in CARRIES[artifact] or "fields" in CARRIES[artifact]
    chosen: dict[str, list[Head]] = {}
    for w in steps:
        text = squash(w.step.headline.plain).text
        here = [s for s in found.get(text, ()) if s.label == w.step.label]
        here = [s for s in here if s.prefix == prefix] or here
        here = [s for s in here if s.style == style] or here
        if not here:
            _no_head(flow, w, found.get(text, []), numbers[text], style)
            continue
        if w.branch is None or not several:
            _doubled(flow, w, here[1:])
            here = here[:1]
        chosen[w.step.id] = [Head(w, s) for s in here]
    _uneven(flow, steps, chosen)
    flow.heads = sorted((h for many in chosen.values() for h in many), key=lambda h: h.spot.start)
    for head in flow.heads:
        step = head.wanted.step
        flow.spacing(f"headline of step `{step.label}`", squash(step.headline.plain), head.spot.start, step.id)
        flow.take("headline", head.spot.start, head.spot.end, step.id)
        if head.spot.label_at >= 0:
            flow.take("number", head.spot.label_at, head.spot.label_at + len(head.spot.label), head.wanted.step.id)


def _no_head(flow: Flow, w: WantedStep, same: list[Spot], numbers: set[str], style: tuple[int, float]) -> None:
    """Say what is wrong with a step whose headline does not stand under its number."""
    step = w.step
    wrong = [s for s in same if s.label not in numbers and (s.label or s.style == style or style == NO_STYLE)]
    notes = (Note("as the source has it", step.where),) if step.where != Where() else ()
    if wrong:
        stands = f"under the number `{wrong[0].label}`" if wrong[0].label else "without its number"
        flow.say(
            "readback/number-wrong",
            f"`{step.headline.plain}` stands {stands}; it is step `{step.label}`",
            flow.where(wrong[0].start, wrong[0].end),
            step=step.id,
            hint="print each headline with its own number, beside it",
            notes=notes,
        )
        flow.take("headline", wrong[0].start, wrong[0].end, step.id)
        return
    wanted = Wanted(f"headline of step `{step.label}`", step.headline)
    # what stands under its number is the likeliest to be a changed headline
    start, end = 0, len(flow.stream.text)
    for at, (number, _) in labels(flow.stream).items() if flow.comparing else ():
        after = at + len(number)
        near = min(len(flow.stream.text), after + 2 * len(step.headline.plain))
        if number == step.label and closest(step.headline.plain, flow.stream, after, near, flow.free):
            start, end = after, near
    flow.lacking(wanted, start, end, "readback/step-missing", "print every step of the edition", step.id, step.where)


def _doubled(flow: Flow, w: WantedStep, more: list[Spot]) -> None:
    for spot in more:
        flow.say(
            "readback/step-twice",
            f"step `{w.step.label}` `{w.step.headline.plain}` stands more than once",
            flow.where(spot.start, spot.end),
            step=w.step.id,
            hint="print each step once",
        )


def _uneven(flow: Flow, steps: tuple[WantedStep, ...], chosen: dict[str, list[Head]]) -> None:
    """A branch may be printed wherever it can occur, but then all of it."""
    by_branch: dict[str, list[WantedStep]] = defaultdict(list)
    for w in steps:
        if w.branch is not None and w.step.id in chosen:
            by_branch[w.branch.id].append(w)
    for many in by_branch.values():
        least = min(len(chosen[w.step.id]) for w in many)
        for w in many:
            _doubled(flow, w, [h.spot for h in chosen[w.step.id][least:]])
            chosen[w.step.id] = chosen[w.step.id][:least]


def _order(flow: Flow) -> None:
    """Main path and each branch, each time it is printed, must stand in the order of their numbers."""
    paths: dict[tuple[str, int], list[Head]] = defaultdict(list)
    times: dict[str, int] = defaultdict(int)
    for head in flow.heads:
        branch = head.wanted.branch.id if head.wanted.branch else ""
        paths[(branch, times[head.wanted.step.id])].append(head)
        times[head.wanted.step.id] += 1
    for heads in paths.values():
        for head, before in _misplaced(heads):
            flow.say(
                "readback/step-order",
                f"step `{head.wanted.step.label}` stands before step `{before.wanted.step.label}`",
                flow.where(head.spot.start, head.spot.end),
                step=head.wanted.step.id,
                hint="print the steps in the order of their numbers",
            )


def _misplaced(heads: list[Head]) -> list[tuple[Head, Head]]:
    """Heads, in stream order, outside a longest rising sequence of numbers, each with one it wrongly precedes."""
    tails: list[int] = []
    at: list[int] = []
    links: list[int] = []
    for n, head in enumerate(heads):
        number = head.wanted.step.number
        k = bisect_left(tails, number)
        tails[k : k + 1] = [number]
        at[k : k + 1] = [n]
        links.append(at[k - 1] if k else -1)
    kept: set[int] = set()
    n = at[-1] if at else -1
    while n >= 0:
        kept.add(n)
        n = links[n]
    out = []
    for n, head in enumerate(heads):
        if n not in kept:
            number = head.wanted.step.number
            later = [h for h in heads[n + 1 :] if h.wanted.step.number < number]
            earlier = [h for h in heads[:n] if h.wanted.step.number > number]
            out.append((head, later[0]) if later else (earlier[-1], head))
    return out


def _lead(flow: Flow, n: int, signals: Mapping[str, str]) -> int:
    """Check what must stand between the step before and this step's headline; where that begins."""
    head = flow.heads[n]
    start = flow.heads[n - 1].spot.end if n else 0
    end = head.spot.start
    begins = head.begins
    w = head.wanted
    if w.branch is not None and w.first:
        question = Wanted("question of the branch", w.branch.question)
        # the last one: the same question also stands where the branch is left for
        places = list(flow.stream.find(squash(w.branch.question.plain), start, end))
        asked = flow.place(question, places[-1], end, w.step.id) if places else None
        if asked is not None:
            begins = min(begins, asked.start)
            letter = asked.start - len(w.branch.letter)
            if letter >= 0 and flow.stream.text[letter : asked.start] == w.branch.letter and flow.stream.edge(letter):
                flow.take("letter", letter, asked.start, w.step.id)
        else:
            hint = "print the question before the branch's steps"
            flow.lacking(question, start, end, "readback/branch-missing", hint, w.step.id, w.branch.where)
    cursor = start
    for warned in w.cautions:
        first = _caution(flow, warned, cursor, end, w, signals)
        if first is not None:
            begins = min(begins, first)
            cursor = first
    return begins


def _caution(flow: Flow, warned: Warned, start: int, end: int, w: WantedStep, signals: Mapping[str, str]) -> int | None:
    """Take a caution's texts before its step's headline; where they begin, or None if none is there."""
    caution = warned.caution
    at, first = start, None
    lost: list[Wanted] = []
    for wanted in warned.texts:
        found = flow.place(wanted, at, end, w.step.id, caution.id)
        if found is None:
            lost.append(wanted)
        else:
            at = found.end
            if first is None:
                first = _signal_word(flow, warned, found, w, signals) if wanted is warned.texts[0] else found.start
    if len(lost) == len(warned.texts):
        flow.found.append(Found("caution not before its step", 0, 0, w.step.id, caution.id))
        return None
    _missing(flow, warned, lost, start, end, w.step)
    return first


def _missing(flow: Flow, warned: Warned, lost: list[Wanted], start: int, end: int, step: Step) -> None:
    """Say which sentences of a caution are altered; and, once for the caution, what of it is not there at all."""
    caution = warned.caution
    gone = [t for t in lost if not flow.altered(t, start, end, step.id, caution.where)]
    if not gone:
        return
    words = " and ".join(f"`{t.text.plain}`" for t in gone)
    whole = len(gone) == len(warned.texts)
    flow.say(
        "readback/caution-missing",
        f"the caution {words.replace('` and `', ' ')} before step `{step.label}` is not on the sheet"
        if whole
        else f"of the caution `{caution.hazard.plain}` before step `{step.label}`, {words} is not on the sheet",
        step=step.id,
        hint="print every caution whole, before its step",
        notes=(Note("as the source has it", caution.where),),
    )


def _signal_word(flow: Flow, warned: Warned, hazard: Found, w: WantedStep, signals: Mapping[str, str]) -> int:
    """Check the word right before a hazard; where the caution begins."""
    word = signals.get(warned.caution.signal)
    if word is None:
        return hazard.start
    wanted = squash(word).text
    cut = hazard.start
    while cut > 0 and not flow.stream.text[cut - 1].isalnum() and hazard.start - cut < 6:
        if flow.stream.text[:cut].casefold().endswith(wanted.casefold()):
            break  # the word itself may end in a sign
        cut -= 1
    start = cut - len(wanted)
    if start >= 0 and flow.stream.text[start:cut].casefold() == wanted.casefold() and flow.stream.edge(start):
        flow.take("signal word", start, cut, w.step.id, warned.caution.id)
        return start
    others = [v for v in signals.values() if flow.stream.text[:cut].casefold().endswith(squash(v).text.casefold())]
    found = f"stands under `{others[0]}`" if others else "stands without its signal word"
    flow.say(
        "readback/signal-word",
        f"the hazard `{warned.caution.hazard.plain}` {found}; it must be `{word}`",
        flow.where(hazard.start, hazard.end),
        step=w.step.id,
        hint="print the signal word of the caution right before its hazard",
    )
    return hazard.start


def _texts(flow: Flow, n: int, leads: list[int], code: str) -> None:
    """Check the texts that stand with a step, after its headline."""
    head = flow.heads[n]
    w = head.wanted
    start = head.begins
    end = leads[n + 1] if n + 1 < len(leads) else len(flow.stream.text)
    stamp = flow.stream.text.find(code, start, end)  # the foot of a sheet is no part of a step
    end = stamp if stamp >= 0 else end
    for wanted in sorted(w.texts, key=lambda t: -len(t.text.plain)):
        if flow.place(wanted, start, end, w.step.id) is None:
            hint = "print all parts of a step with it"
            flow.lacking(wanted, start, end, "readback/text-missing", hint, w.step.id, w.step.where)
    if w.rejoin and not _mentions(flow, w.rejoin, head.spot.end, end):
        flow.say(
            "readback/rejoin-missing",
            f"nothing says that the branch goes on at step `{w.rejoin}`",
            flow.where(head.spot.start, head.spot.end),
            step=w.step.id,
            hint="print the number at which the branch rejoins after its last step",
        )


def _mentions(flow: Flow, label: str, start: int, end: int) -> bool:
    """Whether a number stands in [start, end) by itself, not as a part of another."""
    words = plain_label(flow.stream.words(start, end))
    return re.search(rf"(?<![\w.,:/-]){re.escape(label)}(?!\w|[.,:/-]\d)", words) is not None


def _elsewhere(flow: Flow, leads: list[int]) -> None:
    """Cautions that do not stand before their step: somewhere else, altered, or nowhere."""
    absent = [f for f in flow.found if f.what == "caution not before its step"]
    flow.found = [f for f in flow.found if f.what != "caution not before its step"]
    for lost in absent:
        n = next(n for n, h in enumerate(flow.heads) if h.wanted.step.id == lost.step)
        head = flow.heads[n]
        warned = next(c for c in head.wanted.cautions if c.caution.id == lost.caution)
        places = [flow.place(t, 0, len(flow.stream.text), lost.step, lost.caution) for t in warned.texts]
        first = next((p for p in places if p is not None), None)
        label = head.wanted.step.label
        if first is None:
            start = flow.heads[n - 1].spot.end if n else 0
            _missing(flow, warned, list(warned.texts), start, head.spot.start, head.wanted.step)
            continue
        after = first.start > head.spot.start
        flow.say(
            "readback/caution-after-step" if after else "readback/caution-misplaced",
            f"the caution `{warned.caution.hazard.plain}` stands "
            + (f"after step `{label}`" if after else f"before the step ahead of step `{label}`")
            + "; it must stand right before it",
            flow.where(first.start, first.end),
            step=lost.step,
            hint="print a caution after the step before, and before its own step's headline",
            notes=(Note("as the source has it", warned.caution.where),),
        )


def _loose(flow: Flow, texts: tuple[Wanted, ...]) -> None:
    """Texts that belong to no step, in any order: only that they are there, word for word."""
    for wanted in texts:
        if flow.place(wanted, 0, len(flow.stream.text)) is None:
            flow.lacking(wanted, 0, len(flow.stream.text), "readback/text-missing", "print it")


def _title(flow: Flow, title: Text, artifact: str) -> None:
    for page, (start, end) in flow.stream.page_ends.items():
        if page and TITLE_ON[artifact] == "first":
            return
        if flow.place(Wanted("title", title), start, end) is None:
            flow.say(
                "readback/title-missing",
                f"the title `{title.plain}` is not on the sheet",
                Where(flow.file, page=flow.numbers[page]),
                hint="print the title at the top, word for word",
            )


def _foreign_numbers(flow: Flow, edition: Edition) -> None:
    """Numbers printed as the step numbers are, but of no step that was found."""
    alone = labels(flow.stream)
    own = {h.spot.label_at for h in flow.heads}
    styles = [p.style for start, (_, p) in alone.items() if start in own]
    if not styles:
        return
    usual_style = max(set(styles), key=styles.count)
    for start, (number, piece) in alone.items():
        if piece.style != usual_style or not flow.free(start, start + 1):
            continue
        after = flow.stream.starts[flow.stream.index(start)] + len(squash(piece.text).text)
        if any(flow.stream.text.startswith(squash(p.title.plain).text, after) for p in edition.phases):
            continue
        words = flow.stream.words(after, after + 60)
        flow.say(
            "readback/foreign-step",
            f"the number `{number}` stands where step numbers stand, but with no step of this edition (`{words}…`)",
            flow.where(start, after),
            hint="print the steps of this edition only, each once",
        )


def _foreign_cautions(flow: Flow, signals: Mapping[str, str]) -> None:
    """Signal words that stand alone, as those of cautions do, but with no caution of the edition after them."""
    words = {squash(word).text.casefold() for word in signals.values()}
    for n, start in enumerate(flow.stream.starts):
        text = squash(flow.stream.pieces[n].text).text
        bare = "".join(filter(str.isalpha, text)).casefold()
        if bare in words and flow.free(start, start + len(text)):
            after = start + len(text)
            words_after = flow.stream.words(after, after + 60)
            flow.say(
                "readback/foreign-caution",
                f"`{text}` stands with words that are no caution of this edition (`{words_after}…`)",
                flow.where(start, after),
                hint="print the cautions of this edition only, each once before each of its steps",
            )
