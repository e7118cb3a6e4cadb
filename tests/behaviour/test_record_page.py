"""Page 16: the record read as a whole, corrected, withdrawn, followed over time, and printed."""

import base64
import json
import math
import re
import shutil
import tempfile
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path
from simulate.demo_record import FREE_RUN, write_year

from machinelab.errors import RangeError, RecordError
from machinelab.workbook import machine as machines
from machinelab.workbook.card.lettering import POINT_MM
from machinelab.workbook.card.paper import HIGH_MM, PAPERS_MM, WIDE_MM
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.history import QuantityHistory
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.record import NO_MEASUREMENT, RecordPage
from machinelab.workbook.pages.start import StartPage
from machinelab.workbook.panels.correction import CHOOSE, NOTHING_YET, CorrectionBox
from machinelab.workbook.panels.history import history_panel
from machinelab.workbook.record import Record
from machinelab.workbook.record.history import histories, set_aside, sheet_rows
from machinelab.workbook.record.line import Line
from machinelab.workbook.record.sample import FILE_NAME, sample_lines
from machinelab.workbook.report.files import report_files
from machinelab.workbook.report.page import page as report_page
from machinelab.workbook.report.sheet import figures, pdf
from machinelab.workbook.verdict import agrees

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
NASTY = (
    "<script>alert(1)</script>",
    "$\\frac{x}{",
    "'\"><img src=x onerror=1>",
    "\u202eevil\u202c \x00\x07\x1b[31m",
    "日本語 🔧 ﷽",
    "W" * 900,
    "a b " * 900,
    "&lt;b&gt; {paper} %s {{}}",
    "/home/somebody/lathe/run 7.csv",
    "   ",
)
# What changes whenever the demo's machine file does.
OF_THE_MACHINE = ("machine_state", "built", "prev", "conditions")


@pytest.fixture(autouse=True)
def _own_temporary_files(tmp_path_factory, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path_factory.mktemp("scratch")))


@pytest.fixture
def own(tmp_path):
    """A machine of one's own, as the demo is built."""
    folder = tmp_path / "old-lathe"
    folder.mkdir()
    shutil.copy(DEMO / "machine.toml", folder)
    return folder


@pytest.fixture
def record(own):
    return Record(own)


@pytest.fixture
def page(own):
    write_year(own)
    return RecordPage(machines.load(own))


def stop_time(record, value, uncertainty=0.3, **more):
    limit = {"upper": 40.0, "where_from": "own choice"}
    return record.add("05", "stop time", value=value, uncertainty=uncertainty, unit="s", **limit, **more)


