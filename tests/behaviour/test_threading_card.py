"""The threading card: what it says, that it prints on both papers, and that nothing typed can spoil it."""

import base64
import re
import zlib
from dataclasses import replace
from datetime import date
from fractions import Fraction
from html.parser import HTMLParser

import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle
from matplotlib.textpath import text_to_path

from machinelab.errors import RangeError
from machinelab.workbook import machine as machines
from machinelab.workbook.card import CAUTIONS, Card, CardRow
from machinelab.workbook.card.files import card_files
from machinelab.workbook.card.lettering import POINT_MM, _font, _letter_ems, in_type, width_mm, wrapped
from machinelab.workbook.card.machine_rows import card_of
from machinelab.workbook.card.page import page
from machinelab.workbook.card.sheet import (
    HIGH_MM,
    PAPERS_MM,
    SMALLEST_PT,
    WIDE_MM,
    alt_text,
    figures,
    pdf,
    pictures,
)
from machinelab.workbook.panels.card_box import CardBox

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

ROW = CardRow(
    designation="M10x1",
    name="rear axle",
    pitch_mm=Fraction(1),
    wanted=Fraction(1600, 3429),
    used=Fraction(1600, 3429),
    error_ppm=0.0,
    screw_error_ppm=133.0,
    speed_rpm=75.0,
    limit="the groove at the shoulder",
    groove_mm=2.5,
    run_out_mm=1.19,
    depths_mm=(0.2, 0.32, 0.41, 0.48, 0.54, 0.6, 0.63),
    spring_passes=1,
    blank_mm=9.88,
    tool="tip radius 0.1 mm",
    wire_mm=0.577,
    over_wires_mm=(10.1, 10.212),
    measured_against="6g",
)
NEARLY = replace(ROW, used=Fraction(7, 15), error_ppm=140.0)
LEFT = replace(ROW, designation="left", left_hand=True, wanted=Fraction(-40, 81), used=Fraction(-40, 81))
NONE = replace(ROW, designation="none", speed_rpm=float("nan"), why_not="even at 60 rpm it hits the wall.")
BARE = CardRow(designation="7 tpi", pitch_mm=Fraction(127, 35))
CARD = Card("old lathe (invented)", "25 November 2026", "record 0007", (ROW, NEARLY, LEFT, NONE, BARE))
NASTY = (
    "<script>alert(1)</script>",
    "$\\frac{x}{",
    "'\"><img src=x onerror=1>",
    "\u202eevil\u202c \x00\x07\x1b[31m",
    "日本語 🔧 ﷽",
    "W" * 500,
    "a b " * 300,
    "&lt;b&gt; {paper} %s {{}}",
    "%PDF-1.4 endobj (\\",
    "",
    "   ",
)


class Words(HTMLParser):
    """Words, elements and attributes of a page."""

    def __init__(self):
        super().__init__()
        self.words, self.elements, self.attributes, self.open = [], set(), {}, []

    def handle_starttag(self, tag, attrs):
        self.elements.add(tag)
        self.attributes |= dict(attrs)
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("style",):
            self.words.append(data)

    @classmethod
    def of(cls, text):
        parser = cls()
        parser.feed(text)
        parser.close()
        return parser

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def written(card, paper="A4"):
    """Every line of every sheet."""
    return [text for figure in figures(card, paper) for text in figure.texts]


def said(card, paper="A4"):
    return " ".join(text.get_text() for text in written(card, paper))


def measured_mm(text) -> float:
    """How wide a line is by the drawing library's own measure, kerning in it."""
    kind = FontProperties(family="DejaVu Sans", size=text.get_size(), weight=text.get_weight())
    return text_to_path.get_text_width_height_descent(text.get_text(), kind, ismath=False)[0] * POINT_MM


