"""Print packs and round sheets, made of released files and read back with other programs."""

from __future__ import annotations

import io
import re
import subprocess
from collections import Counter

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
import zxingcpp
from click.testing import CliRunner
from conftest import tool
from packing_kit import shelf

from docgen import cli
from docgen.artifacts.pack import Job, Placed, Side, Unprintable, brightness, sizes, write_pack
from docgen.model.layout import SIZES
from docgen.model.press import GAP, laying, nest
from docgen.model.sheet import MM

DAY = "2030-03-10"


def docgen(place, *args, code=0):
    more = ["--protocols", str(place.protocols), "--today", DAY, "--out", str(place.root / "out")]
    result = CliRunner().invoke(cli.docgen, [*args, *more])
    assert result.exit_code == code, result.output
    return result


@pytest.fixture(scope="module")
def packed(tmp_path_factory):
    """A pack of the whole unit."""
    place = shelf(tmp_path_factory.mktemp("quay"))
    docgen(place, "pack", "--site", "quay", "--by", "Ada Invented")
    return place.root / "out" / "postings" / "quay" / DAY / "pack"


def words(path):
    """The text of each page, read with pdfium."""
    with pdfium.PdfDocument(path) as pdf:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in pdf]


# --- what is printed ----------------------------------------------------------------------------------------


def test_every_copy_is_in_the_pack_once(packed):
    """Outside check: page texts read with pdfium and counted with collections.Counter, against the site file read by
    eye: 2 posters in each of two languages, 1 script of 3 pages, 7 sets of 5 card sides."""
    found: Counter = Counter()
    for file in packed.glob("*.pdf"):
        for text in words(file):
            found.update(re.findall(r"\ble-01-v1\.0-quay-(\w\w-\w+)-a\d:\d", text))

    assert found == {"en-poster": 2, "es-poster": 2, "en-script": 3, "en-cards": 35}


def test_there_is_a_file_for_each_paper(packed):
    """With the order on top of the one for office paper."""
    assert sorted(p.name for p in packed.iterdir()) == ["quay-pack-a3.pdf", "quay-pack-a4.pdf"]
    assert words(packed / "quay-pack-a4.pdf")[0].startswith("Print order Day Ward, Gull Point Clinic (invented)")


def test_the_order_says_who_what_where(packed):
    """Read from the finished file."""
    order = words(packed / "quay-pack-a4.pdf")[0]

    for said in ("Ordered by Ada Invented on 2030-03-10", "quay-pack-a3.pdf", "Carried by each nurse", "laminate",
                 "4 × A3", "21 × A6", "both sides, long edge"):  # fmt: skip
        assert said in order


def test_copies_begin_on_a_front(packed):
    """A script of three pages ends with a blank back; cards begin on the next sheet of paper."""
    texts = words(packed / "quay-pack-a4.pdf")
    script = [n for n, text in enumerate(texts) if "script-a4:" in text]

    assert script == [2, 3, 4]
    assert texts[1] == texts[5] == ""
    assert "cards" in texts[6]


# --- page boxes ---------------------------------------------------------------------------------------------


