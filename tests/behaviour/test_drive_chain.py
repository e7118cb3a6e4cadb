"""The drive chain: what each mesh does, drawn to proportion, and what is not known yet said and dashed."""

import math
from pathlib import Path

import pytest

from machinelab.workbook import machine
from machinelab.workbook.figures.drive_chain import (
    DASHED,
    LEAST_RADIUS_PX,
    MOST_RADIUS_PX,
    DriveChainDrawing,
    tangent,
    wheel_radii_px,
)
from machinelab.workbook.panels.drive_chain import UNKNOWN, drive_chain

METRIC = Path(__file__).resolve().parents[2] / "tests" / "machines" / "metric"


def chain_of(text):
    return drive_chain(machine.parse(text))


def test_the_demo_is_told_as_its_pulleys_and_teeth_have_it():
    chain = drive_chain(machine.load("demo"))
    assert chain.spindle.words == "3 turns to 1"  # 150 mm over 50 mm
    assert chain.encoder.words == "1 to 1.125 turns"  # 36 teeth over 32
    assert chain.screw.words == "2.5 turns to 1"  # 60 teeth over 24
    assert chain.counts == 600 * 4 * 36 / 32
    # 26 tpi on a screw of 8 tpi: 8/26 of 4000 steps in 2700 counts
    assert chain.facts["controller"] == "controller, for 26 tpi: 160 steps in 351 counts"
    assert chain.headline == (
        "One turn of the spindle is 3 of the motor and 2700 counts of the encoder; "
        "one step moves the carriage 0.794 µm."
    )


def test_what_sits_direct_has_no_wheels_and_a_backward_screw_is_told():
    chain = drive_chain(machine.load(METRIC))
    assert chain.encoder.direct
    assert chain.screw.direct
    assert not chain.spindle.direct
    # a right-hand thread on a left-hand screw; the worm before it is left-hand and has pi in its pitch
    assert chain.facts["controller"] == "controller, for 3.1416 mm: 0.409062 steps in a count"
    right_hand = "[leadscrew]\nlead='3 mm'\nhand='left'\n[[thread]]\npitch='1.5 mm'\n"
    driven = "[stepper]\nfull_steps=200\nmicrosteps=1\n[encoder]\nlines=100\ndrive='direct'\n"
    assert chain_of(right_hand + driven).facts["controller"].endswith("1 step in 4 counts, screw backwards")


def test_a_machine_of_which_nothing_is_known_says_so_everywhere():
    chain = drive_chain(machine.empty())
    assert chain.headline == "Nothing of the drive is known yet."
    assert all(UNKNOWN in fact for fact in chain.facts.values())
    assert [mesh.words for mesh in (chain.spindle, chain.encoder, chain.screw)] == [UNKNOWN] * 3
    assert not chain.follows


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[stepper]\nfull_steps=200", "stepper 200 steps × not known yet"),
        ("[encoder]\nlines=600", "encoder 600 lines"),
        (
            "[spindle_drive]\nbelt='ribbed'\nmotor_pulley='50 mm'",
            "50 mm and diameter?, ribbed belt, not known",
        ),
        (
            "[spindle_drive]\nbelt='gears'\nmotor_teeth=20\nspindle_teeth=30",
            "20 teeth and 30 teeth, gears, 1.5",
        ),
        ("[spindle_drive]\nbelt='none'", "Motor to spindle: 1 to 1, direct"),
        ("[spindle_drive]\nmotor_teeth=21\nspindle_teeth=40", "belt or gears?, 40/21 turns to 1"),
    ],
)
def test_a_drive_that_is_half_known_tells_the_half(text, told):
    assert told in chain_of(text).details


def test_unknown_parts_are_dashed_and_known_ones_are_not():
    drawing = DriveChainDrawing()
    drawing.update(chain_of("[leadscrew]\nlead='3 mm'"))
    assert drawing.screw_line.get_linestyle() == "-"
    assert drawing.link.is_dashed()
    assert drawing.carriage.get_linestyle() == DASHED
    assert drawing.spindle.wheels[0].get_linestyle() == DASHED
    drawing.update(drive_chain(machine.load("demo")))
    assert not drawing.link.is_dashed()
    assert drawing.carriage.get_linestyle() == "-"
    assert drawing.spindle.wheels[0].get_linestyle() == "-"


@pytest.mark.parametrize("turns", [0.5, 1, 1.125, 2.5, 3])
def test_wheels_are_drawn_in_the_proportion_of_their_turns(turns):
    first, second = wheel_radii_px(turns)
    assert second / first == pytest.approx(turns)
    assert max(first, second) <= MOST_RADIUS_PX
    assert min(first, second) >= LEAST_RADIUS_PX


@pytest.mark.parametrize("radii", [(20, 60), (40, 40), (56, 15)])
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("ends", [((100, 50), (400, 50)), ((600, 50), (400, 50))])
def test_the_belt_touches_both_wheels_and_cuts_neither(radii, side, ends):
    (x0, x1), (y0, y1) = tangent(*ends, radii, side)
    along = math.hypot(x1 - x0, y1 - y0)
    for (cx, cy), radius in zip(ends, radii, strict=True):
        away = abs((x1 - x0) * (y0 - cy) - (x0 - cx) * (y1 - y0)) / along
        assert away == pytest.approx(radius)
    assert (y0 - 50) * side > 0
