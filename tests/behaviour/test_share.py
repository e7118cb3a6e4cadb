"""One post for every place: the same words, formulas and verdicts, and nothing private."""

import getpass
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from machinelab.errors import RangeError
from machinelab.spindle.encoder import edge_rate_hz
from machinelab.workbook.share import (
    Calculation,
    Notes,
    Paragraph,
    Picture,
    Post,
    Table,
    calculation,
    without_private,
)
from machinelab.workbook.share.columns import text_table
from machinelab.workbook.share.private import _account
from machinelab.workbook.verdict import verdict
from machinelab.worked import worked

BLEEDER = Calculation(
    title="How long do the capacitors stay charged?",
    formula=("t = C R ln(V0/60 V)",),
    numbers=("t = 470 µF × 6.8 kΩ × ln(170/60)",),
    result="t = 3.3 s",
    source="Derived here: discharge of a capacitor through a resistor.",
    verdict=str(verdict(3.3, 0.3, None, 5.0, unit="s")),
    meaning="Wait five seconds behind the plug, then measure.",
    assumptions=("resistor within 5 %", "capacitor within 20 %"),
)
SHEET = Table(
    ("no.", "check", "limit and source", "measured"),
    (
        (
            "1",
            "voltage at the bus five seconds after the plug is out",
            "60 V (IEC 60204-1, 6.2.4; excerpt)",
            "12 V",
        ),
        ("2", "bond of the cross slide", "0.1 ohm (IEC 61439-1, 10.5.2; excerpt)", "0.04 ohm"),
    ),
    title="Sheet",
)
POST = Post(
    "Bleeder of the demo machine (invented)",
    (Paragraph("First line.\nSecond line."), BLEEDER, SHEET, Notes(("read warm", "guard shut"))),
)
WRITERS = {"bbcode": Post.bbcode, "markdown": Post.markdown, "text": Post.text, "html": Post.html}


class Words(HTMLParser):
    """The text of a page, and the elements and attributes it is made of."""

    def __init__(self):
        super().__init__()
        self.text, self.elements, self.attributes = "", [], []

    def handle_data(self, data):
        self.text += data

    def handle_starttag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += attrs


def page_of(text):
    page = Words()
    page.feed(text)
    return page


@pytest.mark.parametrize("writer", WRITERS)
def test_formula_numbers_result_verdict_meaning_and_source_are_in_every_way_of_writing(writer):
    text = WRITERS[writer](POST)
    text = page_of(text).text if writer == "html" else text
    flat = " ".join(text.split())
    for words in (*BLEEDER.formula, *BLEEDER.numbers, BLEEDER.result, BLEEDER.meaning, *BLEEDER.assumptions):
        assert words in flat
    assert "MET" in flat
    assert "keeps the limit (at most 5 s)" in flat
    assert "Derived here: discharge" in flat


def test_a_forum_post_as_it_is_pasted():
    post = Post("Bleeder", (BLEEDER,)).with_keys_only()
    assert post.bbcode() == (
        "[b]Bleeder[/b]\n\n"
        "[b]How long do the capacitors stay charged?[/b]\n"
        "[code]\nt = C R ln(V0/60 V)\nt = 470 uF x 6.8 kohm x ln(170/60)\nt = 3.3 s\n[/code]\n"
        "[b]MET[/b]: 3.3 s +/- 0.3 (k=2) keeps the limit (at most 5 s) with 1.4 s to spare.\n"
        "Wait five seconds behind the plug, then measure.\n"
        "Taken for granted:\n[list]\n[*]resistor within 5 %\n[*]capacitor within 20 %\n[/list]\n"
        "[i]Source: Derived here: discharge of a capacitor through a resistor.[/i]"
    )


def test_a_working_becomes_a_calculation_with_its_result_said_once():
    working = worked(edge_rate_hz, speed_rpm=2000, counts_per_spindle_turn=2700)
    block = calculation(
        working, verdict=verdict(90e3, 1e3, None, 1e5, unit="Hz"), meaning="The card keeps up."
    )
    text = Post("Encoder", (block,)).text()
    assert "f_e = 2000 rpm / 60 · 2700 counts" in text
    assert text.count("f_e = 90000 Hz") == 1
    assert "Derived here: edges a turn times turns a second." in " ".join(text.split())


def test_code_boxes_of_a_forum_post_are_no_wider_than_76_columns():
    for box in re.findall(r"\[code\]\n(.*?)\n\[/code\]", POST.bbcode(), re.DOTALL):
        assert max(map(len, box.split("\n"))) <= 76


def test_a_long_record_is_parted_between_its_blocks():
    post = Post("Record", tuple(Paragraph(f"{number} " + "x" * 900) for number in range(60)))
    posts = post.bbcode_posts()
    assert len(posts) == 3
    assert max(map(len, posts)) <= 20_000
    assert "\n\n".join(posts) == post.bbcode()