class Elements(HTMLParser):
    """Elements and attributes of a page, and that every one that was opened is closed."""

    def __init__(self):
        super().__init__()
        self.elements, self.attributes, self.open = set(), {}, []

    def handle_starttag(self, tag, attrs):
        self.elements.add(tag)
        self.attributes |= dict(attrs)
        if tag not in ("meta", "br", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_sheet_holds_each_quantity_once_and_leaves_out_what_was_corrected_or_withdrawn(record):
    wrong = stop_time(record, 3.09)
    stop_time(record, 30.9, replaces=wrong.id, notes="point in the wrong place")
    rubbed = stop_time(record, 24.1)
    record.void(rubbed.id, "the chuck rubbed")
    record.add("02", "lamp goes out", verdict="MET", photo=["lamp.png"])
    lines = record.lines()
    lamp, stop = sheet_rows(lines)
    assert lamp[1:6] == ("02 lamp goes out", "no limit", "-", "-", "MET")
    assert lamp[7] == "lamp.png"
    assert stop[:4] == ("0002", "05 stop time", "at most 40 s; own choice", "30.9 s +/- 0.3 (k=2)")
    corrected, withdrawn = set_aside(lines)
    assert "was corrected by 0002" in corrected
    assert "point in the wrong place" in corrected
    assert "was withdrawn" in withdrawn
    assert withdrawn.endswith("the chuck rubbed")
    (only,) = histories(lines).values()
    assert [one.value for one in only.measurements] == [30.9]


@pytest.mark.parametrize(
    ("last", "change", "words"),
    [
        (30.5, 1.0, "no change since"),
        (30.6, 1.2, "has risen since"),
        (29.3, 1.4, "has fallen since"),
        (30.0, 0.0, "no change since"),
    ],
)
def test_a_change_is_proven_only_beyond_both_uncertainties(record, last, change, words):
    """0.3 and 0.4 are the legs of a triangle whose longest side is 0.5."""
    stop_time(record, 30.0, 0.3)
    stop_time(record, last, 0.4)
    (found,) = histories(record.lines()).values()
    assert found.least_change == pytest.approx(0.5)
    assert found.change == pytest.approx(change)
    assert words in found.headline


@pytest.mark.parametrize(("first", "last"), [(30.0, 31.7), (5.0, 5.1), (0.118, 0.123), (-3.0, 3.0)])
def test_the_change_is_what_a_prediction_would_be_judged_by(record, first, last):
    stop_time(record, first, 0.7)
    stop_time(record, last, 0.2)
    (found,) = histories(record.lines()).values()
    other_way = agrees(last, uncertainty=0.2, predicted=first, predicted_uncertainty=0.7)
    assert found.change == pytest.approx(other_way.e_n)


def test_measurements_without_an_uncertainty_prove_no_change(record):
    for value in (1.0, 900.0):
        record.add("13", "distance", value=value, unit="mm")
    (found,) = histories(record.lines()).values()
    assert math.isnan(found.change)
    assert "without their U" in found.headline
    assert isinstance(QuantityHistory.draw(found), Picture)


def test_a_line_with_a_time_that_cannot_be_read_stands_on_the_sheet_and_not_over_time(record):
    line = stop_time(record, 30.0)
    lost = Line.model_validate(json.loads(line.text()) | {"time": "last spring"})
    assert histories([lost]) == {}
    assert sheet_rows([lost])[0][3] == "30.0 s +/- 0.3 (k=2)"


def test_the_sample_year_is_what_its_script_writes(own):
    written = [json.loads(line.text()) for line in write_year(own).lines()]
    stored = [json.loads(line.text()) for line in sample_lines(DEMO)]
    for line in (*written, *stored):
        for key in OF_THE_MACHINE:
            line.pop(key, None)
    assert written == stored


def test_the_last_run_of_the_sample_agrees_with_the_demos_own_log():
    line = CoastDownPage(machines.load(DEMO)).record_line()
    last = histories(sample_lines(DEMO))[f"05 {FREE_RUN}"].last
    assert line["quantity"] == FREE_RUN
    found = agrees(
        last.value,
        uncertainty=last.uncertainty,
        predicted=line["value"],
        predicted_uncertainty=line["uncertainty"],
    )
    assert found.agrees


def test_the_demo_shows_its_sample_as_invented_until_a_line_is_written():
    page = RecordPage(machines.load(DEMO))
    assert "INVENTED" in page.about().text
    assert page.record_line() is None
    assert "INVENTED" in page.post().text()
    assert "INVENTED" in report_page(page.report())
    stop_time(Record(DEMO), 30.0)
    assert not page.is_sample
    assert "INVENTED" not in page.about().text
    assert [line.quantity for line in page.lines] == ["stop time"]


def test_the_page_counts_what_is_settled_open_and_not_begun(page):
    counted = page.compared().iloc[1:, 0].tolist()
    assert [int(one) for one in counted] == [7, 4, 4]
    assert page.decision().text.count("NOT MET") == 3
    assert "Next check: 2027-11-21." in page.decision().text
    page.next_check.choose("three months")
    assert "Next check: 2027-02-21." in page.decision().text
    assert RecordPage(page.machine).next_check.text == "three months"


def test_the_page_tells_when_a_line_was_changed_behind_its_back(page):
    assert "all of them fit" in page.about().text
    record = Record(page.machine.folder)
    record.path.write_bytes(record.path.read_bytes().replace(b"31.6", b"30.6"))
    assert "does not follow" in page.about().text


@pytest.mark.parametrize("machine", ["metric", "nothing"])
def test_an_empty_record_gets_kind_words_everywhere(machine):
    page = RecordPage(machines.load(METRIC) if machine == "metric" else machines.empty())
    assert page.picture() is NO_MEASUREMENT
    assert page.working() is NO_MEASUREMENT
    assert page.panel() is NO_MEASUREMENT
    assert "empty" in page.sheet().text
    assert page.record_line() is None
    assert page.post() is None
    assert "The record is empty" in report_page(page.report())
    assert isinstance(page.report_picture(), Picture)


def test_a_slip_is_corrected_by_a_new_line_and_the_limit_stays(record):
    stop_time(record, 3.09, conditions={"oil": "cold"})
    box = CorrectionBox(record)
    box.list.value = box.list.options[1]
    assert box.value.value == "3.09 s"
    box.value.value, box.uncertainty.value, box.why.value = "30.9 s", "400 ms", "point in the wrong place"
    box.correct_button.click()
    assert "Please look" not in box.notice.value
    assert "Line 0002 now stands in the place of 0001" in box.answer.value
    line = record.lines_in_force()[0]
    assert (line.measured.value, line.measured.U, line.limit.upper) == (30.9, 0.4, 40.0)
    assert (line.replaces, line.notes, line.conditions) == (
        "0001",
        "point in the wrong place",
        {"oil": "cold"},
    )
    assert record.check_chain() == 2
    assert len(box.list.options) == 2


def test_a_line_is_withdrawn_with_its_reason(record):
    stop_time(record, 24.1)
    box = CorrectionBox(record)
    box.list.value = box.list.options[1]
    box.withdraw_button.click()
    assert "Say why" in box.notice.value
    box.why.value = "the chuck rubbed on its guard"
    box.withdraw_button.click()
    assert "withdrawn" in box.answer.value
    assert record.lines_in_force() == ()
    assert list(box.list.options) == [CHOOSE]


@pytest.mark.parametrize(
    ("value", "uncertainty", "why", "words"),
    [
        ("30.9", "0.3 s", "slip", "has no unit"),
        ("30.9 mm", "0.3 s", "slip", "Right value"),
        ("30.9 s", "", "slip", "Its uncertainty"),
        ("30.9 s", "0 s", "slip", "half the last digit"),
        ("30.9 s", "0.3 s", " ", "Say why"),
    ],
)
def test_what_cannot_be_a_correction_is_told_and_nothing_is_written(record, value, uncertainty, why, words):
    stop_time(record, 3.09)
    box = CorrectionBox(record)
    box.correct()
    assert "No line is chosen" in box.notice.value
    box.list.value = box.list.options[1]
    box.value.value, box.uncertainty.value, box.why.value = value, uncertainty, why
    box.correct()
    assert words in box.notice.value
    assert len(record.lines()) == 1


def test_a_check_without_a_number_can_only_be_withdrawn(record):
    record.add("02", "lamp goes out", verdict="MET")
    box = CorrectionBox(record)
    box.list.value = box.list.options[1]
    box.why.value = "it was the other lamp"
    box.correct()
    assert "no measured value" in box.notice.value
    box.withdraw()
    assert record.lines_in_force() == ()


def test_an_empty_record_has_nothing_to_correct(record):
    assert NOTHING_YET in CorrectionBox(record).answer.value


def test_every_quantity_can_be_chosen_and_changes_the_picture(page):
    panel = history_panel(page.histories)
    shown = set()
    for name in page.histories:
        panel.controls["quantity"].choose(name)
        shown.add((panel.picture.value, panel.meaning.value))
    assert len(shown) == len(page.histories)


@pytest.mark.slow
def test_a_moved_history_shows_exactly_what_a_fresh_one_shows(page):
    kept, *others = page.histories.values()
    chart = QuantityHistory()
    for history in (*others, kept):
        chart.update(history)
        assert chart.picture().png == QuantityHistory.draw(history).png


@pytest.mark.parametrize("scale", [1e-9, 1.0, 1e9])
def test_a_far_limit_is_named_and_a_near_one_drawn(page, scale):
    def sized(history):
        doubts = [
            replace(one, value=one.value * scale, uncertainty=one.uncertainty * scale) for one in history
        ]
        return tuple(doubts)

    found = page.histories[f"05 {FREE_RUN}"]
    chart = QuantityHistory()
    chart.update(replace(found, measurements=sized(found.measurements), upper=2.5 * scale))
    assert "below this picture" in chart.limit_words["above"].get_text()
    chart.update(replace(found, measurements=sized(found.measurements), upper=32.0 * scale))
    assert "picture" not in chart.limit_words["above"].get_text()
    low, high = chart.plot.get_ylim()
    assert low < 32.0 * scale < high


@pytest.mark.parametrize("apart", [timedelta(seconds=1), timedelta(hours=5), timedelta(days=200)])
def test_days_or_hours_are_told_apart_inside_the_picture_and_no_words_hide_a_measurement(record, apart):
    written = [stop_time(record, value) for value in (29.3, 29.5, 27.2)]
    begun = datetime(2026, 3, 29, 0, 30, tzinfo=timezone(timedelta(hours=2)))
    lines = [
        line.model_copy(update={"time": (begun + number * apart).isoformat()})
        for number, line in enumerate(written)
    ]
    chart = QuantityHistory()
    chart.update(histories(lines)["05 stop time"])
    chart.figure.canvas.draw()
    axis, edges = chart.plot.xaxis, chart.figure.bbox
    low, high = chart.plot.get_xlim()
    shown = [
        label
        for at, label in zip(axis.get_ticklocs(), axis.get_ticklabels(), strict=True)
        if low <= at <= high
    ]
    assert len({label.get_text() for label in shown}) == len(shown) > 1
    assert all(edges.x0 <= label.get_window_extent().x0 for label in shown)
    assert all(label.get_window_extent().x1 <= edges.x1 for label in shown)
    words = chart.band_words.get_window_extent()
    for line in (chart.values, chart.last, chart.ends):
        at = chart.plot.transData.transform(np.column_stack(line.get_data()))
        assert not words.count_contains(at)


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_report_holds_all_that_was_measured_and_carries_everything_along(page, paper):
    text = report_page(page.report(), paper)
    found = Elements()
    found.feed(text)
    assert found.open == []
    assert found.attributes["lang"] == "en"
    assert not found.elements & {"script", "img", "link", "iframe", "a", "form", "input", "object"}
    assert "http" not in text
    assert "url(" not in text
    assert f"@page{{size:{paper};" in text
    for row in sheet_rows(page.lines):
        for cell in row:
            assert cell.replace("'", "&#x27;") in text
    for word in (
        "Take the key out of the chuck",
        "certifies nothing",
        "Next check",
        "Leadscrew",
        "was withdrawn",
    ):
        assert word in text
    assert str(page.machine.folder) not in text


@pytest.mark.parametrize(("paper", "box"), [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))])
def test_the_report_opens_as_pdf_on_its_paper(page, paper, box):
    content = pdf(page.report(), paper)
    assert content.startswith(b"%PDF-1.")
    assert content.rstrip().endswith(b"%%EOF")
    assert len(re.findall(rb"/Type\s*/Page\b", content)) == len(list(figures(page.report(), paper)))
    found = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", content)
    assert [float(side) for side in found.groups()] == pytest.approx(box, abs=0.1)
    assert b"/FontFile2" in content
    assert b"/CreationDate" not in content


