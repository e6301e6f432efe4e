"""Turn a paragraph into embedding levels, and the levels of a line into the order in which it is seen.

The whole of UAX #9 (https://www.unicode.org/reports/tr9/): explicit embeddings and overrides, isolates, and paired
brackets; only rule L1, which needs to know where lines end, is left to whoever breaks them. Each character becomes one
letter for its bidirectional class, so that the rules, named in comments as in the report, are substitutions in text.
Characters that rule X9 removes get the level of the character before them: they are never drawn.
"""

from __future__ import annotations

import re
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
_BRACKET = re.compile("[" + re.escape(_PAIRS) + "]")

_LETTERS = {
    "L": "L", "R": "R", "AL": "A", "EN": "E", "ES": "S", "ET": "T", "CS": "C", "AN": "N", "NSM": "M",
    "ON": "O", "WS": "O", "S": "O", "B": "B", "BN": "b", "LRE": "l", "RLE": "r", "LRO": "x", "RLO": "y", "PDF": "p",
    "LRI": "<", "RLI": ">", "FSI": "?", "PDI": "!", "": "L",
}  # fmt: skip
_REMOVED = frozenset("lrxypb")
_INITIATORS = "<>?"
_EXPLICIT = re.compile("[lrxypb<>?!B]")
_RIGHT = re.compile(
    "[\u0590-\u08ff\u200f\u202b\u202e\u2067\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff]"
)
"""The blocks of right-to-left scripts, and the controls that start a stretch from right to left."""


class _Classes(dict[int, str]):
    """The letter of each character's class, looked up once a process."""

    def __missing__(self, point: int) -> str:
        letter = self[point] = _LETTERS[bidirectional(chr(point))]
        return letter


_CLASSES = _Classes()


def needed(text: str) -> bool:
    """Whether anything in the text might be seen in another order than it is stored, read from the left."""
    return _RIGHT.search(text) is not None


def rightward(text: str) -> bool:
    """Whether any letter of the text is written from right to left."""
    return any(bidirectional(found[0]) in ("R", "AL") for found in _RIGHT.finditer(text))


def levels(text: str, rtl: bool | None = None) -> tuple[int, list[int]]:
    """The paragraph's level (0 left to right, 1 right to left) and that of every character, before rule L1.

    `rtl` forces the paragraph's direction; None takes it from the first strong letter (P2, P3).
    """
    kinds = text.translate(_CLASSES)
    if not _EXPLICIT.search(kinds):
        base = _first_strong(kinds, {}, 0, len(kinds)) if rtl is None else int(rtl)
        return base, [base + up for up in _resolve(text, kinds, base, "LR"[base], "LR"[base])]
    partners = _isolates(kinds)
    base = _first_strong(kinds, partners, 0, len(kinds)) if rtl is None else int(rtl)
    result, types = _explicit(kinds, partners, base)
    for sequence, start, end in _sequences(kinds, result, partners, base):
        own = "".join([text[i] for i in sequence]), "".join([types[i] for i in sequence])
        for i, up in zip(sequence, _resolve(*own, result[sequence[0]], "LR"[start & 1], "LR"[end & 1]), strict=True):
            result[i] += up
    previous = base
    for i, kind in enumerate(kinds):
        if kind in _REMOVED:
            result[i] = previous
        previous = result[i]
    return base, result


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


def _isolates(kinds: str) -> dict[int, int]:
    """Each isolate initiator with its PDI, and the other way round (BD9)."""
    partners: dict[int, int] = {}
    open_: list[int] = []
    for i, kind in enumerate(kinds):
        if kind in _INITIATORS:
            open_.append(i)
        elif kind == "!" and open_:
            start = open_.pop()
            partners[start], partners[i] = i, start
        elif kind == "B":
            open_.clear()
    return partners


def _first_strong(kinds: str, partners: dict[int, int], start: int, end: int) -> int:
    """Level of the first strong letter outside isolates (P2, P3)."""
    i = start
    while i < end:
        kind = kinds[i]
        if kind in "LRA":
            return int(kind != "L")
        if kind in _INITIATORS:
            i = partners.get(i, end)
        i += 1
    return 0


def _explicit(kinds: str, partners: dict[int, int], base: int) -> tuple[list[int], list[str]]:
    """Levels from embeddings, overrides and isolates, and classes after overrides (X1 to X8)."""
    result = [base] * len(kinds)
    types = list(kinds)
    stack: list[tuple[int, str, bool]] = [(base, "", False)]  # level, override, isolate
    over_isolates = over_embeddings = valid_isolates = 0
    for i, kind in enumerate(kinds):
        level, override, _ = stack[-1]
        result[i] = level
        if kind in "lrxy":
            up = (level + 1) | 1 if kind in "ry" else (level + 2) & ~1
            if up <= _DEPTH and not over_isolates and not over_embeddings:
                stack.append((up, {"x": "L", "y": "R"}.get(kind, ""), False))
            elif not over_isolates:
                over_embeddings += 1
        elif kind in _INITIATORS:
            inner = _first_strong(kinds, partners, i + 1, partners.get(i, len(kinds))) if kind == "?" else kind == ">"
            up = (level + 1) | 1 if inner else (level + 2) & ~1
            if up <= _DEPTH and not over_isolates and not over_embeddings:
                valid_isolates += 1
                stack.append((up, "", True))
            else:
                over_isolates += 1
            types[i] = override or kind
        elif kind == "!":
            if over_isolates:
                over_isolates -= 1
            elif valid_isolates:
                over_embeddings = 0
                while not stack.pop()[2]:
                    pass
                valid_isolates -= 1
            result[i], override, _ = stack[-1]
            types[i] = override or kind
        elif kind == "p":
            if not over_isolates:
                if over_embeddings:
                    over_embeddings -= 1
                elif not stack[-1][2] and len(stack) > 1:
                    stack.pop()
        elif kind == "B":
            result[i] = base
            stack = [(base, "", False)]
            over_isolates = over_embeddings = valid_isolates = 0
        elif override:
            types[i] = override
    return result, types


