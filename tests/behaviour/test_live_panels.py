"""Every live panel: each control moves the picture or the words, and both ends of each are borne."""

import itertools
from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest

from machinelab.workbook.machine import load
from machinelab.workbook.pages.alignment import AlignmentPage
from machinelab.workbook.pages.backlash import BacklashPage
from machinelab.workbook.pages.marks import MarksPage
from machinelab.workbook.pages.motor_and_pulleys import MotorAndPulleysPage
from machinelab.workbook.pages.resistor_brake import ResistorBrakePage
from machinelab.workbook.pages.scratch import ScratchPage
from machinelab.workbook.pages.stepper import StepperPage
from machinelab.workbook.pages.threading import ThreadingPage
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.encoder import EncoderFit, encoder_panel
from machinelab.workbook.panels.gearing import Gearing, gearing_panel
from machinelab.workbook.panels.speed_meter import meter_panel

# Every control of every panel is moved to both ends, and a picture drawn each time.
pytestmark = pytest.mark.slow

GEARING = Gearing(Fraction(127, 40), 200, 8, Fraction(5, 2), 2700, 1000, 1000, 133.0)
ENCODER = EncoderFit(600, 36, 32, 1500.0, 25e3, 200e3, 1e6)
UNKNOWN_ENCODER = EncoderFit(600, 36, 32, 1500.0, float("nan"), float("nan"), 1e6)
NAN = float("nan")

HOUSE = Path(__file__).resolve().parents[2]

PANELS = {
    "gearing": lambda: gearing_panel(GEARING, lead_mm=Fraction(1)),
    "gearing, screw unknown": lambda: gearing_panel(
        Gearing(Fraction(3), 400, 16, 2, 4000, 255, 255, NAN), lead_mm=Fraction(127, 130)
    ),
    "encoder": lambda: encoder_panel(ENCODER, gate_s=0.1),
    "motor": lambda: MotorAndPulleysPage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "motor, toothed belt": lambda: MotorAndPulleysPage(load(HOUSE / "tests/machines/metric")).panel(),
    "brake": lambda: ResistorBrakePage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "brake, none fitted": lambda: ResistorBrakePage(load(HOUSE / "tests/machines/metric")).panel(),
    "stepper": lambda: StepperPage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "stepper, on the screw": lambda: StepperPage(load(HOUSE / "tests/machines/metric")).panel(),
    "shoulder": lambda: ThreadingPage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "shoulder, no brake": lambda: ThreadingPage(load(HOUSE / "tests/machines/metric")).panel(),
    "backlash": lambda: BacklashPage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "backlash, metric": lambda: BacklashPage(load(HOUSE / "tests/machines/metric")).panel(),
    "collars": lambda: AlignmentPage(load(HOUSE / "notebooks/machines/demo")).panel,
    "marks": lambda: MarksPage(load(HOUSE / "notebooks/machines/demo")).panel(),
    "marks, metric": lambda: MarksPage(load(HOUSE / "tests/machines/metric")).panel(),
    "scratch": lambda: ScratchPage(load(HOUSE / "notebooks/machines/demo")).panel,
    "meter": lambda: meter_panel(lag_s=0.8, hold_s=0.25, slowing_rpm_s=67.0),
    "encoder, limits unknown": lambda: encoder_panel(UNKNOWN_ENCODER, gate_s=0.05),
}


@pytest.fixture(params=PANELS.values(), ids=PANELS.keys())
def panel(request):
    return request.param()


def controls_of(panel):
    return [control for control in panel.controls.values() if not isinstance(control, Choice)]


def moves_of(control):
    if isinstance(control, Choice):
        return [partial(control.choose, option) for option in control.options]
    places = (0, len(control.sweep) // 2, len(control.sweep) - 1)
    return [partial(setattr, control.slider, "value", place) for place in places]


def test_both_ends_of_every_slider_are_borne(panel):
    for control in controls_of(panel):
        start = control.value
        for position in (0, len(control.sweep) - 1):
            control.slider.value = position
            assert "Please look" not in panel.notice.value
        control.type_in(control.shown(start))


def test_both_ends_of_what_a_box_allows_are_borne_or_refused_in_words(panel):
    for control in controls_of(panel):
        for end in (control.field.low, control.field.high):
            control.type_in(end)
            assert control.notice.value.count("Please look") == 0


def test_every_control_changes_what_is_seen(panel):
    for name, control in panel.controls.items():
        seen = set()
        for move in moves_of(control):
            move()
            seen.add((panel.picture.value, panel.meaning.value))
        assert len(seen) > 1, name


@pytest.mark.slow
def test_every_corner_of_the_sliders_is_borne(panel):
    ends = [(0, len(control.sweep) - 1) for control in controls_of(panel)]
    for corner in itertools.product(*ends):
        for control, position in zip(controls_of(panel), corner, strict=True):
            control.slider.value = position
        assert panel.notice.value.count("Please look") == 0


def test_the_alt_text_tells_the_value_that_was_typed():
    panel = PANELS["gearing"]()
    panel.controls["lead_mm"].type_in("26 tpi")
    assert "26 tpi" in panel.chart.alt
    panel = PANELS["encoder"]()
    panel.controls["top_speed_rpm"].type_in("1234 rpm")
    assert "1234 rpm" in panel.chart.alt


def test_a_panel_starts_at_the_machine_as_built():
    values = PANELS["gearing"]().values
    assert values == {"lead_mm": 1, "largest_number": 1000, "microsteps": 8}


def test_every_box_has_a_name_and_a_line_of_help(panel):
    for control in controls_of(panel):
        assert control.box.description
        assert control.field.help
        assert control.field.example
