import ast
import html.parser
from fractions import Fraction
from itertools import product
from operator import attrgetter

import numpy as np
import pytest
from matplotlib.mathtext import MathTextParser
from physics_rooms import each_of, public_functions

from machinelab.errors import RangeError
from machinelab.leadscrew.gearing import change_gears, screw_steps, steps_per_count
from machinelab.leadscrew.lead_accuracy import compare_with_screw, thermal_growth_mm
from machinelab.spindle.counted_speed import speed_from_counts
from machinelab.spindle.encoder import edge_rate_hz, speed_resolution_rpm
from machinelab.tables import nomenclature
from machinelab.worked import worked
from machinelab.worked.handbook import entry
from machinelab.worked.lettering import ASCII, HTML, LATEX, UNICODE, to_ascii

WITH_FORMULA = [function for function in public_functions() if entry(function).formula]
EDGES = {"speed_rpm": 2000, "counts_per_spindle_turn": 2700}


def test_a_working_shows_formula_numbers_result_and_source_in_this_order():
    working = worked(edge_rate_hz, **EDGES)
    assert working.formula_lines == ("f_e = n / 60 · C",)
    assert working.substituted_lines == ("f_e = 2000 rpm / 60 · 2700 counts",)
    assert working.result_text == "f_e = 90000 Hz"
    assert working.source == "Derived here: edges a turn times turns a second."
    text = working.text()
    parts = [
        working.title,
        *working.formula_lines,
        *working.substituted_lines,
        working.result_text,
        working.source,
    ]
    assert [text.index(part) for part in parts] == sorted(text.index(part) for part in parts)
    assert working.result == edge_rate_hz(**EDGES)


def test_the_formula_is_the_one_in_the_documentation_and_nowhere_else():
    def quarter(speed_rpm):
        """A quarter of a speed.

        Formula
        -------
        quarter = speed_rpm / 4

        Parameters
        ----------
        speed_rpm : float [rpm]
            Speed.

        Returns
        -------
        float [rpm]
            A quarter.

        Source
        ------
        Derived here.
        """
        return speed_rpm / 4

    assert worked(quarter, speed_rpm=8).text().splitlines()[2:5] == [
        "    quarter = n / 4",
        "    quarter = 8 rpm / 4",
        "    quarter = 2 rpm",
    ]


def test_a_step_on_the_way_is_shown_with_its_value():
    working = worked(
        speed_resolution_rpm, speed_rpm=600, counts_per_spindle_turn=4000, gate_s=0.1, clock_hz=1e6
    )
    assert working.substituted_lines == (
        "by counting = 60 / (4000 counts · 0.1 s) = 0.15",
        "by period = (600 rpm)² · 4000 counts / (60 · 10⁶ Hz) = 24",
        "Δn = min(0.15, 24)",
    )


def test_a_fraction_is_shown_as_a_fraction_and_as_a_decimal():
    working = worked(
        steps_per_count, thread_lead_mm=Fraction(3, 2), screw_lead_mm=Fraction(127, 40),
        steps_per_screw_turn=3200, counts_per_spindle_turn=4000,
    )  # fmt: skip
    assert working.result_text == "r = 48/127 ≈ 0.377953 step/count"
    assert "l = 127/40 = 3.175 mm" in working.text()
    assert working.substituted_lines == ("r = 1.5 mm / 3.175 mm · 3200 steps / 4000 counts",)


def test_a_result_of_several_figures_shows_each_with_its_unit():
    working = worked(compare_with_screw, ratio_error_ppm=-23.6, screw_error_ppm=133.3)
    assert working.formula_lines[0] == "share = |E_r| / E_s"
    assert working.substituted_lines[0] == "share = |-23.6 ppm| / 133.3 ppm = 0.177044"
    assert working.result_lines == (
        "E_r = -23.6 ppm", "E_s = 133.3 ppm", "share = 0.177044", "screw is limit = yes",
    )  # fmt: skip


def test_a_calculation_without_a_closed_formula_says_why_and_lists_what_it_found():
    working = worked(change_gears, ratio=Fraction(18, 23), gears=[20, 24, 36, 40, 46, 60])
    assert working.formula_lines[0].startswith("No closed formula: a search")
    assert working.result_lines == ("36/46", "60/40 × 24/46", "60/46 × 24/40")
    assert "pairs = 2" in working.text(), "an input left out is shown with its default"
    assert worked(change_gears, ratio=Fraction(18, 23), gears=[20, 40]).result_lines == ("none",)


def test_long_readings_are_shown_by_their_ends():
    time = np.arange(50) / 10
    working = worked(speed_from_counts, time_s=time, count=np.arange(50) * 400, counts_per_spindle_turn=4000)
    assert "t = 0 … 4.9 s (50 values)" in working.text()


def test_a_very_small_number_is_shown_as_a_power_of_ten():
    text = worked(thermal_growth_mm, length_mm=300, temperature_rise_k=10).text()
    assert "ΔX = 300 mm · 10 K · (1.15×10⁻⁵ /K)" in text


def falling(lag_s):
    """A formula that holds for a while.

    Formula
    -------
    lag_s < 2
    falling = 1 - lag_s / 2

    Parameters
    ----------
    lag_s : float [s]
        Time.

    Returns
    -------
    float [1]
        What is left.

    Range
    -----
    Zero from two seconds on.

    Source
    ------
    Derived here.
    """
    return max(0.0, 1 - lag_s / 2)