def boxes_mm(figure, paper):
    """Left, right, top and foot of each line of a sheet, by the drawing library's own measure."""
    wide, high = PAPERS_MM[paper]
    for text in figure.texts:
        size, (x, y) = text.get_size(), text.get_position()
        kind = FontProperties(family="DejaVu Sans", size=size, weight=text.get_weight())
        length = text_to_path.get_text_width_height_descent(text.get_text(), kind, ismath=False)[0] * POINT_MM
        base = (1 - y) * high
        yield x * wide, x * wide + length, base - 0.72 * size * POINT_MM, base


def check_sheets(report, paper):
    wide, high = PAPERS_MM[paper]
    left, top = (wide - WIDE_MM) / 2, (high - HIGH_MM) / 2
    for figure in figures(report, paper):
        boxes = np.array(list(boxes_mm(figure, paper)))
        assert boxes[:, 0].min() >= left - 1e-9
        assert boxes[:, 1].max() <= left + WIDE_MM + 0.05
        assert boxes[:, 2].min() >= top - 0.05
        assert boxes[:, 3].max() <= top + HIGH_MM
        for place, one in enumerate(boxes):
            rest = boxes[place + 1 :]
            apart = (
                (one[1] <= rest[:, 0])
                | (rest[:, 1] <= one[0])
                | (one[3] <= rest[:, 2])
                | (rest[:, 3] <= one[2])
            )
            assert apart.all()


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_no_two_lines_of_the_report_overlap_and_all_are_inside_the_printed_area(page, paper):
    check_sheets(page.report(), paper)