def test_page_boxes_by_pdfinfo(packed):
    """Outside check: poppler's pdfinfo. Full sheets are trimmed at their edges; press sheets at the cards, with 3 mm
    beyond them to be printed. A4 and A6 from ISO 216."""
    out = subprocess.run([tool("pdfinfo"), "-box", "-l", "999", str(packed / "quay-pack-a4.pdf")], capture_output=True,
                         text=True, check=True).stdout  # fmt: skip
    boxes = {
        (int(n), name): [float(v) for v in values.split()]
        for n, name, values in re.findall(r"Page +(\d+) (\w+)Box: +([\d. ]+)", out)
    }
    a4 = pytest.approx([0, 0, 210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.02)
    left, bottom, right, top = boxes[7, "Trim"]
    bleed = boxes[7, "Bleed"]

    assert boxes[3, "Media"] == boxes[3, "Trim"] == boxes[3, "Bleed"] == a4
    assert (right - left, top - bottom) == pytest.approx((148 * MM, (2 * 105 + GAP) * MM), abs=0.02)
    assert [left - bleed[0], bottom - bleed[1], bleed[2] - right, bleed[3] - top] == pytest.approx(
        [3 * MM] * 4, abs=0.02
    )
    assert (left + right, bottom + top) == pytest.approx((210 * MM, 297 * MM), abs=0.02)


def test_page_boxes_and_print_settings_by_pikepdf(packed):
    """Each box lies in the next larger one (ISO 32000-1, 14.11.2), and the file asks to be printed as it is."""
    for file in packed.glob("*.pdf"):
        with pikepdf.open(file) as pdf:
            for page in pdf.pages:
                media, bleed, trim = ([float(v) for v in page[f"/{n}Box"]] for n in ("Media", "Bleed", "Trim"))
                for outer, inner in ((media, bleed), (bleed, trim)):
                    assert outer[0] <= inner[0] + 0.01 and outer[1] <= inner[1] + 0.01
                    assert outer[2] >= inner[2] - 0.01 and outer[3] >= inner[3] - 0.01
            settings = pdf.Root.ViewerPreferences
            duplex = "/DuplexFlipLongEdge" if "a4" in file.name else "/Simplex"
            assert (settings.PrintScaling, settings.Duplex, settings.NumCopies) == ("/None", duplex, 1)


# --- cards --------------------------------------------------------------------------------------------------


def places(path, index):
    """Side of a card → the middle of its words on a press sheet in points, and whether the line runs up or down."""
    with pdfium.PdfDocument(path) as pdf:
        text = pdf[index].get_textpage()
        out: dict[int, list[tuple[float, float, str]]] = {}
        for m in re.finditer(r"le-01\S*cards-a6:(\d)", text.get_text_range()):
            first, last = (text.get_charbox(n) for n in (m.start(), m.end() - 1))
            x, y = ((first[n] + first[n + 2] + last[n] + last[n + 2]) / 4 for n in (0, 1))
            assert abs(last[1] - first[1]) > 10 * abs(last[0] - first[0])
            out.setdefault(int(m[1]), []).append((x, y, "up" if last[1] > first[1] else "down"))
        return out


def test_backs_lie_on_their_fronts(packed):
    """Duplex register: a sheet turned over its long edge carries x to width - x. The words stand at the same height
    below the top of each side, so they meet there, and those of the back run the other way. Measured with pdfium."""
    file = packed / "quay-pack-a4.pdf"
    width = SIZES["A4"][0] * MM
    pairs = 0
    for leaf in range(3):
        fronts, backs = places(file, 6 + 2 * leaf), places(file, 7 + 2 * leaf)
        for side, front in fronts.items():
            assert {way for *_, way in front} == {"up"}
            for x, y, way in backs.get(side + 1, ()):
                assert way == "down"
                assert any(abs(width - x - fx) < 1 and abs(y - fy) < 105 / 2 * MM for fx, fy, _ in front)
                pairs += 1
    assert pairs == 4  # 3 sheets of two cards; every third card has no back


def test_card_tops_meet_back_to_back(packed):
    """The strip along the top of a card shows through at the same place: fronts and mirrored backs, as pixels."""
    with pdfium.PdfDocument(packed / "quay-pack-a4.pdf") as pdf:
        front, back = (pdf[n].render(scale=1).to_numpy().astype(int) for n in (6, 7))
    strip = [(a[:, :, 2] > 200) & (a[:, :, 0] < 90) for a in (front, back)]  # BGR: orange
    mirrored = strip[1][:, ::-1]
    both = (strip[0] & mirrored).sum()

    assert both > 0.9 * min(strip[0].sum(), mirrored.sum()) > 1000


def test_cut_piles_put_together_are_in_order(packed):
    """Read sheet by sheet, slot by slot: pile after pile gives card 1, 2, 3 of set 1, then of set 2, …"""
    file = packed / "quay-pack-a4.pdf"
    with pdfium.PdfDocument(file) as pdf:
        count = len(pdf)
    piles: dict[int, list[int]] = {0: [], 1: []}
    for index in range(6, count - 1, 2):
        for side, spots in places(file, index).items():
            for _, y, _ in spots:
                piles[0 if y > 297 / 2 * MM else 1].append(side)
    assert len(piles[0]) + len(piles[1]) == 7 * 3
    assert piles[0] + piles[1] == [1, 3, 5] * 7


def test_crop_marks_stand_at_the_corners(packed):
    """Dark ink half a millimetre and more outside each corner of each card, none inside the cut line's way."""
    scale = 300 / 72
    with pdfium.PdfDocument(packed / "quay-pack-a4.pdf") as pdf:
        image = pdf[6].render(scale=scale).to_numpy()[:, :, 0]
    laid = nest(SIZES["A6"], "A4")
    px = 300 / 25.4
    for slot in range(laid.slots):
        x, y = laid.corner(slot)
        for cx, sign in ((x, -1), (x + laid.card[0], 1)):
            ends = sorted(round((cx + sign * off) * px) for off in (0.7, 2.1))
            reach = image[round(y * px) - 2 : round(y * px) + 3, slice(*ends)]
            assert reach.min(axis=0).max() < 128


@pytest.mark.parametrize(
    ("card", "press", "slots"),
    [
        ("A6", "A4", 2),
        ("A7", "A4", 4),
        ("4x6in", "Letter", 2),
        ("3x5in", "Letter", 4),
        ("ID-1", "Letter", 8),
        ("A3", "A4", 0),
    ],
)
def test_as_many_cards_as_fit(card, press, slots):
    """Worked by hand from ISO 216, ISO/IEC 7810 and inch sizes, with 8 mm margins and 5 mm between cards."""
    laid = nest(SIZES[card], press)

    assert (laid.slots if laid else 0) == slots


def test_laid_cards_keep_a_seal():
    """In a pouch, 3 mm of film round each card, so 6 mm between two (common practice)."""
    laid = laying(SIZES["ID-1"], "A4")
    xs = sorted({laid.corner(n)[0] for n in range(laid.slots)})

    assert xs[1] - xs[0] == pytest.approx(laid.card[0] + 6)
    assert min(laid.block[:2]) >= 3


# --- what may not be printed --------------------------------------------------------------------------------


def test_an_altered_file_is_refused(tmp_path):
    """One byte is enough: nothing is printed, and the old pack stays."""
    place = shelf(tmp_path)
    docgen(place, "pack", "--site", "quay", "--by", "Ada")
    folder = place.root / "out" / "postings" / "quay" / DAY / "pack"
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    file = place.root / "out" / "lens-care" / "1.0" / "quay" / "en" / "le-01-v1.0-quay-en-script-a4.pdf"
    file.write_bytes(file.read_bytes() + b" ")

    result = docgen(place, "pack", "--site", "quay", "--by", "Ada", code=1)

    assert "[pack/altered]" in result.output
    assert str(file) in result.output
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_a_missing_file_is_said(tmp_path):
    """With what to do."""
    place = shelf(tmp_path)
    (place.root / "out" / "lens-care" / "1.0" / "quay" / "es" / "le-01-v1.0-quay-es-poster-a3.pdf").unlink()

    result = docgen(place, "pack", "--site", "quay", "--by", "Ada", code=1)

    assert "[pack/missing]" in result.output
    assert not (place.root / "out" / "postings").exists()


def test_what_hangs_is_not_printed_again(tmp_path):
    """After the round is recorded there is no pack."""
    place = shelf(tmp_path)
    CliRunner().invoke(cli.docgen, ["postings", "done", "--site", "quay", "--by", "Ada", "--all", "--protocols",
                                    str(place.protocols), "--today", DAY])  # fmt: skip

    assert "quay: nothing is left to print" in docgen(place, "pack", "--site", "quay", "--by", "Ada").output


def test_the_same_order_gives_the_same_bytes(tmp_path, packed):
    """Nothing of the day, the machine or the run is in it but what was asked for."""
    place = shelf(tmp_path)
    docgen(place, "pack", "--site", "quay", "--by", "Ada Invented")
    folder = place.root / "out" / "postings" / "quay" / DAY / "pack"

    for file in packed.iterdir():
        assert (folder / file.name).read_bytes() == file.read_bytes()


def test_hostile_bytes_are_refused():
    """What is no PDF is an error of its own, never a crash."""
    for data in (b"", b"%PDF-1.7\n%%EOF", b"\0" * 100):
        with pytest.raises(Unprintable):
            sizes(data)


def test_an_unknown_turn_is_a_fault():
    """Only what the geometry is proven for."""
    side = Side(100, 100, (Placed("a", 0, turn=45),))
    source = io.BytesIO()
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(10, 10))
    pdf.save(source)
    with pytest.raises(ValueError, match="45"):
        write_pack(Job("x", (side,), duplex=False), {"a": source.getvalue()})


