"""What every page shows to others and writes into the record, on the demo machine with its readings."""

import importlib
import io
import pkgutil
import re

import pytest
from PIL import Image

from machinelab.workbook import machine as machines
from machinelab.workbook import pages
from machinelab.workbook.figures.base import WIDTH_PX
from machinelab.workbook.pages.page import Page
from machinelab.workbook.record import Record
from machinelab.workbook.share import Calculation, Picture
from machinelab.workbook.share.files import post_files
from machinelab.workbook.verdict import WORDS

pytestmark = pytest.mark.slow

LARGEST_PICTURE_BYTES = 250_000
# They describe what is built, wired or written down: no number is measured that could be judged.
SHEETS = {"MachineAsBuiltPage", "ControlBoxPage", "RecordPage"}
# Of these nothing is computed before it is measured: geometry as found, a lost motion, a meter's scale.
FIRST_MEASURED = {
    "AlignmentPage",
    "BacklashPage",
    "CoastDownPage",
    "MillPage",
    "MotorAndPulleysPage",
    "SpeedMeterPage",
}
WITH_LOGS = {"CoastDownPage", "InertiaPage", "ResistorBrakePage", "SpeedMeterPage"}


def every_page() -> list[type[Page]]:
    """The pages that notebooks open, found by looking: those that no other page builds on, with a post."""
    for found in pkgutil.iter_modules(pages.__path__):
        importlib.import_module(f"{pages.__name__}.{found.name}")
    kinds, waiting = [], [Page]
    while waiting:
        below = waiting.pop().__subclasses__()
        kinds += [kind for kind in below if "post" in vars(kind)]
        waiting += below
    return sorted(kinds, key=lambda kind: (kind.step, kind.__name__))


PAGES = every_page()
kinds = pytest.mark.parametrize("kind", PAGES, ids=lambda kind: kind.__name__)
measuring = pytest.mark.parametrize(
    "kind", [kind for kind in PAGES if kind.__name__ not in SHEETS], ids=lambda kind: kind.__name__
)


@pytest.fixture(scope="module")
def opened():
    """Every page once, on the demo machine."""
    demo, known = machines.load("demo"), {}

    def page(kind):
        if kind not in known:
            known[kind] = kind(demo)
        return known[kind]

    return page


def test_every_step_but_the_first_shares_something():
    assert {kind.step for kind in PAGES} == {f"{number:02d}" for number in range(1, 17)}


@kinds
def test_a_post_has_its_picture_at_the_width_of_a_forum_small_and_with_words(kind, opened):
    post = opened(kind).shared()
    pictures = [block for block in post.blocks if isinstance(block, Picture)]
    files = [file for file in post_files(post, kind.step) if file.name.endswith(".png")]
    assert pictures
    assert len(files) == len(pictures)
    for file in files:
        drawn = Image.open(io.BytesIO(file.content))
        assert drawn.width == WIDTH_PX
        assert not drawn.info
        assert not drawn.getexif()
        assert len(file.content) < LARGEST_PICTURE_BYTES
        assert len(file.alt) > 40


@kinds
def test_a_post_has_formula_numbers_result_source_meaning_and_what_was_assumed(kind, opened):
    post = opened(kind).shared()
    shown = [block for block in post.blocks if isinstance(block, Calculation)]
    assert shown
    for block in shown:
        assert block.formula
        assert block.numbers
        assert any(re.search(r"\d", line) for line in block.numbers)
        assert block.result
        assert block.source
    assert any(block.assumptions for block in shown)
    assert all(block.meaning for block in shown)
    for written in (post.text(), post.bbcode(), post.markdown(), post.html()):
        assert "Taken for granted:" in written
        assert "Source: " in written


@measuring
def test_a_post_tells_verdict_and_instrument(kind, opened):
    text = opened(kind).shared().text()
    assert any(f"Verdict: {word}" in text for word in WORDS)
    assert "Instrument: " in text


@kinds
def test_no_mark_of_markdown_is_left_in_plain_words(kind, opened):
    post = opened(kind).shared()
    for written in (post.text(), post.bbcode()):
        assert not re.search(r"\*\*|\\[-*_\[]|`|&(?:lt|gt|amp|quot);|<[a-z/]", written)


@measuring
def test_a_line_of_the_record_has_all_its_parts(kind, opened):
    line = opened(kind).line_with_data()
    assert line["value"] is not None
    assert line["uncertainty"] > 0
    assert line["unit"]
    assert line["instrument"]["name"]
    limited = line.get("lower") is not None or line.get("upper") is not None
    assert bool(line.get("where_from")) == limited
    assert ("predicted" in line) == (kind.__name__ not in FIRST_MEASURED)
    if "predicted" in line:
        assert line["formula"]
    names = [one.name for one in line["data"]]
    assert all(re.fullmatch("[0-9a-f]{64}", one.sha256) for one in line["data"])
    assert any(name.endswith(".csv") for name in names) == (kind.__name__ in WITH_LOGS)


@kinds
def test_a_line_can_be_written_and_read_back_whole(kind, opened, tmp_path):
    line = opened(kind).line_with_data()
    if line is None:
        assert kind.__name__ == "RecordPage"
        return
    stored = Record(tmp_path).add(**line)
    (read,) = Record(tmp_path).lines()
    assert read == stored
    assert [one.sha256 for one in read.data] == [one.sha256 for one in line.get("data", ())]


@kinds
def test_nothing_of_this_computer_stands_in_any_file_of_a_post(kind, opened):
    folder = str(machines.load("demo").folder.parent).encode()
    for file in post_files(opened(kind).shared(), kind.step):
        assert folder not in file.content
        assert b"/home/" not in file.content
        assert b"<script" not in file.content
