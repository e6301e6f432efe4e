"""Turn the bytes of a found file into sightings: first by square code, beside it or else by printed stamp."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from docgen.model.sighting import Printed, Seen, Sighting
from docgen.recognise import ocr, pages
from docgen.recognise.picture import Grey, Unusable, pictures, resized
from docgen.recognise.printed import stamps
from docgen.recognise.squares import Square, squares

MOST_BYTES = 64 * 2**20
REACH = 13.0
"""Sides of a square code from it to the far end of its stamp: the width of a sheet is less than fourteen."""
_PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\0", b"MM\0*")
"""PNG, JPEG, TIFF."""
_OTHERS = (
    (b"ftyphei", "a picture in a format of some telephones"), (b"ftypmif", "a picture in a format of some telephones"),
    (b"WEBP", "a WebP picture"), (b"GIF8", "a GIF picture"), (b"PK\3\4", "an office document or an archive"),
    (b"<!doctype html", "a page for a browser"), (b"<html", "a page for a browser"),
)  # fmt: skip
"""What else people send, by what stands at the beginning."""


def look(data: bytes) -> Seen:
    """What is seen in a file. Raises `Unusable`."""
    if len(data) > MOST_BYTES:
        message = f"the file has {len(data) >> 20} MB; more than {MOST_BYTES >> 20} MB are not read"
        raise Unusable("recognise/too-large", message, "send a smaller picture, or a single sheet")
    if b"%PDF-" in data[:1024]:
        return _pdf(data)
    if not data.startswith(_PICTURES):
        raise _no_picture(data)
    frames, notes = pictures(data)
    found = [s for number, grey in enumerate(frames, 1) for s in _picture(grey, number)]
    if lacking := ocr.missing():
        notes += (lacking,)
    return Seen("picture", len(frames), tuple(found), notes)


def _no_picture(data: bytes) -> Unusable:
    head = data[:64].lower()
    what = next((name for sign, name in _OTHERS if sign.lower() in head), "" if data else "an empty file")
    message = f"this is {what}" if what else "this is neither a PDF nor a PNG, JPEG or TIFF picture"
    return Unusable("recognise/not-a-picture", message, "send the sheet as PDF, or a photograph of it as JPEG or PNG")


# --- a picture --------------------------------------------------------------------------------------------------


def _picture(grey: Grey, page: int) -> Iterator[Sighting]:
    found = squares(grey)
    for square in found:
        if square.text:
            others = tuple(s for s in found if s is not square)
            yield Sighting(page, square.text, _beside(grey, square, others), _share(square, grey))
    if not any(s.text for s in found):
        printed = tuple(_anywhere(grey))
        yield from (Sighting(page, printed=p) for p in printed)
        if printed:
            return
    yield from (Sighting(page, box=_share(s, grey), unread=True) for s in found if not s.text)


def _beside(grey: Grey, square: Square, others: tuple[Square, ...]) -> Printed | None:
    """The stamp that stands beside a code on the same sheet: to its left, or to its right where words run that way.

    Nothing is looked for beyond the next code, which is another sheet's.
    """
    if ocr.missing():
        return None
    places = [_across(square, other) for other in others]
    left = max([far + 0.1 for near, far, level in places if level and far < 0], default=-REACH)
    right = min([near - 0.1 for near, far, level in places if level and near > 1], default=REACH)
    for start, end in ((max(left, -REACH), 0.1), (0.9, min(right, REACH))):
        strip = _strip(grey, square, start, end)
        if strip is None:
            continue
        with_mark = [p for p in stamps(ocr.words(strip, 6)) if p.fingerprint]
        if with_mark:
            return with_mark[-1]  # the nearest to the sheet's lower edge
    return None


def _across(square: Square, other: Square) -> tuple[float, float, bool]:
    """Where another code begins and ends, in sides of a code from its left edge, and whether it is about level."""
    origin, right, _, below = (np.array(c) for c in square.corners)
    axes = np.column_stack((right - origin, below - origin))
    if abs(np.linalg.det(axes)) < 1:
        return 0.0, 0.0, False
    at = np.linalg.solve(axes, (np.array(other.corners) - origin).T)
    return float(at[0].min()), float(at[0].max()), bool(at[1].min() < 3 and at[1].max() > -2)


def _strip(grey: Grey, square: Square, start: float, end: float) -> Grey | None:
    """What lies between two distances beside a code, turned upright; sides of the code from its left edge.

    The picture is turned and scaled, not squeezed: perspective is left as it is, which a reader of text can bear.
    """
    (x0, y0), (x1, y1) = square.corners[0], square.corners[1]
    (x3, y3) = square.corners[3]
    along = np.array([x1 - x0, y1 - y0])
    down = np.array([x3 - x0, y3 - y0])
    side = max(square.side, 8.0)
    scale = min(4.0, max(1.0, 220 / side))
    wide, tall = round((end - start) * side * scale), round(1.9 * side * scale)
    if wide * tall > 12_000_000:
        scale *= (12_000_000 / (wide * tall)) ** 0.5
        wide, tall = round((end - start) * side * scale), round(1.9 * side * scale)
    across = (np.arange(wide) / (side * scale) + start)[None, :, None]
    below = (np.arange(tall) / (side * scale) - 0.5)[:, None, None]
    at = np.array([x0, y0]) + across * along + below * down
    x, y = at[..., 0], at[..., 1]
    inside = (x >= 0) & (x < grey.shape[1] - 1) & (y >= 0) & (y < grey.shape[0] - 1)
    columns = inside.any(axis=0)
    if columns.sum() < 3 * side:
        return None
    first, last = int(columns.argmax()), len(columns) - int(columns[::-1].argmax())
    x, y, inside = x[:, first:last], y[:, first:last], inside[:, first:last]
    left, top = np.clip(x.astype(int), 0, grey.shape[1] - 2), np.clip(y.astype(int), 0, grey.shape[0] - 2)
    fx, fy = x - left, y - top
    g = grey.astype(np.float32)
    mixed = (
        g[top, left] * (1 - fx) * (1 - fy) + g[top, left + 1] * fx * (1 - fy)
        + g[top + 1, left] * (1 - fx) * fy + g[top + 1, left + 1] * fx * fy
    )  # fmt: skip
    return np.ascontiguousarray(np.where(inside, mixed, 255).clip(0, 255).astype(np.uint8))


def _anywhere(grey: Grey) -> Iterator[Printed]:
    """Stamps read off a whole picture, the way up that shows any with a fingerprint."""
    if ocr.missing():
        return
    scale = (6_000_000 / grey.size) ** 0.5
    grey = resized(grey, min(2.0, scale)) if not 0.8 < scale < 1.25 else grey
    best: tuple[Printed, ...] = ()
    for turns in (0, 2, 1, 3):
        seen = tuple(stamps(ocr.words(np.ascontiguousarray(np.rot90(grey, turns)), 11)))
        if any(p.fingerprint for p in seen):
            best = seen
            break
        best = best or seen
    yield from best


def _share(square: Square, grey: Grey) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in square.corners], [y for _, y in square.corners]
    tall, wide = grey.shape
    left, top, right, bottom = min(xs) / wide, min(ys) / tall, max(xs) / wide, max(ys) / tall
    return (round(100 * left, 1), round(100 * top, 1), round(100 * right, 1), round(100 * bottom, 1))


# --- a PDF ------------------------------------------------------------------------------------------------------


def _pdf(data: bytes) -> Seen:
    found: list[Sighting] = []
    number, worded = 0, False
    for leaf in pages.pages(data):
        number = leaf.number
        words = leaf.words()
        worded = worded or bool(words.strip())
        printed = tuple(stamps(words))
        grey = leaf.picture(*pages.FINE)
        codes = [s for s in squares(grey, hard=False) if s.text]
        if not codes and not words.strip():  # a scan
            found += _picture(leaf.picture(*pages.FINER), number)
            continue
        marked = [p for p in printed if p.fingerprint] or list(printed)
        for n, code in enumerate(codes):
            found.append(Sighting(number, code.text, _its_own(marked, n, len(codes))))
        if not codes:
            found += (Sighting(number, printed=p) for p in marked)
    every = pages.count(data)
    notes = (f"only the first {number} of {every} pages were looked at",) if every > number else ()
    return Seen("pdf", every, tuple(found), notes, worded)


def _its_own(printed: list[Printed], n: int, codes: int) -> Printed | None:
    """The stamp of the n-th code of a page; imposed cards have several."""
    if not printed:
        return None
    return printed[n] if len(printed) == codes else printed[-1]