# --- greyscale ----------------------------------------------------------------------------------------------


def linear(c):
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def test_a_proof_is_grey_and_as_bright(tmp_path):
    """Outside check on pixels rendered with pdfium: no colour is left, and each pixel has the relative luminance
    (WCAG 2.2) that it had in colour."""
    place = shelf(tmp_path)
    docgen(place, "pack", "--site", "quay", "--by", "Ada")
    docgen(place, "postings", "round", "--site", "quay")
    colour_file = place.root / "out" / "postings" / "quay" / DAY / "pack" / "quay-pack-a3.pdf"
    with pdfium.PdfDocument(colour_file.read_bytes()) as pdf:
        colour = pdf[0].render(scale=0.5).to_numpy()[:, :, :3] / 255
    docgen(place, "pack", "--site", "quay", "--by", "Ada", "--grey")
    with pdfium.PdfDocument(colour_file.with_name("quay-pack-a3-grey.pdf")) as pdf:
        grey = pdf[0].render(scale=0.5).to_numpy()[:, :, :3] / 255
    luminance = linear(colour) @ np.array([0.0722, 0.7152, 0.2126])  # BGR

    assert np.ptp(colour, axis=2).max() > 0.5
    assert np.ptp(grey, axis=2).max() == 0
    flat = np.abs(linear(grey[:, :, 0]) - luminance)
    assert np.quantile(flat, 0.99) < 0.01


