"""Slips that people make when they type a quantity, and the words they get back."""

import pytest

from machinelab import units
from machinelab.errors import UnitError
from machinelab.workbook import fields

TURNED_AWAY = [
    # what was typed, into which box, and what the answer must tell
    ("8", fields.LEAD, ["8 has no unit", "8 mm", "8 tpi"]),
    ("1,5 mm", fields.LEAD, ["comma", "1.5 mm"]),
    ("1,500 rpm", fields.spindle_speed(), ["comma", "1.500 rpm", "1500 rpm"]),
    ("1.5mm pitch, 16 tpi", fields.LEAD, ["two values", "1.5 mm", "16 tpi", "only one"]),
    ("1-1/4 in 2 in", fields.BUS_VOLTAGE, ["two values", "1-1/4 in and 2 in"]),
    ("1-1/4 in too small", fields.LEAD, ["1-1/4 in too small", "a unit that is not known", "mm"]),
    ("1500 rpm", fields.FEED_PER_TURN, ["1500 rpm", "speed of rotation", "feed per turn", "0.1 mm"]),
    ("0", fields.ENCODER_LINES, ["0 is too small", "plate", "100 to 2500"]),
    ("0", fields.ENCODER_EDGES, ["0 is too small", "4 edges to 80000 edges"]),
    ("1024", fields.ENCODER_EDGES, ["1024 lines", "4096", "1024 edges"]),
    ("1024 counts", fields.ENCODER_LINES, ["1024 lines", "4096 edges", "256 lines"]),
    ("1024 ppr", fields.ENCODER_EDGES, ["1024 lines", "4096 edges"]),
    ("-3", fields.TEETH, ["-3 is too small", "1 tooth to 1000 teeth", "counted"]),
    ("20.5", fields.TEETH, ["20.5", "whole", "diameter"]),
    ("20.5 teeth", fields.TEETH, ["whole", "diameter"]),
    ("1/0 in", fields.LEAD, ["1/0", "0 under the stroke"]),
    ("3/4 mm", fields.LEAD, ["0.75 mm", "3/4 in", "19.05 mm"]),
    ("120 V", fields.BUS_VOLTAGE, ["mains", "170 V", "120 V DC"]),
    ("120 V AC", fields.BUS_VOLTAGE, ["mains", "170 V DC"]),
    ("470", fields.BUS_CAPACITANCE, ["470 has no unit", "470 µF"]),
    ("470 mF", fields.BUS_CAPACITANCE, ["470 mF is too large", "470 µF"]),
    (
        "0 ohm",
        fields.uncertainty(fields.BOND),
        ["0 ohm is too small", "Every instrument", "half of the last figure"],
    ),
    ("12000 rpm", fields.spindle_speed(2500, "marked on the chuck"), ["2500 rpm", "marked on the chuck"]),
    ("5 min.", fields.spindle_speed(), ["5 min.", "a time", "a speed of rotation"]),
    ("12 MOHM", fields.INSULATION, ["capitals", "12 MΩ", "12 mΩ"]),
    ("20 degrees", fields.LEAD, ["an angle", "a pitch or lead"]),
    ("10 kg", fields.WAITING_TIME, ["a mass", "a time", "5 s"]),
    ("fast", fields.spindle_speed(), ["fast", "number"]),
    ("", fields.LEAD, ["nothing is typed"]),
    ("8 tip", fields.LEAD, ["8 tip", "8 tpi"]),
    ("0 tpi", fields.LEAD, ["0 tpi"]),
]
TAKEN_WITH_A_NOTE = [
    ("5 sec.", fields.WAITING_TIME, 5.0, ["read as 5 s"]),
    ("470 mfd", fields.BUS_CAPACITANCE, 470e-6, ["read as 470 µF"]),
    ("4096 edges", fields.ENCODER_LINES, 1024, []),
    ("1024 lines", fields.ENCODER_EDGES, 4096, []),
    ("2400", fields.ENCODER_EDGES, 2400, []),
    ("120 V DC", fields.BUS_VOLTAGE, 120.0, []),
    ("0.1 Mohm", fields.INSULATION, 1e5, ["100 kΩ", "1 MΩ", "NOT MET", "unplugged"]),
    ("0.00 ohm", fields.BOND, 0.0, ["uncertainty", "NOT PROVEN"]),
]


@pytest.mark.parametrize(
    ("typed", "field", "told"), TURNED_AWAY, ids=[f"{row[0]} in {row[1].name}" for row in TURNED_AWAY]
)
def test_a_slip_is_answered_with_what_to_type_instead(typed, field, told):
    with pytest.raises(UnitError) as answered:
        units.read(typed, field)
    answer = str(answered.value)
    assert answer.startswith(f"{field.name}: ")
    for words in told:
        assert words in answer


@pytest.mark.parametrize(
    ("typed", "field", "value", "told"), TAKEN_WITH_A_NOTE, ids=[row[0] for row in TAKEN_WITH_A_NOTE]
)
def test_what_can_be_understood_is_taken_and_said_back(typed, field, value, told):
    reading = units.read(typed, field)
    assert reading.number == pytest.approx(value)
    for words in told:
        assert words in reading.note


def test_nothing_is_said_where_nothing_was_assumed():
    for typed, field in [("8 tpi", fields.LEAD), ("470 uF", fields.BUS_CAPACITANCE), ("36", fields.TEETH)]:
        assert units.read(typed, field).note == ""


@pytest.mark.parametrize("typed", ["1.5 mm", "16 tpi", "5/8 in"])
def test_every_suggestion_that_an_answer_makes_can_itself_be_typed(typed):
    assert units.read(typed, fields.LEAD).value > 0


def test_both_units_are_shown_back():
    assert units.read("8 tpi", fields.LEAD).shown == "3.175 mm · 8 tpi"
    assert units.read("0.1 mm", fields.FEED_PER_TURN).shown == "0.1 mm · 0.0039 in"
    assert units.show(19.05, "mm") == "19.05 mm · 0.7500 in"


def test_what_is_not_known_is_never_shown_as_a_number():
    assert units.show(None, "mm") == "not known"
    assert units.show(float("nan"), "rpm") == "not known"


def test_the_sample_of_every_ready_box_can_be_typed_into_it():
    boxes = [box for box in vars(fields).values() if isinstance(box, units.Field)]
    assert len(boxes) > 8
    for box in (*boxes, *map(fields.uncertainty, boxes), fields.spindle_speed(900, "marked on the chuck")):
        assert units.read(box.sample, box).shown
        assert box.help.endswith(".")
