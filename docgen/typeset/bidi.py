"""Turn a paragraph into embedding levels, and the levels of a line into the order in which it is seen.

The whole of UAX #9, revision 44 and later (https://www.unicode.org/reports/tr9/): explicit embeddings and overrides,
isolates, and paired brackets. The names in comments (P2, X5a, W4, N0, L2 …) are the rules of that report.
Characters that rule X9 removes get the level of the character before them: they are never drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from unicodedata import bidirectional, normalize

_DEPTH = 125
_PAIRS = (
    "()\u005b\u005d{}\u0f3a\u0f3b\u0f3c\u0f3d\u169b\u169c\u2045\u2046\u207d\u207e\u208d\u208e\u2308\u2309"
    "\u230a\u230b\u2329\u232a\u2768\u2769\u276a\u276b\u276c\u276d\u276e\u276f\u2770\u2771\u2772\u2773\u2774\u2775"
    "\u27c5\u27c6\u27e6\u27e7\u27e8\u27e9\u27ea\u27eb\u27ec\u27ed\u27ee\u27ef\u2983\u2984\u2985\u2986\u2987\u2988"
    "\u2989\u298a\u298b\u298c\u298d\u2990\u298f\u298e\u2991\u2992\u2993\u2994\u2995\u2996\u2997\u2998\u29d8\u29d9"
    "\u29da\u29db\u29fc\u29fd\u2e22\u2e23\u2e24\u2e25\u2e26\u2e27\u2e28\u2e29\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a"
    "\u2e5b\u2e5c\u3008\u3009\u300a\u300b\u300c\u300d\u300e\u300f\u3010\u3011\u3014\u3015\u3016\u3017\u3018\u3019"
    "\u301a\u301b\ufe59\ufe5a\ufe5b\ufe5c\ufe5d\ufe5e\uff08\uff09\uff3b\uff3d\uff5b\uff5d\uff5f\uff60\uff62\uff63"
)
"""Opening and closing brackets in turn (BidiBrackets.txt of Unicode 15)."""
CLOSING = dict(zip(_PAIRS[::2], _PAIRS[1::2], strict=True))
"""The closing bracket of every opening one."""
_CLOSERS = frozenset(CLOSING.values())

_ISOLATES = frozenset({"LRI", "RLI", "FSI"})
_REMOVED = frozenset({"LRE", "RLE", "LRO", "RLO", "PDF", "BN"})
_NEUTRAL = frozenset({"B", "S", "WS", "ON", "LRI", "RLI", "FSI", "PDI"})
_RIGHTWARD = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})
_TRAILING = frozenset({"WS", "FSI", "LRI", "RLI", "PDI"}) | _REMOVED


def needed(text: str) -> bool:
    """Whether anything in the text could be seen in another order than it is stored, read from the left."""
    return not text.isascii() and any(bidirectional(c) in _RIGHTWARD for c in text)


def rightward(text: str) -> bool:
    """Whether any letter of the text is written from right to left."""
    return not text.isascii() and any(bidirectional(c) in ("R", "AL") for c in text)


def levels(text: str, rtl: bool | None = None) -> tuple[int, list[int]]:
    """The paragraph's level (0 left to right, 1 right to left) and that of every character, before rule L1.

    `rtl` forces the paragraph's direction; None takes it from the first strong letter (P2, P3).
    """
    classes = [bidirectional(c) or "L" for c in text]
    partners = _isolates(classes)
    base = _first_strong(classes, partners, 0, len(classes)) if rtl is None else int(rtl)
    result = _explicit(classes, partners, base)
    for sequence, start, end in _sequences(classes, result, partners, base):
        _resolve(text, sequence, [classes[i] for i in sequence], result, "LR"[start & 1], "LR"[end & 1])
    previous = base
    for i, kind in enumerate(classes):
        if kind in _REMOVED:
            result[i] = previous
        previous = result[i]
    return base, result


def reset(text: str, result: Sequence[int], base: int) -> list[int]:
    """The levels of one line of text, with separators and the white space before them or at its end reset (L1)."""
    line = list(result)
    trailing = True
    for i in range(len(line) - 1, -1, -1):
        kind = bidirectional(text[i])
        if kind in ("B", "S"):
            trailing = True
        elif kind not in _TRAILING:
            trailing = False
        if trailing:
            line[i] = base
    return line


def order(result: Sequence[int]) -> list[int]:
    """Indices in the order in which things of these levels are seen, from left to right (L2)."""
    indices = list(range(len(result)))
    odd = [n for n in result if n & 1]
    if not odd:
        return indices
    for level in range(max(result), min(odd) - 1, -1):
        start = 0
        while start < len(indices):
            end = start
            while end < len(indices) and result[indices[end]] >= level:
                end += 1
            indices[start:end] = indices[start:end][::-1]
            start = end + 1
    return indices


def _isolates(classes: list[str]) -> dict[int, int]:
    """Each isolate initiator with its PDI, and the other way round (BD9)."""
    partners: dict[int, int] = {}
    open_: list[int] = []
    for i, kind in enumerate(classes):
        if kind in _ISOLATES:
            open_.append(i)
        elif kind == "PDI" and open_:
            start = open_.pop()
            partners[start], partners[i] = i, start
        elif kind == "B":
            open_.clear()
    return partners


def _first_strong(classes: list[str], partners: dict[int, int], start: int, end: int) -> int:
    """Level of the first strong letter outside isolates (P2, P3)."""
    i = start
    while i < end:
        kind = classes[i]
        if kind == "L":
            return 0
        if kind in ("R", "AL"):
            return 1
        if kind in _ISOLATES:
            i = partners.get(i, end)
        i += 1
    return 0


def _explicit(classes: list[str], partners: dict[int, int], base: int) -> list[int]:
    """Levels from embeddings, overrides and isolates (X1 to X8); overrides change `classes` in place."""
    result = [base] * len(classes)
    stack: list[tuple[int, str, bool]] = [(base, "", False)]  # level, override, isolate
    over_isolates = over_embeddings = valid_isolates = 0
    for i, kind in enumerate(classes):
        level, override, _ = stack[-1]
        if kind in ("RLE", "LRE", "RLO", "LRO"):
            up = (level + 1) | 1 if kind[0] == "R" else (level + 2) & ~1
            if up <= _DEPTH and not over_isolates and not over_embeddings:
                stack.append((up, kind[0] if kind[2] == "O" else "", False))
            elif not over_isolates:
                over_embeddings += 1
            result[i] = level
        elif kind in _ISOLATES:
            result[i] = level
            right = kind == "RLI" or (
                kind == "FSI" and _first_strong(classes, partners, i + 1, partners.get(i, len(classes)))
            )
            up = (level + 1) | 1 if right else (level + 2) & ~1
            if up <= _DEPTH and not over_isolates and not over_embeddings:
                valid_isolates += 1
                stack.append((up, "", True))
            else:
                over_isolates += 1
            if override:
                classes[i] = override + kind  # keeps its role as an initiator, resolves as its override
        elif kind == "PDI":
            if over_isolates:
                over_isolates -= 1
            elif valid_isolates:
                over_embeddings = 0
                while not stack[-1][2]:
                    stack.pop()
                stack.pop()
                valid_isolates -= 1
            result[i], override, _ = stack[-1]
            if override:
                classes[i] = override + kind
        elif kind == "PDF":
            if not over_isolates:
                if over_embeddings:
                    over_embeddings -= 1
                elif not stack[-1][2] and len(stack) > 1:
                    stack.pop()
            result[i] = level
        elif kind == "B":
            result[i] = base
            stack = [(base, "", False)]
            over_isolates = over_embeddings = valid_isolates = 0
        else:
            result[i] = level
            if override and kind != "BN":
                classes[i] = override
    return result


def _sequences(
    classes: list[str], result: list[int], partners: dict[int, int], base: int
) -> list[tuple[list[int], int, int]]:
    """Isolating run sequences (X10): their indices, and the levels that decide sos and eos."""
    kept = [i for i, kind in enumerate(classes) if kind not in _REMOVED]
    runs: list[list[int]] = []
    starts: dict[int, list[int]] = {}
    for i in kept:
        if not runs or result[runs[-1][-1]] != result[i]:
            runs.append([])
            starts[i] = runs[-1]
        runs[-1].append(i)
    position = {i: n for n, i in enumerate(kept)}
    found = []
    for run in runs:
        first = run[0]
        if classes[first].endswith("PDI") and first in partners:
            continue  # continues a sequence
        sequence = list(run)
        while classes[last := sequence[-1]].endswith(("LRI", "RLI", "FSI")) and last in partners:
            sequence += starts[partners[last]]
        level = result[first]
        n = position[first]
        before = result[kept[n - 1]] if n else base
        n = position[last] + 1
        open_ended = classes[last].endswith(("LRI", "RLI", "FSI"))
        after = base if open_ended or n == len(kept) else result[kept[n]]
        found.append((sequence, max(level, before), max(level, after)))
    return found


def _resolve(text: str, sequence: list[int], kinds: list[str], result: list[int], sos: str, eos: str) -> None:
    """Weak and neutral types and implicit levels of one isolating run sequence (W1 to W7, N0 to N2, I1, I2)."""
    kinds = [k if k not in _OVERRIDDEN else k[0] for k in kinds]
    original = list(kinds)
    _weak(kinds, sos)
    embedding = "LR"[result[sequence[0]] & 1]
    _brackets(text, sequence, kinds, original, embedding, sos)
    _neutral(kinds, embedding, sos, eos)
    for i, kind in zip(sequence, kinds, strict=True):
        level = result[i]
        if level & 1:
            result[i] = level + (kind != "R")
        else:
            result[i] = level + {"L": 0, "R": 1}.get(kind, 2)


_OVERRIDDEN = frozenset(o + k for o in "LR" for k in (*_ISOLATES, "PDI"))


def _weak(kinds: list[str], sos: str) -> None:
    previous = strong = sos
    for i, kind in enumerate(kinds):
        if kind == "NSM":  # W1
            kind = "ON" if previous in _NEUTRAL and previous[-1] == "I" else previous
        previous = kind
        if kind in ("L", "R", "AL"):
            strong = kind
        elif kind == "EN" and strong == "AL":  # W2
            kind = "AN"
        kinds[i] = kind
    for i, kind in enumerate(kinds):
        if kind == "AL":
            kinds[i] = "R"  # W3
    for i in range(1, len(kinds) - 1):
        around = kinds[i - 1]
        if around == kinds[i + 1] and (kinds[i], around) in (("ES", "EN"), ("CS", "EN"), ("CS", "AN")):  # W4
            kinds[i] = around
    i = 0
    while i < len(kinds):
        if kinds[i] == "ET":  # W5
            end = i
            while end < len(kinds) and kinds[end] == "ET":
                end += 1
            if (i and kinds[i - 1] == "EN") or (end < len(kinds) and kinds[end] == "EN"):
                kinds[i:end] = ["EN"] * (end - i)
            i = end
        else:
            i += 1
    strong = sos
    for i, kind in enumerate(kinds):
        if kind in ("ES", "ET", "CS"):
            kinds[i] = "ON"  # W6
        elif kind in ("L", "R"):
            strong = kind
        elif kind == "EN" and strong == "L":
            kinds[i] = "L"  # W7


def _brackets(text: str, sequence: list[int], kinds: list[str], original: list[str], embedding: str, sos: str) -> None:
    """N0: pairs of brackets take the direction of what they hold."""
    pairs: list[tuple[int, int]] = []
    open_: list[tuple[str, int]] = []
    for n, i in enumerate(sequence):
        if kinds[n] != "ON":
            continue
        character = text[i]
        if character in CLOSING:
            if len(open_) == 63:
                return  # BD16: the stack is full, and no pair counts
            open_.append((normalize("NFD", CLOSING[character]), n))  # U+2329 is U+3008 in another shape
        elif character in _CLOSERS:
            wanted = normalize("NFD", character)
            for k in range(len(open_) - 1, -1, -1):
                if open_[k][0] == wanted:
                    pairs.append((open_[k][1], n))
                    del open_[k:]
                    break
    for start, end in sorted(pairs):
        inside = {_strong(kinds[n]) for n in range(start + 1, end)}
        if embedding in inside:
            direction = embedding
        elif "LR"[embedding == "L"] in inside:
            before = next((s for n in range(start - 1, -1, -1) if (s := _strong(kinds[n]))), sos)
            direction = before if before != embedding else embedding
        else:
            continue
        for n in (start, end):
            kinds[n] = direction
            n += 1
            while n < len(kinds) and original[n] == "NSM":
                kinds[n] = direction
                n += 1


def _strong(kind: str) -> str:
    return "R" if kind in ("R", "EN", "AN") else "L" if kind == "L" else ""


def _neutral(kinds: list[str], embedding: str, sos: str, eos: str) -> None:
    i = 0
    while i < len(kinds):
        if kinds[i] not in _NEUTRAL:
            i += 1
            continue
        end = i
        while end < len(kinds) and kinds[end] in _NEUTRAL:
            end += 1
        before = _strong(kinds[i - 1]) if i else sos
        after = _strong(kinds[end]) if end < len(kinds) else eos
        kinds[i:end] = [before if before == after else embedding] * (end - i)  # N1, N2
        i = end