@pytest.mark.parametrize(("colour", "contrast"), [((1.0, 0.51, 0.0), 8.45), ((0.784, 0.063, 0.18), 21 / 5.88)])
def test_signal_colours_keep_their_contrast(colour, contrast):
    """Black on orange 8.45 to 1, white on red 5.88 to 1 (WCAG 2.2 formula), in colour and in grey alike."""
    grey = brightness(*colour)

    assert (float(linear(np.array(grey))) + 0.05) / 0.05 == pytest.approx(contrast, rel=0.02)


# --- the round sheet ----------------------------------------------------------------------------------------


def test_a_round_sheet_shows_the_codes_that_must_be_found(tmp_path):
    """Rendered at 200 dpi and read with zxing-cpp: the code of each sheet to put up, as its release has it."""
    place = shelf(tmp_path)
    docgen(place, "postings", "round", "--site", "quay")
    (file,) = (place.root / "out" / "postings").rglob("quay-round.pdf")
    with pdfium.PdfDocument(file) as pdf:
        assert len(pdf) == 1
        image = pdf[0].render(scale=200 / 72).to_numpy()
    read = Counter(code.text for code in zxingcpp.read_barcodes(image))
    told = (place.protocols / "releases" / "lens-care" / "1.0.json").read_text("utf-8")

    assert len(read) == 4
    assert all(f'"{code}"' in told for code in read)
    assert sorted(code.split("/")[5] for code in read) == ["C1-5", "P1-1", "P1-1", "S1-3"]