def test_a_formula_that_holds_under_a_condition_says_so_and_says_when_it_does_not():
    inside, outside = worked(falling, lag_s=0.5), worked(falling, lag_s=3)
    assert inside.formula_lines[0].startswith("holds while ")
    assert inside.substituted_lines[-1] == "falling = 1 − 0.5 s / 2"
    assert outside.substituted_lines == ("Here it does not hold. Zero from two seconds on.",)
    assert outside.result_text == "falling = 0"


@pytest.mark.parametrize(
    ("inputs", "says"),
    [
        ({"speed": 2000, "counts_per_spindle_turn": 2700}, "did you mean speed_rpm"),
        ({"counts_per_turn": 2700, "speed_rpm": 3}, "did you mean counts_per_spindle_turn"),
        ({"xyz": 1, **EDGES}, "Its inputs are speed_rpm, counts_per_spindle_turn"),
        ({"speed_rpm": 2000}, "also needs counts_per_spindle_turn"),
        ({}, "speed_rpm and counts_per_spindle_turn"),
        ({"speed_rpm": 2000, "counts_per_spindle_turn": 0.5}, "counts_per_spindle_turn is 0.5"),
    ],
)
def test_a_wrong_or_missing_input_is_told_with_the_names_there_are(inputs, says):
    with pytest.raises(RangeError, match=says):
        worked(edge_rate_hz, **inputs)


def test_what_is_no_calculation_is_refused_in_words():
    with pytest.raises(RangeError, match="no formula"):
        worked(len)


def test_the_keyboard_text_holds_nothing_but_keys():
    for working in (
        worked(thermal_growth_mm, length_mm=300, temperature_rise_k=10),
        worked(screw_steps, count=4000, ratio=Fraction(48, 127)),
        worked(change_gears, ratio=Fraction(18, 23), gears=[20, 24, 36, 40, 46, 60]),
        worked(compare_with_screw, ratio_error_ppm=-23.6, screw_error_ppm=133.3),
    ):
        assert working.ascii_text().isascii()
    assert (
        "s = floor((48/127) * 4000 counts + 1/2)"
        in worked(screw_steps, count=4000, ratio=Fraction(48, 127)).ascii_text()
    )


class _Tags(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.text = [], []

    def handle_starttag(self, tag, attrs):
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def test_the_page_is_whole_and_reads_by_itself_without_a_script():
    page = worked(compare_with_screw, ratio_error_ppm=-23.6, screw_error_ppm=133.3)._repr_html_()
    tags = _Tags()
    tags.feed(page)
    assert tags.open == []
    assert "<script" not in page
    assert "$" not in page
    assert "share = |Er| / Es" in "".join(tags.text)
    assert "&lt; 1/5" in page


def test_the_latex_keeps_the_order_of_the_formula_and_names_the_units():
    latex = worked(edge_rate_hz, **EDGES).latex()
    assert latex.splitlines()[1:-1] == [
        r"f_\mathrm{e} &= \frac{n}{60} \cdot C \\",
        r"f_\mathrm{e} &= \frac{2000\,\mathrm{rpm}}{60} \cdot 2700\,\mathrm{counts} \\",
        r"f_\mathrm{e} &= 90000\,\mathrm{Hz}",
    ]


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1, "tooth", "1 tooth"),
        (32, "tooth", "32 teeth"),
        (0.5, "turn", "0.5 turns"),
        (60, "deg", "60°"),
        (4.1, "um", "4.1 µm"),
        (0.045, "kg m2", "0.045 kg·m²"),
        (3.0, "rad/s2", "3 rad/s²"),
        (8, "1/in", "8 /in"),
        (5.0, "%", "5 %"),
        (6.8, "ohm", "6.8 Ω"),
        (float("nan"), "rpm", "not known"),
        (None, "s", "not given"),
        (True, "", "yes"),
        (Fraction(48, 127), "1", "48/127"),
        (Fraction(127, 40), "mm", "3.175 mm"),
        (Fraction(10**18 + 1, 10**18), "mm", "1 mm"),
        (np.float64(2.5), "V", "2.5 V"),
        (np.array([1.0, 2.0]), "A", "1, 2 A"),
    ],
)
def test_a_value_is_written_as_the_trade_writes_it(value, unit, text):
    assert UNICODE.quantity(value, unit) == text


def test_signs_become_keys():
    assert to_ascii("π · d ≈ 5×10⁻⁵ µm, 60° − α") == "pi * d ~= 5x10^-5 um, 60 deg - alpha"


@each_of([one for one in nomenclature().values() if one.latex], attrgetter("name"))
def test_every_symbol_can_be_typeset_as_a_picture(quantity):
    MathTextParser("path").parse(f"${quantity.latex}$")


@each_of(WITH_FORMULA)
def test_every_formula_can_be_typeset_as_a_picture(function):
    described = entry(function)
    names = [*described.parameters, *(line.name for line in described.formula if line.name)]
    for line in described.formula:
        text = LATEX.expression(line.expression, {name: LATEX.symbol(name) for name in names})
        MathTextParser("path").parse(f"${text}$")


@each_of(list(product(WITH_FORMULA, (UNICODE, ASCII, HTML, LATEX))), str)
def test_every_formula_can_be_written_in_each_hand_with_every_input_in_it(pair):
    function, hand = pair
    described = entry(function)
    names = [*described.parameters, *(line.name for line in described.formula if line.name)]
    # A private sign for each name shows that none is lost on the way.
    written = {name: f"Q{number}Q" for number, name in enumerate(names)}
    text = " ".join(hand.expression(line.expression, written) for line in described.formula)
    used = {
        node.id for line in described.formula for node in ast.walk(line.expression) if hasattr(node, "id")
    }
    assert {name for name in names if written[name] in text} == used & set(names)
