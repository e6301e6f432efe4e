"""Make bad pictures of finished sheets, and count how many of them are identified, and how many wrongly.

    python tests/recognise/degraded.py            the whole table: 8 degradations × 4 levels × 10 sheets
    python tests/recognise/degraded.py --sheets 3 --stamps --keep pictures/

Each picture has about three million pixels, a quarter of what a telephone takes. Levels are 1 (a careless picture) to 4
(beyond what anybody would send). Only square codes are read, unless `--stamps` lets Tesseract try where none can be.
The sheets are real ones, of three protocols, two versions and three languages, made by a real release.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

import numpy as np
from PIL import Image, ImageFilter

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from tampering import picture  # noqa: E402

from docgen.build.released import histories  # noqa: E402
from docgen.model.stamp import read_code  # noqa: E402
from docgen.project import Project  # noqa: E402
from docgen.recognise import look, ocr  # noqa: E402
from docgen.release import identify, register  # noqa: E402

PIXELS = 3_000_000
LEVELS = (1, 2, 3, 4)
WALL = 178
"""Grey of what is behind a sheet."""


@dataclass(frozen=True)
class Sheet:
    """A finished sheet and what its code says."""

    file: Path
    page: int
    code: str

    def __str__(self) -> str:
        return f"{self.file.stem} page {self.page}"


def sheets(home: Path, most: int) -> tuple[Sheet, ...]:
    """Sheets of a hospital's releases, different protocols, versions, languages and artifacts first."""
    out = []
    for path in sorted((home / "protocols" / "releases").glob("*/?.?.json")):
        release = json.loads(path.read_text("utf-8"))
        for edition in release["editions"]:
            for language in edition["languages"]:
                folder = home / "out" / release["protocol"] / release["version"] / edition["site"]
                for text in language["codes"]:
                    code = read_code(text)
                    assert code
                    name = next(
                        f["file"] for f in language["files"]
                        if f["artifact"] == code.artifact and " on " not in f["sheet"]
                    )  # fmt: skip
                    out.append(Sheet(folder / language["language"] / name, code.sheet, text))
    taken: list[Sheet] = []
    while len(taken) < most and len(taken) < len(out):
        taken.append(max((s for s in out if s not in taken), key=lambda s: _news(s, taken)))
    return tuple(taken)


def _news(sheet: Sheet, taken: list[Sheet]) -> tuple[int, ...]:
    """How seldom its version, language and artifact were taken."""

    def parts(s: Sheet) -> tuple:
        code = read_code(s.code)
        assert code
        return (f"{code.code} {code.version}", code.language, code.artifact)

    mine = parts(sheet)
    return tuple(-sum(parts(t)[n] == mine[n] for t in taken) for n in range(3))


def photographed(sheet: Sheet) -> Image.Image:
    """A sheet in front of a wall, of `PIXELS` in all."""
    data = sheet.file.read_bytes()
    small = picture(data, 40, sheet.page)
    dots = 40 * (PIXELS * 0.86 / (small.width * small.height)) ** 0.5
    page = picture(data, round(dots), sheet.page)
    edge = round(0.035 * (page.width + page.height) / 2)
    wall = Image.new("L", (page.width + 2 * edge, page.height + 2 * edge), WALL)
    wall.paste(page, (edge, edge))
    return wall


# --- degradations: picture, where the code is, level, chance → picture -------------------------------------------

Box = tuple[float, float, float, float]


