"""The pieces of a panel: what is typed, slid, dropped or pressed, and what the person is told."""

import asyncio
import base64
import re
from datetime import UTC, datetime
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest

from machinelab.errors import LogError, MachinelabError, RangeError
from machinelab.units import Field
from machinelab.workbook.figures.base import WIDTH_PX, Chart
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.frame import no_picture
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.progress import LongTask
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity, nearest_position
from machinelab.workbook.panels.share_box import ShareBox
from machinelab.workbook.share import Paragraph, Picture, Post

LEAD = Field(name="Lead", kind="lead", low="0.1 mm", high="50 mm", example="8 tpi", help="Of the screw.")
SPEED = Field(name="Speed", kind="speed", low="0 rpm", high="3000 rpm", example="400 rpm")


@pytest.fixture
def lead():
    return ExactQuantity(LEAD, sweep=(Fraction(1), Fraction(127, 130), Fraction(3, 2)), own=Fraction(127, 40))


@pytest.fixture
def heard(lead):
    values = []
    lead.on_change(lambda: values.append(lead.value))
    return values


class Line(Chart):
    height_px = 120

    def lay_out(self):
        self.plot = self.axes(40, 10)
        (self.line,) = self.plot.plot([], [])
        self.moves(self.line)
        self.plot.set_xlim(0, 3000)
        self.plot.set_ylim(0, 3000)

    def update(self, result):
        self.line.set_data([0, result], [0, result])
        self.say(f"at {result:.0f}", "")


def refuse_above_2000(speed_rpm):
    if speed_rpm > 2000:
        raise RangeError("The chuck ends at 2000 rpm.")
    return speed_rpm


@pytest.fixture
def panel():
    return LivePanel(
        controls={"speed_rpm": Quantity(SPEED, sweep=[float(rpm) for rpm in range(0, 3001, 100)], own=400.0)},
        compute=refuse_above_2000,
        chart=Line(),
        sentence=lambda result: f"It turns at {result:.0f} rpm.",
    )


def test_a_quantity_starts_at_the_machine_as_built_and_says_so(lead):
    assert lead.value == Fraction(127, 40)
    assert lead.box.value == "8 tpi"
    assert "3.175 mm · 8 tpi" in lead.shown_back.value
    assert lead.sweep[lead.slider.value] == lead.value


def test_typing_moves_the_slider_and_shows_both_units(lead, heard):
    lead.box.value = "1 mm"
    assert heard == [1]
    assert lead.box.value == "1 mm"
    assert "25.4 tpi" in lead.shown_back.value
    assert lead.sweep[lead.slider.value] == 1


def test_sliding_writes_the_box_and_stays_exact(lead, heard):
    lead.slider.value = lead.sweep.index(Fraction(127, 130))
    assert heard == [Fraction(127, 130)]
    assert lead.box.value == "26 tpi"


def test_a_value_between_the_slider_positions_is_kept_as_typed(lead):
    lead.box.value = "1.1 mm"
    assert lead.value == Fraction(11, 10)


def test_what_cannot_be_read_is_answered_beside_the_box_and_the_value_stays(lead, heard):
    lead.box.value = "8"
    assert heard == []
    assert lead.value == Fraction(127, 40)
    assert lead.box.value == "8"
    assert "8 tpi" in lead.notice.value
    lead.box.value = "1 mm"
    assert "Please look" not in lead.notice.value


def test_one_press_goes_back_to_the_machine_as_built(lead, heard):
    lead.box.value = "1 mm"
    lead.as_built()
    assert heard == [1, Fraction(127, 40)]


def test_the_same_value_again_is_not_announced(lead, heard):
    lead.box.value = "3.175 mm"
    assert heard == []
    assert lead.box.value == "3.175 mm"


def test_typed_text_is_escaped_before_it_is_shown_back(lead):
    lead.box.value = "<b>8</b>"
    assert "<b>8" not in lead.notice.value


def test_an_ordinary_quantity_is_a_plain_number():
    speed = Quantity(SPEED, sweep=(100.0, 200.0), start=150.0)
    assert isinstance(speed.value, float)
    assert speed.value == 150.0


def test_every_end_of_a_slider_can_be_reached_and_is_allowed(lead):
    for position in (lead.slider.min, lead.slider.max):
        lead.slide_to(position)
        assert lead.value == lead.sweep[position]


def test_the_nearest_position_is_found():
    assert nearest_position([1, 2, 4, 8], 5) == 2
    assert nearest_position([1, 2, 4, 8], 100) == 3


def test_a_choice_gives_what_its_words_stand_for():
    choice = Choice("Meter", {"counts": 1, "times": 2})
    heard = []
    choice.on_change(lambda: heard.append(choice.value))
    choice.choose("times")
    assert heard == [2]


def test_a_panel_shows_picture_and_meaning_from_the_start(panel):
    assert 'alt="at 400"' in panel.picture.value
    assert "It turns at 400 rpm." in panel.meaning.value


def test_moving_a_control_moves_picture_and_meaning(panel):
    panel.controls["speed_rpm"].type_in("1500 rpm")
    assert 'alt="at 1500"' in panel.picture.value
    assert "It turns at 1500 rpm." in panel.meaning.value