def sheets(content: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", content))


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_sheet_and_page_say_the_same_and_all_of_it(paper):
    on_page = Words.of(page(CARD, paper)).text
    on_sheet = said(CARD, paper)
    for row in CARD.rows:
        for words in (row.designation, row.speed_words, row.ratio_words, row.groove_words, *row.remarks):
            assert words in on_page
            assert " ".join(words.split()) in on_sheet
    for words in (CARD.title, CARD.made, *CAUTIONS):
        assert words in on_page
        assert words in on_sheet


def test_a_row_says_ratio_speed_groove_depth_and_wires():
    assert ROW.ratio_words == "1600/3429"
    assert ROW.error_words == "exact"
    assert (ROW.speed_words, ROW.limit_words) == ("75 rpm", "set by the groove at the shoulder")
    assert (ROW.groove_words, ROW.run_out_words) == ("2.5 mm", "stops in 1.2 mm")
    assert ROW.passes_words == "7 + 1 passes"
    assert ROW.cuts_words.startswith("Blank 9.88 mm, tip radius 0.1 mm: set in 0.20, 0.32, 0.41")
    assert ROW.wires_words == "Over 0.577 wires: 10.212 down to 10.100 mm (6g)."
    assert ROW.pitch_words == "1 mm · 25.4 tpi"


def test_an_inexact_ratio_stands_beside_the_screw_and_the_exact_one():
    assert NEARLY.error_words == "+140 ppm; the screw 133 ppm (it shows); exact: 1600/3429"
    small = replace(NEARLY, error_ppm=1.5)
    assert "it shows" not in small.error_words
    assert replace(NEARLY, screw_error_ppm=float("nan")).error_words == "+140 ppm; exact: 1600/3429"
    assert "exact" not in replace(NEARLY, wanted=Fraction(10**12 + 1, 10**13)).error_words


def test_a_left_hand_thread_is_marked_and_goes_through_stop():
    assert LEFT.ratio_words == "−40/81"
    assert any(words.startswith("LEFT HAND") and "STOP" in words for words in LEFT.remarks)
    assert not any("LEFT HAND" in words for words in ROW.remarks)


def test_a_thread_without_a_feasible_speed_says_so_and_why():
    assert NONE.speed_words == "no speed"
    assert "No speed up to the shoulder: even at 60 rpm it hits the wall." in NONE.remarks


def test_what_is_not_known_is_said_to_be_not_known():
    assert (BARE.speed_words, BARE.limit_words) == ("no speed", "not known")
    assert (BARE.ratio_words, BARE.groove_words) == ("not known", "not known")
    assert BARE.remarks == ()


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_every_letter_is_at_least_twelve_points_and_inside_the_printed_area(paper):
    """Measured in the type's own widths, as the PDF sets them."""
    wide, high = PAPERS_MM[paper]
    left, top = (wide - WIDE_MM) / 2, (high - HIGH_MM) / 2
    for text in written(replace(CARD, rows=CARD.rows * 4), paper):
        size = text.get_size()
        assert size >= SMALLEST_PT
        x, y = text.get_position()
        ends = x * wide + measured_mm(text)
        assert left - 1e-9 <= x * wide
        assert ends <= left + WIDE_MM + 0.05, text.get_text()
        base = (1 - y) * high
        assert top + size * POINT_MM * 0.7 <= base <= top + HIGH_MM - 0.2 * size * POINT_MM


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize("name", [*NASTY, "plain"], ids=lambda name: ascii(name)[:20])
def test_no_two_lines_of_a_sheet_overlap(paper, name):
    rows = tuple(replace(row, designation=name[:40] or "x", name=name, notes=(name,)) for row in CARD.rows)
    for figure in figures(replace(CARD, rows=rows), paper):
        wide, high = PAPERS_MM[paper]
        boxes = []
        for text in figure.texts:
            (x, y), size = text.get_position(), text.get_size()
            length = measured_mm(text)
            base = (1 - y) * high
            boxes.append((x * wide, x * wide + length, base - 0.72 * size * POINT_MM, base))
        for place, one in enumerate(boxes):
            for other in boxes[place + 1 :]:
                apart = one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]
                assert apart, (one, other)


def test_stripes_are_grey_enough_to_print_and_light_enough_to_read_on():
    (figure,) = figures(replace(CARD, rows=CARD.rows[:3]))
    bands = [artist for artist in figure.artists if isinstance(artist, Rectangle)]
    assert len(bands) == 2
    for band in bands:
        red, green, blue, _ = band.get_facecolor()
        assert red == green == blue
        assert 0.8 < red < 0.95