def test_a_page_asks_for_nothing_from_elsewhere():
    post = POST.with_blocks(
        Picture("the curve falls to zero in 5 s", png=b"\x89PNG\r\n\x1a\n"),
        Picture("the same, uploaded", url="https://example.org/curve.png"),
    )
    page = page_of(post.html())
    assert post.html().startswith("<!DOCTYPE html>")
    assert not {"script", "link", "iframe", "object", "embed"} & set(page.elements)
    sources = [value for name, value in page.attributes if name in ("src", "srcset", "data", "background")]
    assert all(source.startswith("data:image/png;base64,") for source in sources)
    assert ("lang", "en") in page.attributes
    assert ("alt", "the curve falls to zero in 5 s") in page.attributes
    assert "@page{size:A4" in post.html()
    assert "http" not in re.sub(r'<a href="[^"]*">', "", post.html())


def test_a_picture_says_in_words_what_it_shows():
    with pytest.raises(RangeError, match="in words"):
        Picture(" ")
    for address in ("javascript:alert(1)", "https://x y", "https://x.org/[b]", "ftp://x.org/a.png"):
        with pytest.raises(RangeError, match="https://"):
            Picture("curve", url=address)
    assert (
        "[img]https://example.org/a.png[/img]"
        in Post("p", (Picture("c", url="https://example.org/a.png"),)).bbcode()
    )


def test_a_narrow_column_keeps_its_words_whole_where_there_is_room():
    headings = ("thread", "stepper", "pulses each second", "has", "asked", "in hand", "by the calculation")
    row = (
        "26 tpi cycle",
        "77 rpm",
        "2051",
        "1.4 N m · 13 lbf in",
        "0.17 N m · 1.5 lbf in",
        "8.3 times",
        "MET",
    )
    lines = text_table(headings, (row,))
    words = " ".join(lines).split()
    assert max(map(len, lines)) <= 76
    assert all(word in words for cell in (*headings, *row) for word in cell.split())


def test_a_table_has_as_many_cells_as_headings():
    with pytest.raises(RangeError, match="row 2"):
        Table(("a", "b"), (("1", "2"), ("3",)))


def test_a_table_of_too_many_columns_becomes_a_list_of_its_cells():
    wide = Table(tuple(f"column {n}" for n in range(20)), (tuple(str(n) for n in range(20)),))
    text = Post("Wide", (wide,)).text()
    assert "column 19: 19" in text
    assert max(map(len, text.split("\n"))) <= 76


PRIVATE = [
    (r"C:\Users\Eva Beispiel\Documents\log 3.csv", "log 3.csv"),
    (r"in C:\Users\Eva Beispiel\a.csv and D:\b.csv", "in a.csv and b.csv"),
    ("C:/Users/Eva Beispiel/logs/run.csv", "run.csv"),
    (r"\\workshop-pc\share\Eva\run.csv", "run.csv"),
    ("/home/eva/lathe/machine.toml", "machine.toml"),
    ("/Users/Eva Beispiel/lathe/run.csv is it", "run.csv is it"),
    ("~/lathe/run.csv", "run.csv"),
    ("~eva/run.csv", "run.csv"),
    ("/mnt/disk/eva/run.csv", "run.csv"),
    ("/tmp/machinelab/1a2b/record.jsonl", "record.jsonl"),
    ("it lies in /home/eva, there", "it lies in (folder left out), there"),
    (r"C:\Users\eva", "(folder left out)"),
    ("ask eva.b@example.org", "ask (address left out)"),
    ("a\u202eb\x00c\u200bd", "abcd"),
]
PLAIN = [
    "n/60 rev/s, 5/1/2024, 1/min, T/(J w)",
    "https://example.org/a/b.png",
    "3/4 in and 8 tpi, gears 24:60, 1:4",
    "w/o load; and/or; +/- 0.1",
    "t = -J/(b) ln(1 + b w/a)",
]


@pytest.mark.parametrize(("typed", "left"), PRIVATE)
def test_folders_names_and_addresses_are_left_out(typed, left):
    assert without_private(typed) == left


@pytest.mark.parametrize("typed", PLAIN)
def test_what_only_looks_like_a_path_stays(typed):
    assert without_private(typed) == typed


def test_the_name_of_the_account_is_left_out(monkeypatch):
    _account.cache_clear()
    monkeypatch.setattr(getpass, "getuser", lambda: "ebeispiel")
    monkeypatch.setattr(Path, "home", lambda: Path("/home/ebeispiel"))
    assert without_private("typed by EBeispiel") == "typed by (name left out)"
    _account.cache_clear()


@pytest.mark.parametrize("writer", WRITERS)
def test_nothing_private_slips_out_of_any_piece_of_a_post(writer):
    secret = r"C:\Users\Eva Beispiel\x.csv and /home/eva.beispiel/y.csv, eva@beispiel.example"
    block = Calculation(secret, ("t = 1",), (), "t = 1", secret, secret, secret, (secret,))
    table = Table((secret,), ((secret,),), secret)
    post = Post(secret, (Paragraph(secret), block, table, Notes((secret,), secret), Picture(secret)))
    assert not re.search("eva|beispiel", WRITERS[writer](post), re.IGNORECASE)


def test_keys_only_leaves_keys_only():
    for write in WRITERS.values():
        assert write(POST.with_blocks(Paragraph("± 5 Ω – “ρ” ≤ 3²"), Picture("ü")).with_keys_only()).isascii()
