"""Cutting forces, torques and speeds against figures printed or worked out elsewhere."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import EXAMPLE, READ, Source, by_hand, run_here, source_of

from machinelab.work.cutting import threading, turning
from machinelab.work.cutting_capacity import deepest_cut_mm, largest_drill_mm
from machinelab.work.cutting_force import cutting_material, exponent_from_two_forces, specific_force_n_mm2
from machinelab.work.cutting_speeds import cutting_speed_m_min, speed_for_cutting_rpm
from machinelab.work.rotating_tools import drilling, milling, tapping

ROOM = "work"
CATALOGUE = Source(EXAMPLE, "catalogue page of a carbide maker, groups after ISO 513 / VDI 3323", READ)
ARC = run_here("mean chip by adding up along the arc", "the width of a hundred thousand slices")
CORNERS = run_here("the groove as a trapezium, area by its corners", "rounding of the computer")

DATA = Path(__file__).parent / "data" / "cutting.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
GROUP_1 = {"specific_force_1_n_mm2": 1350, "chip_exponent": 0.21}
GROUP_2 = {"specific_force_1_n_mm2": 1500, "chip_exponent": 0.22}


def test_a_makers_power_example_of_4_65_kilowatts(compare):
    """Technical page of a carbide maker: mild steel, 120 m/min, 3 mm x 0.2 mm, kc 3100, efficiency 0.8."""
    speed = speed_for_cutting_rpm(120, diameter_mm=80)
    cut = turning(
        depth_mm=3,
        feed_mm=0.2,
        diameter_mm=80,
        speed_rpm=speed,
        specific_force_1_n_mm2=3100,
        chip_exponent=0,
    )
    compare(
        "power of a turning example, drive efficiency 0.8",
        cut.power_w / 0.8 / 1000,
        ROWS["E-turn-1"]["expected"]["P_kW"],
        source_of(ROWS["E-turn-1"]),
        abs=0.005,
        unit="kW",
    )


def test_specific_force_of_medium_carbon_steel_at_two_chips(compare):
    """Constants of VDI 3323 group 2 as a maker prints them; values derived."""
    expected = ROWS["E-turn-2"]["expected"]
    found = specific_force_n_mm2(np.array([0.1, 0.2]), force_factor=1, **GROUP_2)
    compare(
        "specific force of medium carbon steel",
        found,
        [expected["kc_01"], expected["kc_02"]],
        source_of(ROWS["E-turn-2"]),
        rel=1e-4,
        unit="N/mm2",
        each=("chip 0.1 mm", "chip 0.2 mm"),
    )


def test_turning_fifty_millimetres_of_low_carbon_steel(compare):
    """Constants of VDI 3323 group 1; values derived."""
    expected = ROWS["E-turn-3"]["expected"]
    cut = turning(depth_mm=1, feed_mm=0.1, diameter_mm=50, speed_rpm=200, **GROUP_1)
    figures = (cut.force_n, cut.torque_nm, cut.power_w)
    compare(
        "turning 50 mm of low carbon steel, 1 mm by 0.1 mm",
        figures,
        [expected["F_N"], expected["T_Nm"], expected["P_W"]],
        source_of(ROWS["E-turn-3"]),
        rel=1e-4,
        each=("force, N", "torque, N m", "power, W"),
    )


def test_the_deepest_cut_of_six_newton_metres(compare):
    """The same constants; value derived by hand."""
    inputs, expected = ROWS["E-turn-4"]["inputs"], ROWS["E-turn-4"]["expected"]
    found = deepest_cut_mm(inputs["T_Nm"], diameter_mm=inputs["d"], feed_mm=inputs["f"], **GROUP_1)
    compare(
        "deepest cut of six newton metres",
        found,
        expected["ap_mm"],
        source_of(ROWS["E-turn-4"]),
        abs=0.0005,
        unit="mm",
    )


def test_a_ten_millimetre_drill(compare):
    """Derived from the textbook's M = kc f D^2 / 8."""
    inputs, expected = ROWS["E-drill-1"]["inputs"], ROWS["E-drill-1"]["expected"]
    cut = drilling(diameter_mm=inputs["D"], feed_mm=inputs["f"], speed_rpm=600, **GROUP_2)
    compare(
        "torque of a 10 mm drill",
        cut.torque_nm,
        expected["T_Nm"],
        source_of(ROWS["E-drill-1"]),
        rel=1e-4,
        unit="N m",
    )
    compare(
        "power of a 10 mm drill",
        cut.power_w,
        expected["P_W"],
        source_of(ROWS["E-drill-1"]),
        rel=1e-4,
        unit="W",
    )


def test_a_large_drill_asks_forty_newton_metres(compare):
    """Derived in the same way."""
    inputs, expected = ROWS["E-drill-2"]["inputs"], ROWS["E-drill-2"]["expected"]
    cut = drilling(diameter_mm=inputs["D"], feed_mm=inputs["f"], speed_rpm=100, **GROUP_2)
    compare(
        "torque of a large drill",
        cut.torque_nm,
        expected["T_Nm"],
        source_of(ROWS["E-drill-2"]),
        rel=1e-4,
        unit="N m",
    )
    back = largest_drill_mm(expected["T_Nm"], feed_mm=inputs["f"], force_factor=1, **GROUP_2)
    compare(
        "largest drill for the torque of a large drill",
        back,
        inputs["D"],
        source_of(ROWS["E-drill-2"]),
        rel=1e-4,
        unit="mm",
    )