def rotation(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    angle = (6, 17, 38, 133)[level - 1] + rng.uniform(-3, 3)
    return p.rotate(angle, Image.Resampling.BICUBIC, expand=True, fillcolor=WALL)


def perspective(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    most = (0.06, 0.11, 0.17, 0.24)[level - 1]
    w, h = p.size
    target = [(0, 0), (w, 0), (w, h), (0, h)]
    inward = [(1 if x == 0 else -1, 1 if y == 0 else -1) for x, y in target]
    moved = [
        (x + a * w * most * rng.uniform(0.3, 1), y + b * h * most * rng.uniform(0, 1))
        for (x, y), (a, b) in zip(target, inward, strict=True)
    ]
    rows = []
    for (x, y), (u, v) in zip(moved, target, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
    way = np.linalg.solve(np.array(rows), np.array(target, float).ravel())
    return p.transform(p.size, Image.Transform.PERSPECTIVE, way, Image.Resampling.BICUBIC, fillcolor=WALL)


def blur(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    out = p.filter(ImageFilter.GaussianBlur((0.7, 1.1, 1.6, 2.2)[level - 1]))
    if level < 3:
        return out
    steps = 2 * level - 3  # the hand moved as well
    pixels = np.asarray(out, np.float32)
    return Image.fromarray((sum(np.roll(pixels, n, axis=1) for n in range(steps)) / steps).astype(np.uint8))


def noise(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    sigma = (12, 28, 48, 75)[level - 1]
    return _clipped(np.asarray(p, np.float32) + rng.standard_normal((p.height, p.width), np.float32) * sigma)


def glare(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    side = at[2] - at[0]
    far = (2.2, 1.4, 0.8, 0.45)[level - 1] * side
    turn = rng.uniform(0, 2 * np.pi)
    cx, cy = (at[0] + at[2]) / 2 + far * np.cos(turn), (at[1] + at[3]) / 2 + far * np.sin(turn)
    y, x = np.mgrid[0 : p.height, 0 : p.width].astype(np.float32)
    near = np.exp(-(((x - cx) / (0.9 * side)) ** 2 + ((y - cy) / (0.6 * side)) ** 2))
    return _clipped(np.asarray(p, np.float32) * (1 - 0.5 * near) + near * (170, 210, 235, 255)[level - 1])


def low_light(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    gain = (0.5, 0.3, 0.18, 0.1)[level - 1]
    slope = np.linspace(1.0, 0.55, p.width, dtype=np.float32)[None, :]
    shot = np.asarray(p, np.float32) * gain * slope + 6
    return _clipped(shot + rng.standard_normal(shot.shape, np.float32) * (3, 4, 5, 6)[level - 1])


def partial_crop(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    side = at[2] - at[0]
    if level == 4:  # a thumb over one edge of the code
        pixels = np.array(p)
        pixels[int(at[1]) : int(at[3]) + 1, int(at[2] - 0.09 * side) : int(at[2] + side)] = 90
        return Image.fromarray(pixels)
    around = (6, 3, 0.9)[level - 1] * side
    return p.crop((max(0, int(at[0] - around)), max(0, int(at[1] - around)), min(p.width, int(at[2] + around)),
                   min(p.height, int(at[3] + around))))  # fmt: skip


def copy_of_copy(p: Image.Image, at: Box, level: int, rng: np.random.Generator) -> Image.Image:
    for _ in range(level):
        p = p.rotate(rng.uniform(-0.8, 0.8), Image.Resampling.BILINEAR, fillcolor=245)
        p = p.filter(ImageFilter.GaussianBlur(0.7))
        pixels = np.asarray(p, np.float32)
        pixels = 255 / (1 + np.exp(-(pixels - 128 - rng.uniform(-18, 18)) / 26))  # a copier's steep curve
        pixels = np.where(rng.random(pixels.shape, np.float32) < 0.0015, 0, pixels)  # specks
        p = _clipped(pixels)
    return p


def _clipped(pixels: np.ndarray) -> Image.Image:
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


WAYS: tuple[Callable, ...] = (rotation, perspective, blur, noise, glare, low_light, partial_crop, copy_of_copy)


# --- counting ---------------------------------------------------------------------------------------------------


def degraded(sheet: Sheet, way: Callable, level: int) -> bytes:
    """One bad picture as JPEG, always the same for the same sheet, way and level."""
    page = photographed(sheet)
    seed = [sum(sheet.code.encode()), WAYS.index(way), level]
    out = io.BytesIO()
    way(page, _code_box(page), level, np.random.default_rng(seed)).save(out, "JPEG", quality=78)
    return out.getvalue()


def _code_box(page: Image.Image) -> Box:
    from docgen.recognise.squares import squares

    (found, *_) = [s for s in squares(np.asarray(page)) if s.text]
    xs, ys = [x for x, _ in found.corners], [y for _, y in found.corners]
    return (min(xs), min(ys), max(xs), max(ys))


def verdict(home: Path, sheet: Sheet, data: bytes, stamps: bool = False) -> str:
    """`identified`, `missed` or `wrong`: the last if anything but the sheet itself is named."""
    found = register(histories(Project(home / "protocols")).found.values(), Project().today())
    true = read_code(sheet.code)
    assert true
    right = False
    with patch.object(ocr, "PROGRAM", ocr.PROGRAM if stamps else "not-wanted"):
        seen = look(data)
    for copy in identify(seen, found):
        named = (copy.code, copy.version, copy.site, copy.language)
        if not any(named):
            continue
        if named != (true.code, true.version, true.site, true.language):
            return "wrong"
        if copy.sheets not in ((), (true.sheet,)) or true.artifact not in (copy.artifact or true.artifact).split(
            " or "
        ):
            return "wrong"
        right = right or copy.state not in ("unknown", "altered")
    return "identified" if right else "missed"


def _one(job: tuple) -> tuple[str, int, str]:
    home, sheet, way, level, stamps, keep = job
    data = degraded(sheet, way, level)
    if keep:
        (keep / f"{way.__name__}-{level}-{sheet.file.stem}-{sheet.page}.jpg").write_bytes(data)
    return way.__name__, level, verdict(home, sheet, data, stamps)


def table(results: list[tuple[str, int, str]]) -> Iterator[str]:
    """Identified of all, by degradation and level, and the wrong ones."""
    yield f"{'degradation':14}" + "".join(f"{f'level {n}':>10}" for n in LEVELS) + f"{'all':>10}{'wrong':>8}"
    for name in (*(w.__name__ for w in WAYS), ""):
        rows = [r for r in results if name in ("", r[0])]
        cells = [[r for r in rows if r[1] == n] for n in LEVELS] + [rows]
        counts = [f"{sum(r[2] == 'identified' for r in c)}/{len(c)}" for c in cells]
        wrong = sum(r[2] == "wrong" for r in rows)
        yield f"{name.replace('_', ' ') or 'all':14}" + "".join(f"{c:>10}" for c in counts) + f"{wrong:>8}"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--sheets", type=int, default=10)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--stamps", action="store_true")
    parser.add_argument("--keep", type=Path, help="write the pictures to this folder")
    parser.add_argument("--hospital", type=Path, help="use the releases in this folder instead of making some")
    given = parser.parse_args()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        home = given.hospital or Path(folder) / "hospital"
        if given.hospital is None:
            from hospital import measured

            measured(home)
        chosen = sheets(home, given.sheets)
        print(*chosen, sep="\n")
        jobs = [(home, s, w, n, given.stamps, given.keep) for w in WAYS for n in LEVELS for s in chosen]
        start = time.monotonic()
        with ProcessPoolExecutor(given.jobs) as pool:
            results = list(pool.map(_one, jobs, chunksize=4))
        print(*table(results), sep="\n")
        print(f"{len(jobs)} pictures, {time.monotonic() - start:.0f} s in {given.jobs} processes")
        sys.exit(any(r[2] == "wrong" for r in results))


if __name__ == "__main__":
    main()