@pytest.mark.slow
@pytest.mark.parametrize("name", NASTY, ids=lambda name: ascii(name)[:20])
def test_nothing_that_was_typed_acts_as_anything_but_text(record, name):
    machines.save(
        {"machine.name": name[:100].replace("\x00", "").replace("\x07", "").replace("\x1b", "") or "x"},
        record.folder,
    )
    limit = {"upper": 40.0, "where_from": name if name.strip() else "own choice"}
    first = record.add(
        "05", name, value=30.0, uncertainty=0.3, unit=name[:20], **limit, notes=name, photo=[name]
    )
    record.add(
        "05", name, value=31.0, uncertainty=0.3, unit=name[:20], **limit, replaces=first.id, notes=name
    )
    record.add("05", "other", instrument={"name": name}, verdict="NOT MET")
    page = RecordPage(machines.load(record.folder))
    found = Elements()
    found.feed(report_page(page.report()))
    assert not found.elements & {"script", "img"}
    assert "onerror" not in found.attributes
    assert "somebody" not in report_page(page.report())
    check_sheets(page.report(), "A4")
    for history in page.histories.values():
        QuantityHistory.draw(history)
    assert page.post().bbcode()
    page.sheet(), page.standing(), page.decision(), page.set_aside(), page.changes()


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_nothing_private_leaves_with_the_report(record, paper):
    private = r"see C:\Users\somebody\run.csv, /home/somebody/run.csv, ask somebody@example.org"
    machines.save({"machine.name": private}, record.folder)
    record.add("05", private, instrument={"name": private}, verdict="NOT MET", notes=private, photo=[private])
    report = RecordPage(machines.load(record.folder)).report()
    drawn = " ".join(text.get_text() for sheet in figures(report, paper) for text in sheet.texts)
    contents = report_files(report, paper).values()
    assert "run.csv" in drawn
    assert "somebody" not in drawn
    assert not any(b"somebody" in content or str(record.folder).encode() in content for content in contents)


