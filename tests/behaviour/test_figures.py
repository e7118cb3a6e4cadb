"""Figures: laid out once, then moved; what is drawn after a move is what a fresh figure would show."""

import io
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image
from simulate.axis_readings import AxisTruth, table_lines
from simulate.brake_log import BrakedTruth, write_braked_log
from simulate.coast_log import Display, Truth, write_log
from simulate.meter_log import write_step_log
from simulate.motor_bench import tables as motor_readings
from simulate.own_stops import stops_past_mark

from machinelab.spindle.brake_fit import fit_braked
from machinelab.spindle.coastdown import fit
from machinelab.spindle.meter_step import fit_step
from machinelab.workbook.brake_numbers import brake_numbers
from machinelab.workbook.braked_result import BrakedResult
from machinelab.workbook.figures.alignment import AxisFromAbove, RunoutRound
from machinelab.workbook.figures.backlash import PositionErrors, TakeUp
from machinelab.workbook.figures.base import WIDTH_PX, Picture, png, show
from machinelab.workbook.figures.brake import BrakeStop
from machinelab.workbook.figures.braked_run import BrakedRun
from machinelab.workbook.figures.coastdown import CoastDown
from machinelab.workbook.figures.collars import CollarBar
from machinelab.workbook.figures.drive_chain import DriveChainDrawing
from machinelab.workbook.figures.encoder import EncoderLimits
from machinelab.workbook.figures.gearing import RatioWhatIf, ThreadErrors
from machinelab.workbook.figures.inertia import InertiaRoutes
from machinelab.workbook.figures.marks import MarkPlaces, MarkSuspects
from machinelab.workbook.figures.motor import DriveEnvelope
from machinelab.workbook.figures.motor_bench import MotorBenchChart
from machinelab.workbook.figures.own_stops import OwnStopsChart
from machinelab.workbook.figures.shoulder import ShoulderStop
from machinelab.workbook.figures.speed_meter import MeterDelay, MeterScaleChart, MeterStepChart
from machinelab.workbook.figures.stepper import StepperBands, StepperTorque
from machinelab.workbook.inertia_routes import BRAKE, DISC, READINGS, InertiaFound, Route
from machinelab.workbook.machine import empty, load
from machinelab.workbook.measured import with_interval
from machinelab.workbook.meter_results import StepResult, scale_result
from machinelab.workbook.own_stops import TURNS, own_stops
from machinelab.workbook.pages.alignment import AlignmentPage
from machinelab.workbook.pages.backlash import BacklashPage
from machinelab.workbook.pages.marks import MarksPage
from machinelab.workbook.pages.motor_and_pulleys import MotorAndPulleysPage
from machinelab.workbook.pages.scratch import ScratchPage
from machinelab.workbook.pages.stepper import StepperPage
from machinelab.workbook.panels.brake import Wanted, view_brake
from machinelab.workbook.panels.drive_chain import drive_chain
from machinelab.workbook.panels.encoder import EncoderFit, choose_encoder
from machinelab.workbook.panels.gearing import Gearing, choose_ratio
from machinelab.workbook.panels.own_stops import StopsShown
from machinelab.workbook.panels.shoulder import as_set, view_shoulder
from machinelab.workbook.panels.speed_meter import view_meter
from machinelab.workbook.shoulder_machine import numbers_with_a_usual_hand, shoulder_numbers

# Every picture is drawn several times over.
pytestmark = pytest.mark.slow

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
GEARING = Gearing(Fraction(127, 40), 200, 8, Fraction(5, 2), 2700, 10000, 10000, 133.0)
NO_SCREW = Gearing(Fraction(3), 200, 8, 2, 4000, 255, 255, float("nan"))
ENCODER = EncoderFit(600, 36, 32, 1500.0, 100e3, float("nan"), 1e6)
UNKNOWN = EncoderFit(600, 36, 32, 900.0, float("nan"), float("nan"), 1e6)


def ratio(gearing, lead_mm):
    return choose_ratio(gearing, lead_mm=lead_mm, largest_number=gearing.max_numerator, microsteps=8)


def encoder(encoder_fit, lines, speed):
    return choose_encoder(encoder_fit, lines=lines, encoder_teeth=32, top_speed_rpm=speed, gate_s=0.1)


def coast(top_rpm, seed):
    time_s, speed_rpm = write_log(Truth(top_rpm, 4.0, 0.02, 1e-4), Display(), seed)
    return fit(SimpleNamespace(time_s=time_s, speed_rpm=speed_rpm))