def test_exponent_implied_by_a_makers_table(compare):
    """Table of a carbide maker: mild steel 3610 N/mm2 at 0.1 mm, 2280 at 0.6 mm; exponent derived."""
    found = exponent_from_two_forces(3610, thick_chip_n_mm2=2280, thin_chip_mm=0.1, thick_chip_mm=0.6)
    compare(
        "exponent told by two forces of a table",
        found,
        ROWS["E-spec-ratio"]["expected"]["mc"],
        source_of(ROWS["E-spec-ratio"]),
        abs=1e-3,
    )


def test_spindle_speeds_for_cutting_speeds(compare):
    """Derived: 30 m/min on 25 mm and 50 mm; 100 ft/min on half an inch."""
    twenty_five, fifty, half_inch, by_shop_rule = ROWS["D-rpm"]["expected"]
    compare(
        "spindle speed for 30 m/min on 25 mm",
        speed_for_cutting_rpm(30, diameter_mm=25),
        twenty_five,
        source_of(ROWS["D-rpm"]),
        abs=0.1,
        unit="rpm",
    )
    compare(
        "spindle speed for 30 m/min on 50 mm",
        speed_for_cutting_rpm(30, diameter_mm=50),
        fifty,
        source_of(ROWS["D-rpm"]),
        abs=0.1,
        unit="rpm",
    )
    compare(
        "spindle speed for 100 ft/min on half an inch",
        speed_for_cutting_rpm(30.48, diameter_mm=12.7),
        half_inch,
        source_of(ROWS["D-rpm"]),
        abs=0.1,
        unit="rpm",
    )
    assert by_shop_rule == pytest.approx(1.047 * half_inch, abs=1), "the rule 4 v / d goes 4.7 % high"
    assert cutting_speed_m_min(by_shop_rule, diameter_mm=12.7) == pytest.approx(1.047 * 30.48, abs=0.05)


def test_milling_power_equals_the_makers_formula(compare):
    """P = ap ae vf kc / 6e7 kW, textbook, with the exact mean chip worked out by averaging along the arc."""
    depth, width, per_tooth, teeth, across, rpm = 2.0, 4.0, 0.03, 3, 10.0, 800.0
    engaged = np.arccos(1 - 2 * width / across)
    angles = (np.arange(100_000) + 0.5) / 100_000 * engaged
    chip = np.mean(per_tooth * np.sin(angles))
    specific = 1500 * chip**-0.22
    power = depth * width * (per_tooth * teeth * rpm) * specific / 6e7 * 1000
    cut = milling(
        depth_mm=depth,
        width_mm=width,
        feed_per_tooth_mm=per_tooth,
        cutter_teeth=teeth,
        diameter_mm=across,
        speed_rpm=rpm,
        **GROUP_2,
    )
    compare("mean chip of a milling cut", cut.chip_thickness_mm, chip, ARC, rel=1e-8, unit="mm")
    compare("power of a milling cut", cut.power_w, power, ARC, rel=1e-8, unit="W")


def test_the_section_of_a_trapezoidal_groove_is_half_of_pitch_times_depth(compare):
    """Tr14x3 drawn as a trapezium: 30 degrees, half a pitch wide at half depth; area by its corners."""
    pitch, depth, half = 3.0, 1.75, np.radians(15)
    top, bottom = pitch / 2 + depth * np.tan(half), pitch / 2 - depth * np.tan(half)
    section = (top + bottom) / 2 * depth
    cut = threading(
        pitch_mm=3,
        thread_depth_mm=depth,
        diameter_mm=14,
        thread_passes=10,
        included_angle_deg=30,
        speed_rpm=60,
        specific_force_1_n_mm2=1000,
        chip_exponent=0,
    )
    compare(
        "force of one threading pass, Tr14x3", cut.force_n, 1000 * section / 10, CORNERS, rel=1e-12, unit="N"
    )
    assert cut.torque_nm == pytest.approx(cut.force_n * 0.007, rel=1e-12)


def test_a_tap_by_its_rule_of_thumb(compare):
    """From memory: kc p^2 D / 8 times friction, worked by hand for kc 2000, M10, friction 2."""
    cut = tapping(
        diameter_mm=10,
        pitch_mm=1.5,
        chip_thickness_mm=0.05,
        speed_rpm=60,
        specific_force_1_n_mm2=2000,
        chip_exponent=0,
        force_factor=2,
    )
    compare(
        "torque of an M10 tap",
        cut.torque_nm,
        2 * 2000 * 2.25 * 10 / 8 / 1000,
        by_hand("rule of thumb kc p^2 D / 8 times friction, from memory"),
        rel=1e-6,
        unit="N m",
    )


def test_the_table_holds_what_the_catalogue_prints(compare):
    """Read as a page: some rows of the carbide maker's catalogue, groups after ISO 513 / VDI 3323."""
    printed = {
        "mild steel": (1350, 0.21),
        "medium carbon steel": (1500, 0.22),
        "tool steel": (2450, 0.23),
        "austenitic stainless steel": (2150, 0.20),
        "pearlitic malleable iron": (1420, 0.30),
        "brass": (700, 0.27),
        "nickel or cobalt alloy": (3300, 0.24),
    }
    for name, figures in printed.items():
        found = cutting_material(name)
        compare(
            f"specific force in N/mm2 and exponent of {name}",
            (found.specific_force_1_n_mm2, found.chip_exponent),
            figures,
            CATALOGUE,
        )
