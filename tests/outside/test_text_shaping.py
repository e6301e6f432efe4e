"""Our shaped text against independent programs: HarfBuzz's own `hb-shape`, Pango's `pango-view`, fontTools' tables."""

from __future__ import annotations

import json
import os
import subprocess
import unicodedata
from itertools import pairwise
from pathlib import Path

import pytest
from conftest import tool

from docgen.model.sheet import Line
from docgen.model.text import Run
from docgen.project import Project
from docgen.typeset import itemising
from docgen.typeset.faces import Faces
from docgen.typeset.shaping import shape

SOURCES = Project().fonts()
FACES = Faces(SOURCES)

SAMPLES = {
    "en": ("NotoSans", "Latn", "AV Type office affinity Wait for the observer"),
    "vi": ("NotoSans", "Latn", "Làm sạch găng tay ngoài bằng dung dịch sát khuẩn"),
    "uk": ("NotoSans", "Cyrl", "Очистіть зовнішні рукавички антисептиком"),
    "ar": ("IBMPlexSansArabic-Regular", "Arab", "نظّف القفازات الخارجية بمطهّر اليدين لا تلمس الكمامة"),
    "hi": ("NotoSansDevanagari", "Deva", "बाहरी दस्तानों को हैंड रब से साफ करें प्रतीक्षा करें"),
    "th": ("NotoSansThai", "Thai", "ทำความสะอาดถุงมือชั้นนอกด้วยแอลกอฮอล์"),
    "km": ("NotoSansKhmer", "Khmr", "លាងសម្អាតស្រោមដៃខាងក្រៅដោយអាល់កុល"),
}


def font_file(name: str, folder: Path) -> Path:
    """A font's bytes as a file that other programs can open."""
    path = folder / f"{name}.ttf"
    path.write_bytes(SOURCES[name]()[0])
    return path