def test_an_audit_round_goes_to_every_place(tmp_path):
    """Also where everything was recorded: a record is what somebody said, a round is what somebody sees."""
    place = shelf(tmp_path)
    done = ["postings", "done", "--site", "quay", "--by", "Ada", "--all", "--protocols", str(place.protocols)]
    CliRunner().invoke(cli.docgen, [*done, "--today", DAY])
    docgen(place, "postings", "round", "--site", "quay", "--audit")
    (file,) = (place.root / "out" / "postings").rglob("quay-audit.pdf")

    assert "nothing is left to do" in docgen(place, "postings", "round", "--site", "quay").output
    (text,) = words(file)
    assert text.count("Nothing older") == text.count("Hangs") == 4


def test_modules_of_the_codes_are_large_enough(tmp_path):
    """At least 0.396 mm (the floor of GS1's general specifications for retail, from memory), measured on a raster; a
    quiet zone of four modules (ISO/IEC 18004) is white on all sides."""
    place = shelf(tmp_path)
    docgen(place, "postings", "round", "--site", "quay")
    (file,) = (place.root / "out" / "postings").rglob("quay-round.pdf")
    dpi = 600
    with pdfium.PdfDocument(file) as pdf:
        image = pdf[0].render(scale=dpi / 72, grayscale=True).to_numpy()
    image = image.reshape(image.shape[:2])
    codes = zxingcpp.read_barcodes(image)
    assert codes
    for code in codes:
        corners = code.position
        across = corners.top_right.x - corners.top_left.x
        row = image[corners.top_left.y + 4]
        start = corners.top_left.x - 4
        while row[start] > 128:
            start += 1
        run = 0
        while row[start + run] <= 128:
            run += 1
        module = run / 7  # the upper bar of a finder pattern is seven modules long
        assert module * 25.4 / dpi >= 0.396
        x, y, quiet = corners.top_left.x, corners.top_left.y, int(3.8 * module)
        assert image[y - quiet : y - 4, x : x + across].min() > 200
        assert image[y : y + across, x - quiet : x - 4].min() > 200


def test_a_list_longer_than_a_page_is_parted():
    """Rows stay whole, every part has the names of its columns, and all columns line up."""
    from workbench import faces, templates

    from docgen.build.layouts import layouts
    from docgen.compose import compose_record
    from docgen.typeset import place_record

    row = {"pages": "1", "what": "x", "copies": "1", "where": "there", "then": "nothing"}
    record = {"title": "Order", "place": "Here", "by": "Ada", "day": DAY, "files": (), "rows": (row,) * 90,
              "totals": (), "how": (), "down": (), "site": "quay", "invented": True}  # fmt: skip
    laid, house, _ = layouts(templates())
    composition, findings = compose_record("pack", templates(), record)
    document, problems = place_record(composition, "Order", laid["pack"], house, faces(), {}.get, "A4")

    assert (*findings, *problems) == ()
    assert len(document.sheets) >= 2
    heads = [
        m for sheet in document.sheets for m in sheet.marks if getattr(m, "line", None) and m.line.text == "Copies"
    ]
    assert len(heads) == 8
    assert len({round(h.x, 2) for h in heads}) == 1


def test_a_round_sheet_is_tagged_and_has_boxes_to_tick(tmp_path):
    """A structure tree, a title, and a form field for each thing to do (read with pikepdf)."""
    place = shelf(tmp_path)
    docgen(place, "postings", "round", "--site", "quay")
    (file,) = (place.root / "out" / "postings").rglob("quay-round.pdf")
    with pikepdf.open(file) as pdf:
        ticks = [f for f in pdf.Root.AcroForm.Fields if f.get("/FT") == "/Btn" or "/Kids" in f]
        assert pdf.Root.MarkInfo.Marked
        assert "/StructTreeRoot" in pdf.Root
        assert len(ticks) >= 4