def threads(names, screw_error_ppm):
    rows = [SimpleNamespace(name=name, error_ppm=7.0 * n, remark=f"row {n}") for n, name in enumerate(names)]
    return SimpleNamespace(threads=rows, harmless_ppm=screw_error_ppm / 5, headline=f"{len(rows)} threads")


def motor(folder, **set_to):
    panel = MotorAndPulleysPage(load(folder)).panel()
    for name, text in set_to.items():
        panel.controls[name].type_in(text)
    return panel.result


def stepper(folder, **set_to):
    panel = StepperPage(load(folder)).panel()
    for name, text in set_to.items():
        panel.controls[name].type_in(text)
    return panel.result


def bench(*names):
    page = MotorAndPulleysPage(empty())
    for name in names:
        page.bench.type_in(name, motor_readings()[name])
    return page.found


def brake(folder, speed_rpm, **wanted):
    numbers = brake_numbers(load(folder), None)
    own = {"resistor_ohm": numbers.resistor_ohm, "inertia_kg_m2": numbers.inertia_kg_m2}
    return view_brake(numbers, Wanted(**wanted), speed_rpm=speed_rpm, **own)


def braked_run(top_rpm, delay_s):
    truth = BrakedTruth(Truth(top_rpm, 3.1, 0.02, 0.0), 0.864, 1.2, 12.0, 2.0, 0.045, delay_s)
    time_s, speed_rpm = write_braked_log(truth, seed=1)
    log = SimpleNamespace(time_s=time_s, speed_rpm=np.where(np.arange(time_s.size) == 300, 0.0, speed_rpm))
    fitted = fit_braked(log, coulomb_rad_s2=3.1, viscous_per_s=0.02, brush_speed_rad_s=2.0 / 0.864)
    return BrakedResult(fitted, brake_numbers(load(DEMO), None))


def inertia(*values_kg_m2, filed_kg_m2=None):
    ways = (BRAKE, DISC)[: len(values_kg_m2)]
    routes = (Route(way, value, {READINGS: 0.05}, ()) for way, value in zip(ways, values_kg_m2, strict=True))
    return InertiaFound(tuple(routes), filed_kg_m2, None)


def meter_step(after_rpm, filed_lag_s):
    time_s, shown_rpm = write_step_log(1, after_rpm=after_rpm)
    return StepResult(fit_step(SimpleNamespace(time_s=time_s, speed_rpm=shown_rpm)), filed_lag_s)


def meter_scale(factor, allowed_percent):
    true = np.array([100.0, 300.0, 600.0, 900.0, 1200.0])
    table = np.column_stack([true, np.round(factor * true)])
    return scale_result(table, resolution_rpm=1.0, allowed_percent=allowed_percent)


def shoulder(folder, thread, **changed):
    machine = load(folder)
    numbers, cut = shoulder_numbers(machine), machine.threads[thread]
    settings = as_set(numbers, speed_rpm=100.0, groove_mm=cut.groove_mm or 3.0) | changed
    return view_shoulder(numbers, f"thread {thread}", float(abs(cut.lead_mm)), **settings)


def stops(lag_s):
    numbers = numbers_with_a_usual_hand(load(DEMO))
    found = own_stops(
        stops_past_mark() + lag_s,
        speed_rpm=80.0,
        unit=TURNS,
        lead_mm=1.0,
        counts_per_turn=None,
        stopping=numbers.stopping,
    )
    return StopsShown(found, numbers.with_own_stops(found.reactions_s).reactions_s, numbers.reaction_s)


def alignment(**readings):
    page = AlignmentPage(load(DEMO))
    for name, text in readings.items():
        sheet, _, box = name.partition("_")
        getattr(page, f"{sheet}_sheet").rows[box].type_in(text)
    return page.alignment


def axis_table():
    page = BacklashPage(load(DEMO))
    page.table_entry.box.value = table_lines(AxisTruth(play_mm=0.4, lead_error_ppm=-300), 7)
    return page.found


def runout_read(text):
    page = AlignmentPage(load(DEMO))
    page.runout_entry.box.value = text or page.runout_entry.box.value
    return page.runout


def scratch(*answered):
    page = ScratchPage(empty())
    for test in answered:
        page.answers[test].choose("yes")
    return page.judged


def moved(page, **set_to):
    panel = page.panel() if callable(page.panel) else page.panel
    for name, text in set_to.items():
        panel.controls[name].type_in(text)
    return panel.result