def test_an_unknown_paper_is_refused(page):
    with pytest.raises(RangeError, match="no paper 'A5'"):
        report_files(page.report(), "A5")


def test_the_buttons_write_the_report_into_the_machines_folder(page):
    box = page.report_box
    box.buttons["Letter"].click()
    names = ["commissioning_report_Letter.html", "commissioning_report_Letter.pdf"]
    assert sorted(file.name for file in (page.machine.folder / "out").iterdir()) == names
    data = re.search('data:application/pdf;base64,([^"]+)', box.answer.value)[1]
    assert base64.b64decode(data).startswith(b"%PDF")


def test_the_demos_report_goes_among_the_temporary_files():
    before = sorted(DEMO.rglob("*"))
    page = RecordPage(machines.load(DEMO))
    page.report_box.write("A4")
    assert sorted(DEMO.rglob("*")) == before
    assert list(Path(tempfile.gettempdir()).rglob("commissioning_report_A4.pdf"))


def test_the_look_through_is_a_line_of_its_own(page):
    record = Record(page.machine.folder)
    page.record_box.write()
    assert record.state_of("16").word == "RECORDED"
    assert record.lines()[-1].conditions["next check"] == "2027-11-21"


def test_a_sample_that_was_spoilt_is_told_in_our_own_words(own):
    (own / FILE_NAME).write_text("no line\n", encoding="utf-8")
    with pytest.raises(RecordError, match="Line 1"):
        sample_lines(own)
    assert RecordPage(machines.load(own)).lines == ()