@pytest.mark.parametrize("bold", [False, True], ids=["regular", "bold"])
@pytest.mark.parametrize("language", SAMPLES)
def test_glyphs_and_places_are_those_of_hb_shape(language, bold, tmp_path):
    """Shaping piece by piece gives the glyphs, at the places, that hb-shape gives for the whole text."""
    name, script, text = SAMPLES[language]
    weight = ["--variations=wght=700" if bold else "--variations=wght=400"]
    if name.startswith("IBM"):
        name, weight = f"IBMPlexSansArabic-{'Bold' if bold else 'Regular'}", []
    direction = "rtl" if language == "ar" else "ltr"
    made = subprocess.run(
        [
            tool("hb-shape"), f"--font-file={font_file(name, tmp_path)}", "--no-glyph-names", "--output-format=json",
            f"--direction={direction}", f"--script={script}", f"--language={language}", *weight, text,
        ],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    expected, x = [], 0
    for glyph in json.loads(made.stdout):
        expected.append((int(glyph["g"]), x + glyph["dx"], glyph["dy"]))
        x += glyph["ax"]

    line = shape((Run(text),), FACES, language=language, bold=bold).line()
    got = [(glyph, at + dx, dy) for at, cluster in placed(line) for glyph, dx, dy in cluster.glyphs]
    assert [g[0] for g in got] == [e[0] for e in expected]
    assert [g[2] for g in got] == pytest.approx([e[2] for e in expected], abs=1)
    steps = [[b[1] - a[1] for a, b in pairwise(glyphs)] for glyphs in (got, expected)]
    assert steps[0] == pytest.approx(steps[1], abs=1)  # a variable font's advances are rounded one by one


def placed(line: Line):
    """Clusters from left to right with their places."""
    for run in sorted(line.runs, key=lambda run: run.x):
        at = run.x
        for word in run.words:
            for cluster in word.clusters:
                yield at, cluster
                at += cluster.advance


PARAGRAPHS = {
    "en": "Clean your outer gloves with hand rub for at least 20 seconds, finger by finger; wait until they are dry, "
    "then step back and hold out both hands so that the observer can see them from every side.",
    "es": "Límpiese los guantes exteriores con solución hidroalcohólica durante al menos 20 segundos; ¿están secos? "
    "¡No siga antes! Muestre las dos manos al observador.",
    "vi": "Làm sạch găng tay ngoài bằng dung dịch sát khuẩn trong ít nhất 20 giây, từng ngón một; đợi cho đến khi khô "
    "hoàn toàn rồi mới tháo tấm che mặt.",
    "hi": "बाहरी दस्तानों को कम से कम 20 सेकंड तक हैंड रब से साफ करें; जब तक वे सूख न जाएँ तब तक प्रतीक्षा करें, फिर दोनों हाथ दिखाएँ।",
    "ar": "نظّف القفازات الخارجية بمطهّر اليدين (ABHR) لمدة لا تقل عن 20 ثانية، إصبعًا إصبعًا، "
    "وانتظر حتى تجف تمامًا، ثم ارفع يديك أمام المراقب عند درجة \u206625 °C\u2069 أو بمعدل \u206610 mL/min\u2069 "
    "واتصل بالرقم \u2066+1 555 0100\u2069 عند الحاجة.",
}
FAMILY = {"hi": "Noto Sans Devanagari", "ar": "IBM Plex Sans Arabic"}


@pytest.mark.parametrize("language", PARAGRAPHS)
def test_lines_are_those_of_pango(language, tmp_path):
    """Pango breaks the same paragraph into the same lines, and shows the same characters in the same order."""
    text, out = PARAGRAPHS[language], tmp_path / "out.json"
    for name in ("NotoSans", "NotoSansDevanagari", "IBMPlexSansArabic-Regular"):
        font_file(name, tmp_path)
    (tmp_path / "fonts.conf").write_text(
        f"<!DOCTYPE fontconfig SYSTEM 'fonts.dtd'><fontconfig><dir>{tmp_path}</dir>"
        f"<cachedir>{tmp_path}/cache</cachedir></fontconfig>"
    )
    subprocess.run(
        [
            tool("pango-view"), "-q", "--no-display", "--dpi=72", "--width=3000", "--wrap=word",
            f"--font={FAMILY.get(language, 'Noto Sans')} 110",
            f"--language={language}", f"--text={text}", f"--serialize-to={out}",
            f"--output={tmp_path}/out.png",
        ],
        check=True, env={**os.environ, "FONTCONFIG_FILE": str(tmp_path / "fonts.conf")}, capture_output=True,
    )  # fmt: skip
    layout = json.loads(out.read_text("utf-8"))["output"]["lines"]
    theirs = ["".join(eye(run["text"], line["direction"] == "rtl") for run in line["runs"]) for line in layout]

    shaped = shape((Run(text),), FACES, language=language)
    ours = [
        "".join(cluster.text[::-1] if rightward(cluster.text) else cluster.text for _, cluster in placed(line))
        for line in shaped.wrap(3000, 110)
    ]
    assert [bare(line) for line in ours] == [bare(line) for line in theirs]
    assert len(ours) > 1


def rightward(text: str) -> bool:
    return any(unicodedata.bidirectional(c) in ("R", "AL") for c in text)


def eye(text: str, rtl: bool) -> str:
    """A run's characters as they are seen: runs of one direction, neutral ones in that of their line."""
    latin = any(unicodedata.bidirectional(c) in ("L", "EN") for c in text)
    return text[::-1] if rightward(text) or (rtl and not latin) else text


def bare(text: str) -> str:
    """Without spaces and controls, which Pango keeps at line ends and in runs of their own."""
    return "".join(c for c in text if unicodedata.category(c) not in ("Zs", "Cf"))


def test_scripts_are_those_of_the_standard():
    """The script of every assigned character of the languages' blocks is that of Scripts.txt, read by fontTools."""
    from fontTools.unicodedata import script

    ranges = (range(0x20, 0x590), range(0x600, 0x700), range(0x900, 0x980), range(0xE00, 0xE80), range(0x1780, 0x1800),
              range(0x1E00, 0x2100), range(0x3000, 0x3100), range(0x4E00, 0x4F00), range(0xAC00, 0xAC80))  # fmt: skip
    wrong = {
        hex(point): (itemising.script(chr(point)), expected)
        for blocks in ranges
        for point in blocks
        if unicodedata.category(chr(point)) != "Cn"
        and itemising.script(chr(point)) != ("" if (expected := script(chr(point))) in ("Zyyy", "Zinh") else expected)
    }

    assert wrong == {}


@pytest.mark.parametrize("name", SOURCES)
def test_metrics_are_those_of_the_font_tables(name, tmp_path):
    """Ascent, descent, x-height and capital height are those that fontTools reads from the font's own tables."""
    from fontTools.ttLib import TTFont

    data, index = SOURCES[name]()
    path = tmp_path / "font"
    path.write_bytes(data)
    font = TTFont(path, fontNumber=index)
    face = FACES.face(name if "-" in name else f"{name}-Regular")
    em = font["head"].unitsPerEm / 1000
    wanted = (font["hhea"].ascent, -font["hhea"].descent, font["OS/2"].sxHeight, font["OS/2"].sCapHeight)

    assert (face.ascent, face.descent, face.x_height, face.cap_height) == pytest.approx([w / em for w in wanted], abs=1)