def test_a_refused_calculation_is_told_and_the_last_good_picture_stays(panel):
    panel.controls["speed_rpm"].type_in("1500 rpm")
    before = panel.picture.value
    panel.controls["speed_rpm"].type_in("2500 rpm")
    assert panel.picture.value == before
    assert "The chuck ends at 2000 rpm." in panel.notice.value
    panel.controls["speed_rpm"].type_in("1000 rpm")
    assert "chuck" not in panel.notice.value
    assert 'alt="at 1000"' in panel.picture.value


def test_a_mistake_in_the_program_is_not_hidden(panel):
    panel.compute = lambda speed_rpm: 1 / 0
    with pytest.raises(ZeroDivisionError):
        panel.controls["speed_rpm"].slide_to(7)


def test_the_place_of_a_picture_has_its_shape_before_there_is_one_and_after(panel):
    assert f"aspect-ratio: {WIDTH_PX} / {Line.height_px}" in no_picture(panel.chart)
    assert f'width="{WIDTH_PX}" height="{Line.height_px}"' in panel.picture.value


def pairs(content, name):
    text = content.decode() if isinstance(content, bytes) else content
    try:
        return np.array([[float(part) for part in line.split()] for line in text.splitlines()])
    except ValueError:
        raise LogError("Two numbers in a line, please.") from None


@pytest.fixture
def entry():
    return Entry(
        "Readings",
        reader=pairs,
        describe=lambda readings: f"{len(readings)} readings understood.",
        example="0 1000",
        accept=".csv",
    )


def test_typed_readings_are_read_and_counted(entry):
    heard = []
    entry.on_change(lambda: heard.append(entry.readings.shape))
    entry.box.value = "0 1000\n1 950"
    assert heard == [(2, 2)]
    assert "2 readings understood." in entry.understood.value


def test_a_dropped_file_is_read_by_the_same_reader(entry):
    content = memoryview(b"0 1000\n1 950\n2 900")
    file = {"name": "log.csv", "type": "", "size": len(content), "content": content}
    entry.file.value = (file | {"last_modified": datetime(2024, 5, 1, tzinfo=UTC)},)
    assert entry.readings.shape == (3, 2)


def test_unreadable_readings_are_answered_and_the_last_good_ones_stay(entry):
    entry.take("0 1000")
    entry.take("zero thousand")
    assert entry.readings.shape == (1, 2)
    assert "Two numbers in a line" in entry.notice.value


def test_an_emptied_box_changes_nothing(entry):
    entry.box.value = "0 1000"
    entry.box.value = ""
    assert entry.readings.shape == (1, 2)


def counting(to):
    total = 0
    for step in range(to):
        total += step
        yield (step + 1) / to, f"step {step + 1} of {to}"
    return total


def test_long_work_ends_with_its_result():
    kept = []
    task = LongTask("go", lambda: counting(10), kept.append)
    assert task.run_to_end() == 45
    assert kept == [45]
    assert task.bar.value == 1
    assert task.stop.disabled


def test_long_work_can_be_stopped_and_then_keeps_nothing():
    kept = []
    task = LongTask("go", lambda: counting(1000), kept.append)

    async def start_then_stop():
        run = asyncio.ensure_future(task.run())
        for _ in range(5):
            await asyncio.sleep(0)
        task.ask_to_stop()
        await run

    asyncio.run(start_then_stop())
    assert kept == []
    assert task.result is None
    assert "Stopped" in task.told.value
    assert not task.start.disabled


def test_work_that_refuses_says_why():
    def refusing():
        yield 0.5, "half way"
        raise MachinelabError("The panel has no such switch.")

    task = LongTask("go", refusing, lambda result: None)
    task.run_to_end()
    assert "no such switch" in task.told.value
    assert not task.start.disabled


def test_text_to_share_stands_in_a_named_box_with_a_copy_button():
    html = ShareBox(Post("t = 3.3 s <ok>"), name="05").widget.value
    name = "For a forum that takes BBCode"
    assert f'<textarea readonly aria-label="{name}">[b]t = 3.3 s &lt;ok&gt;[/b]</textarea>' in html
    assert html.count(">copy</button>") == 3


def test_every_file_of_a_post_can_be_saved_from_its_link_and_a_picture_has_its_words_beside_it():
    post = Post("Coast-down", (Picture("it stops in 5 s", b"\x89PNG\r\n\x1a\n"), Paragraph("slow")))
    box = ShareBox(post, name="05 lathe <of Eva>")
    names = re.findall(r'download="([^"]*)"', box.widget.value)
    assert names == [f"05-lathe-of-Eva.{end}" for end in ("html", "bbcode.txt", "md", "txt", "png")]
    carried = re.findall(r'href="data:[^;]+;base64,([^"]*)"', box.widget.value)
    assert [base64.b64decode(one) for one in carried] == [file.content for file in box.files]
    assert ">it stops in 5 s</textarea>" in box.widget.value


@pytest.mark.parametrize("kind", ["panel", "entry"])
def test_a_piece_shows_itself_as_a_widget(kind, request):
    piece = request.getfixturevalue(kind)
    assert "application/vnd.jupyter.widget-view+json" in piece._repr_mimebundle_()


def test_a_result_can_be_any_object():
    panel = LivePanel(
        controls={},
        compute=lambda: SimpleNamespace(value=3),
        chart=SimpleNamespace(update=lambda result: None, live_html=lambda: "picture", height_px=10),
        sentence=lambda result: str(result.value),
    )
    assert panel.result.value == 3