LINES = st.lists(
    st.tuples(
        st.sampled_from(["05", "11"]),
        st.sampled_from(["a", "b"]),
        st.floats(-1e6, 1e6),
        st.none() | st.floats(1e-6, 1e6),
        st.sampled_from(["s", "mm", ""]),
        st.integers(0, 9),
    ),
    min_size=1,
    max_size=8,
)


@pytest.mark.slow
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=LINES)
def test_whatever_was_measured_is_drawn_and_printed(own, lines):
    record = Record(own)
    record.path.unlink(missing_ok=True)
    for step, quantity, value, doubt, unit, act in lines:
        known = [line.id for line in record.lines()]
        line = record.add(step, quantity, value=value, uncertainty=doubt, unit=unit)
        if act == 0:
            record.void(line.id, "no good")
        if act == 1 and known:
            record.add(step, quantity, value=value, uncertainty=doubt, unit=unit, replaces=known[0])
    page = RecordPage(machines.load(own))
    for history in page.histories.values():
        assert QuantityHistory.draw(history).alt
    gone = {line.replaces or line.void for line in record.lines()}
    assert not gone & {row[0] for row in sheet_rows(record.lines())}
    assert list(figures(page.report()))


def test_a_step_recorded_before_a_change_of_the_machine_says_which_line_and_from_what_to_what(own):
    record = Record(own)
    before = stop_time(record, 30.0)
    assert before.built == {"spindle.highest_speed": "1400 rpm"}
    page = RecordPage(machines.load(own))
    assert page.summary.outdated == ()
    machines.save({"spindle.highest_speed": "1200 rpm", "meter.lag": "2 s"}, own)
    page = RecordPage(machines.load(own))
    (told,) = page.summary.outdated
    assert told.startswith("05 coast-down")
    assert "was 1400 rpm, is 1200 rpm" in told
    assert "Lag" not in told
    row = next(line for line in str(StartPage(page.machine).steps()).splitlines() if line.startswith("| [05"))
    assert "Recorded before a change" in row
    assert "was 1400 rpm, is 1200 rpm" in row
    stop_time(record, 29.0)
    assert RecordPage(page.machine).summary.outdated == ()


def test_the_same_line_written_in_another_unit_is_no_change(own):
    record = Record(own)
    record.add("07", "lead error", value=30.0, uncertainty=80.0, unit="ppm")
    machines.save({"leadscrew.lead": "3.175 mm"}, own)
    assert RecordPage(machines.load(own)).summary.outdated == ()
    machines.save({"leadscrew.lead": "10 tpi"}, own)
    assert "8 tpi" in RecordPage(machines.load(own)).summary.outdated[0]


def test_a_correction_was_measured_on_the_machine_of_its_day(own):
    record = Record(own)
    first = stop_time(record, 3.0)
    machines.save({"spindle.highest_speed": "1200 rpm"}, own)
    assert stop_time(record, 30.0, replaces=first.id).built == first.built
    assert len(RecordPage(machines.load(own)).summary.outdated) == 1


def test_a_machine_file_that_cannot_be_read_keeps_no_line_from_being_written(own):
    (own / "machine.toml").write_text("[leadscrew]\nlead = '8'\n", encoding="utf-8")
    assert stop_time(Record(own), 30.0).built is None