def _sequences(kinds: str, result: list[int], partners: dict[int, int], base: int) -> list[tuple[list[int], int, int]]:
    """Isolating run sequences (X10): their indices, and the levels that decide sos and eos."""
    kept = [i for i, kind in enumerate(kinds) if kind not in _REMOVED]
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
        if kinds[first] == "!" and first in partners:
            continue  # continues a sequence
        sequence = list(run)
        while kinds[last := sequence[-1]] in _INITIATORS and last in partners:
            sequence += starts[partners[last]]
        level = result[first]
        n = position[first]
        before = result[kept[n - 1]] if n else base
        n = position[last] + 1
        after = base if kinds[last] in _INITIATORS or n == len(kept) else result[kept[n]]
        found.append((sequence, max(level, before), max(level, after)))
    return found


_MARKS = re.compile("(.?)(M+)")
_ARABIC = re.compile("A[^LRAE]*E[^LRA]*")
_SIGN = re.compile("(?<=E)[SC](?=E)")
_SEPARATOR = re.compile("(?<=N)C(?=N)")
_TERMINATORS = re.compile("T+(?=E)|(?<=E)T+")
_LEFT = re.compile("L[^LR]*")
_PLAIN = str.maketrans("STCB<>?!", "OOOOOOOO")
_BETWEEN = {"L": re.compile("(?<=L)O+(?=L)"), "R": re.compile("(?<=[REN])O+(?=[REN])")}
_UP = (str.maketrans("LREN", "\0\1\2\2"), str.maketrans("LREN", "\1\0\1\1"))
"""How far each class lies above an even and an odd level (I1, I2)."""


def _resolve(text: str, kinds: str, level: int, sos: str, eos: str) -> list[int]:
    """How much each character of an isolating run sequence is above its level (W1 to W7, N0 to N2, I1, I2)."""
    original = kinds
    if "M" in kinds:  # W1
        kinds = _MARKS.sub(
            lambda m: m[1] + ("O" if m[1] in _INITIATORS + "!" and m[1] else m[1] or sos) * len(m[2]), kinds
        )
    if "A" in kinds:
        if "E" in kinds:
            kinds = _ARABIC.sub(lambda m: m[0].replace("E", "N"), kinds)  # W2
        kinds = kinds.replace("A", "R")  # W3
    if "E" in kinds or "N" in kinds:
        kinds = _SEPARATOR.sub("N", _SIGN.sub("E", kinds))  # W4
        kinds = _TERMINATORS.sub(lambda m: "E" * len(m[0]), kinds)  # W5
    kinds = kinds.translate(_PLAIN)  # W6
    if "E" in kinds:
        kinds = _LEFT.sub(lambda m: m[0].replace("E", "L"), sos + kinds)[1:]  # W7
    embedding, opposite = ("L", "R") if level % 2 == 0 else ("R", "L")
    if _BRACKET.search(text):
        kinds = _brackets(text, kinds, original, embedding, opposite, sos)  # N0
    if "O" in kinds:
        kinds = _BETWEEN[opposite].sub(lambda m: opposite * len(m[0]), sos + kinds + eos)[1:-1]  # N1
        kinds = kinds.replace("O", embedding)  # N1, N2
    return [*kinds.translate(_UP[level & 1]).encode("latin-1")]


def _brackets(text: str, kinds: str, original: str, embedding: str, opposite: str, sos: str) -> str:
    """N0: pairs of brackets take the direction of what they hold."""
    pairs: list[tuple[int, int]] = []
    open_: list[tuple[str, int]] = []
    for found in _BRACKET.finditer(text):
        n, character = found.start(), found[0]
        if kinds[n] != "O":
            continue
        if character in CLOSING:
            if len(open_) == 63:
                return kinds  # BD16: the stack is full, and no pair counts
            open_.append((normalize("NFD", CLOSING[character]), n))  # U+2329 is U+3008 in another shape
            continue
        wanted = normalize("NFD", character)
        for k in range(len(open_) - 1, -1, -1):
            if open_[k][0] == wanted:
                pairs.append((open_[k][1], n))
                del open_[k:]
                break
    types = list(kinds)
    strong = {"L": "L", "R": "R", "E": "R", "N": "R"}
    for start, end in sorted(pairs):
        inside = {strong.get(kind) for kind in types[start + 1 : end]}
        direction = embedding
        if embedding not in inside:
            if opposite not in inside:
                continue
            before = next((strong[kind] for kind in reversed(types[:start]) if kind in strong), sos)
            direction = opposite if before == opposite else embedding
        for n in (start, end):
            types[n] = direction
            n += 1
            while n < len(types) and original[n] == "M":
                types[n] = direction
                n += 1
    return "".join(types)