@pytest.mark.parametrize(("paper", "box"), [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))])
def test_the_pdf_opens_on_its_paper_with_its_letters_in_it(paper, box):
    content = pdf(CARD, paper)
    assert content.startswith(b"%PDF-1.")
    assert content.rstrip().endswith(b"%%EOF")
    assert sheets(content) == len(list(figures(CARD, paper)))
    found = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", content)
    assert [float(side) for side in found.groups()] == pytest.approx(box, abs=0.1)
    assert b"/FontFile2" in content
    assert b"/CreationDate" not in content
    # Each stream that says so really is compressed: the file is whole.
    start = int(re.search(rb"startxref\s+(\d+)", content)[1])
    assert content[start:].startswith(b"xref")
    streams = re.findall(rb"/FlateDecode[^>]*>>\s*stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL)
    assert streams
    assert all(zlib.decompressobj().decompress(stream) for stream in streams)


@pytest.mark.slow
def test_the_same_card_gives_the_same_file():
    assert pdf(CARD) == pdf(CARD)


@pytest.mark.slow
def test_many_threads_take_more_sheets_and_none_is_left_out():
    rows = tuple(replace(ROW, designation=f"thread {number}") for number in range(23))
    many = replace(CARD, rows=rows)
    found = list(figures(many, "Letter"))
    assert len(found) > 2
    texts = [[text.get_text() for text in figure.texts] for figure in found]
    assert [one for sheet in texts for one in sheet if one.startswith("thread ")] == [
        row.designation for row in rows
    ]
    for number, sheet in enumerate(texts, start=1):
        assert f"sheet {number} of {len(found)}" in sheet
        assert CARD.title in sheet
        assert any(CAUTIONS[0] in line for line in sheet)
    assert sheets(pdf(many, "Letter")) == len(found)


def test_a_machine_without_threads_has_a_card_that_says_so():
    empty = replace(CARD, rows=())
    assert "No thread on the list" in page(empty)
    assert "No thread on the list" in alt_text(empty)
    assert sheets(pdf(empty)) == 1


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_page_carries_everything_along(paper):
    text = page(CARD, paper)
    found = Words.of(text)
    assert found.open == ["meta", "br"][:0]
    assert not found.elements & {"script", "img", "link", "iframe", "a", "form", "input", "object"}
    assert "http" not in text
    assert f"@page{{size:{paper};" in text
    assert "url(" not in text
    assert not any(name.startswith("on") for name in found.attributes)


@pytest.mark.slow
@pytest.mark.parametrize("name", NASTY, ids=lambda name: ascii(name)[:20])
def test_nothing_that_was_typed_acts_as_anything_but_text(name):
    row = replace(ROW, designation=name or "x", name=name, notes=(name,), limit=name, tool=name)
    card = Card(name, name, name, (row,))
    found = Words.of(page(card))
    assert not found.elements & {"script", "img"}
    assert "onerror" not in found.attributes
    content = pdf(card)
    assert sheets(content) == len(list(figures(card)))
    for text in written(card):
        assert text.get_parse_math() is False
    assert not re.search("[\x00-\x08\x0b-\x1f\u202a-\u202e]", said(card))


def test_a_long_name_is_cut_off_on_paper_and_whole_on_the_page():
    long = "axle " * 60
    card = replace(CARD, rows=(replace(ROW, name=long),))
    assert "…" in said(card)
    assert long.strip() in Words.of(page(card)).text


def test_letters_that_the_type_lacks_become_question_marks_on_paper_only():
    assert in_type("axle 日本 µm") == "axle ?? µm"
    assert "日本" in page(replace(CARD, machine="日本"))


def test_a_word_that_is_wider_than_its_room_is_broken_and_no_line_is_wider():
    for lines in (wrapped("W" * 40 + " axle", 30.0, 12.0), wrapped("axle " * 30, 30.0, 12.0, most=2)):
        assert len(lines) > 1
        assert all(width_mm(line, 12.0, False) <= 30.0 for line in lines)
    assert "".join(wrapped("W" * 40, 30.0, 12.0)) == "W" * 40


def test_an_unknown_paper_is_refused():
    for make in (page, pdf, pictures):
        with pytest.raises(RangeError, match="A4, Letter"):
            make(CARD, "A5")


def test_the_picture_has_words_for_those_who_cannot_see_it():
    (picture,) = pictures(replace(CARD, rows=(ROW, NONE)))
    assert picture.width_px == pytest.approx(800, abs=1)
    assert "M10x1: at most 75 rpm" in picture.alt
    assert picture.png.startswith(b"\x89PNG")


def test_the_demo_machines_card_has_every_thread_of_its_list():
    machine = machines.load("demo")
    card = card_of(machine, day=date(2026, 11, 25))
    assert [row.designation for row in card.rows] == [thread.designation for thread in machine.threads]
    assert card.made.startswith("25 November 2026")
    assert machine.fingerprint()[:8] in card.made
    for row, thread in zip(card.rows, machine.threads, strict=True):
        assert row.wanted == machine.steps_per_count(thread)
        assert row.depths_mm[-1] > 0.5 * float(thread.pitch_mm)
        assert row.groove_mm == thread.groove_mm
        assert row.over_wires_mm
        if row.speed_words != "no speed":
            assert row.run_out_mm < thread.groove_mm


@pytest.mark.parametrize("machine", ["tests/machines/metric", "tests/machines/empty"])
def test_other_machines_have_a_card_too(machine):
    card = card_of(machines.load(machine))
    assert len(card.rows) == len(machines.load(machine).threads)
    assert sheets(pdf(card, "Letter")) == 1


def test_a_button_writes_both_files_and_hands_them_out(tmp_path):
    box = CardBox(lambda: CARD, folder=tmp_path)
    box.buttons["Letter"].click()
    names = ["threading_card_Letter.html", "threading_card_Letter.pdf"]
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == names
    for name in names:
        assert f'download="{name}"' in box.answer.value
    data = re.search('data:application/pdf;base64,([^"]+)', box.answer.value)[1]
    assert base64.b64decode(data) == (tmp_path / "out" / names[1]).read_bytes()
    assert (tmp_path / "out" / names[0]).read_bytes() == card_files(CARD, "Letter")[names[0]]
    assert "Please look" not in box.notice.value


def test_a_folder_that_cannot_be_written_to_is_told_in_words(tmp_path):
    (tmp_path / "out").write_text("in the way")
    box = CardBox(lambda: CARD, folder=tmp_path)
    box.write("A4")
    assert "was not written" in box.notice.value
    assert (tmp_path / "out").read_text() == "in the way"


def test_a_letter_is_as_wide_after_something_was_drawn_in_another_size():
    _letter_ems.cache_clear()
    before = width_mm("{%}", 12, True)
    _letter_ems.cache_clear()
    _font(True).set_size(7, 300)
    assert width_mm("{%}", 12, True) == before