ROUND_THE_TURN = "\n".join(
    f"{angle} {0.01 * np.cos(np.radians(angle - 300)):.4f}" for angle in range(0, 360, 30)
)

PAIRS = {
    "positions": (
        PositionErrors,
        lambda: (BacklashPage(load(DEMO)).found, axis_table()),
    ),
    "take-up": (
        TakeUp,
        lambda: (
            moved(BacklashPage(load(DEMO))),
            moved(BacklashPage(load(DEMO)), play_mm="1 mm", spring_mm="0.2 mm"),
        ),
    ),
    "axis from above": (AxisFromAbove, lambda: (alignment(), alignment(level_far_ppm="", centres_far_mm=""))),
    "run-out": (RunoutRound, lambda: (runout_read(""), runout_read(ROUND_THE_TURN))),
    "collars": (
        CollarBar,
        lambda: (
            moved(AlignmentPage(load(DEMO))),
            moved(AlignmentPage(load(DEMO)), bar_mm="60 mm", distance_mm="400 mm", force_n="0 N"),
        ),
    ),
    "mark places": (
        MarkPlaces,
        lambda: (moved(MarksPage(load(DEMO))), moved(MarksPage(load(METRIC)), feed_mm="0.37 mm")),
    ),
    "mark suspects": (MarkSuspects, lambda: (MarksPage(load(DEMO)).found, scratch("turns loose"))),
    "shoulder": (
        ShoulderStop,
        lambda: (shoulder(DEMO, 2), shoulder(METRIC, 1, speed_rpm=60.0, groove_mm=6.0)),
    ),
    "shoulder, early hand": (
        ShoulderStop,
        lambda: (shoulder(DEMO, 3, reaction_s=0.0), shoulder(DEMO, 0, speed_rpm=900.0)),
    ),
    "own stops": (OwnStopsChart, lambda: (stops(0.0), stops(-0.6))),
    "inertia": (InertiaRoutes, lambda: (inertia(0.045, 0.052, filed_kg_m2=0.06), inertia(2.5))),
    "meter": (
        MeterDelay,
        lambda: (
            view_meter(lag_s=0.8, hold_s=0.25, slowing_rpm_s=67.0),
            view_meter(lag_s=0.1, hold_s=1.0, slowing_rpm_s=300.0),
        ),
    ),
    "meter step": (MeterStepChart, lambda: (meter_step(0.0, 0.8), meter_step(1500.0, None))),
    "meter scale": (MeterScaleChart, lambda: (meter_scale(1.003, 1.0), meter_scale(1.333, None))),
    "brake": (
        BrakeStop,
        lambda: (brake(DEMO, 1400.0, stop_time_s=2.5, turns=3.0), brake(METRIC, 90.0, turns=400.0)),
    ),
    "braked run": (BrakedRun, lambda: (braked_run(1200.0, 0.17), braked_run(500.0, 0.03))),
    "stepper": (StepperTorque, lambda: (stepper(DEMO), stepper(METRIC, speed_rpm="700 rpm"))),
    "stepper, starved": (
        StepperTorque,
        lambda: (stepper(DEMO, supply_v="8 V"), stepper(DEMO, current_a="0.3 A", motor_turns="1")),
    ),
    "stepper bands": (StepperBands, lambda: (StepperPage(load(DEMO)), StepperPage(load(METRIC)))),
    "ratio": (RatioWhatIf, lambda: (ratio(GEARING, Fraction(1)), ratio(NO_SCREW, Fraction(127, 130)))),
    "threads": (ThreadErrors, lambda: (threads(["A", "B", "C"], 133.0), threads(["D", "E"], float("nan")))),
    "encoder": (EncoderLimits, lambda: (encoder(ENCODER, 600, 1500.0), encoder(UNKNOWN, 2500, 800.0))),
    "coast-down": (CoastDown, lambda: (coast(900, 1), coast(400, 2))),
    "drive chain": (DriveChainDrawing, lambda: (drive_chain(load(DEMO)), drive_chain(empty()))),
    "motor": (DriveEnvelope, lambda: (motor(DEMO), motor(METRIC, spindle_pulley="60", speed_rpm="900 rpm"))),
    "motor, weak": (DriveEnvelope, lambda: (motor(DEMO, supply_v="40 V"), motor(DEMO, motor_pulley="90 mm"))),
    "motor bench": (MotorBenchChart, lambda: (bench("locked", "generator", "light"), bench("generator"))),
    "motor bench, empty": (MotorBenchChart, lambda: (bench(), bench("locked"))),
    "drive chain, direct": (DriveChainDrawing, lambda: (drive_chain(load(METRIC)), drive_chain(load(DEMO)))),
}


def pixels(chart):
    return np.asarray(Image.open(io.BytesIO(chart.picture().png)).convert("RGB"))


@pytest.fixture(params=PAIRS.values(), ids=PAIRS.keys())
def figure_and_results(request):
    kind, results = request.param
    return kind, *results()


def test_a_moved_figure_shows_exactly_what_a_fresh_one_shows(figure_and_results):
    kind, first, second = figure_and_results
    kept, fresh = kind(), kind()
    for result in (first, second, first, second):
        kept.update(result)
        kept.live_html()
    fresh.update(second)
    assert np.array_equal(pixels(kept), pixels(fresh))


def test_another_result_gives_another_picture_and_other_words(figure_and_results):
    kind, first, second = figure_and_results
    one, other = kind.draw(first), kind.draw(second)
    assert one.png != other.png
    assert one.alt != other.alt


def test_every_picture_has_the_one_width_and_says_its_size(figure_and_results):
    kind, first, _ = figure_and_results
    picture = kind.draw(first)
    size = Image.open(io.BytesIO(picture.png)).size
    assert size == (picture.width_px, picture.height_px) == (WIDTH_PX, kind.height_px)


def test_no_word_stands_outside_the_picture(figure_and_results):
    kind, *results = figure_and_results
    for result in results:
        chart = kind()
        chart.update(result)
        chart.picture()
        renderer = chart.canvas.get_renderer()
        outside = [
            text.get_text() for text in _words(chart) if not _inside(text.get_window_extent(renderer), chart)
        ]
        assert outside == []


def test_a_picture_drawn_twice_has_the_same_bytes(figure_and_results):
    kind, first, _ = figure_and_results
    assert kind.draw(first).png == kind.draw(first).png


def test_a_stored_picture_is_small_enough_for_a_notebook(figure_and_results):
    kind, first, _ = figure_and_results
    assert len(kind.draw(first).png) < 60_000


def test_what_is_private_is_left_out_before_a_headline_is_drawn():
    chart = RatioWhatIf()
    chart.say("From /home/somebody/lathe/run.csv", "Ask somebody@example.org.")
    assert chart.alt == "From run.csv Ask (address left out)."
    assert not any("somebody" in text.get_text() for text in chart.figure.findobj(Text))


def test_alt_text_is_escaped_in_the_page():
    picture = Picture(b"", 'a "quoted" <limit>', 10, 10)
    assert 'alt="a &quot;quoted&quot; &lt;limit&gt;"' in picture.html()


def test_a_notebook_gets_html_with_alt_text_a_bare_picture_and_words():
    bundle = show(Figure(figsize=(4, 3), dpi=100), alt="an empty sheet")._repr_mimebundle_()
    assert 'alt="an empty sheet"' in bundle["text/html"]
    assert bundle["text/plain"] == "Picture: an empty sheet"
    assert bundle["image/png"]


def test_a_plain_figure_keeps_its_size():
    assert Image.open(io.BytesIO(png(Figure(figsize=(4, 3), dpi=100)))).size == (400, 300)


@pytest.mark.parametrize(
    ("value", "interval", "words"),
    [
        (34.5898, (34.556, 34.624), "34.59 (34.56 to 34.62)"),
        (285.586, (285.30, 285.872), "285.6 (285.3 to 285.9)"),
        (285.586, (281.586, 289.586), "286 (282 to 290)"),
        (12.0, (12.0, 12.0), "12.0 (12.0 to 12.0)"),
    ],
)
def test_an_interval_is_written_with_the_figures_of_its_doubt(value, interval, words):
    assert with_interval(SimpleNamespace(value=value, interval=interval)) == words


def _inside(box, chart):
    return box.x0 >= -1 and box.y0 >= -1 and box.x1 <= WIDTH_PX + 1 and box.y1 <= chart.height_px + 1


def _words(chart):
    beside = [(axes.title, axes.xaxis.label, axes.yaxis.label, *axes.texts) for axes in chart.figure.axes]
    words = [*chart.figure.texts, *(text for texts in beside for text in texts)]
    return [text for text in words if text.get_visible() and text.get_text()]
