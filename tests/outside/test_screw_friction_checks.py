"""Friction of lead screws against textbook exercises and hand calculations; the data name each source."""

import json
import math
from pathlib import Path

from inspection.source import by_hand

from machinelab.leadscrew.screw_friction import (
    collar_torque_nm,
    holds_itself,
    lowering_torque_nm,
    screw_efficiency,
    screw_torque_nm,
    torque_by_efficiency_nm,
)
from machinelab.leadscrew.stepper_load import (
    carriage_force_n,
)

ROOM = "leadscrew"
DATA = Path(__file__).parent / "data" / "stepper.json"
CHECKS = {check["id"]: check for check in json.loads(DATA.read_text(encoding="utf-8"))}


def inputs(check: str) -> dict:
    return CHECKS[check]["inputs"]


def screw(**changed):
    return {
        "screw_travel_mm": 3,
        "mean_diameter_mm": 18.5,
        "screw_friction": 0.15,
        "flank_angle_deg": 15,
    } | changed


def test_the_screw_jack_of_the_textbook_raises_lowers_and_wastes_as_printed(compare):
    given = inputs("B28")
    thread = screw(
        screw_travel_mm=given["p"] * given["starts"],
        mean_diameter_mm=given["dm"],
        screw_friction=given["f"],
        flank_angle_deg=0,
    )
    collar = collar_torque_nm(given["F"], collar_mm=given["dc"], collar_friction=given["fc"])
    raising = screw_torque_nm(given["F"], **thread) + collar
    compare.row(CHECKS["B28"], raising, place=0, each="raising", unit="N m")
    compare.row(
        CHECKS["B28"], lowering_torque_nm(given["F"], **thread) + collar, place=1, each="lowering", unit="N m"
    )
    compare.row(
        CHECKS["B28"],
        screw_efficiency(given["F"], screw_travel_mm=8, driving_torque_nm=raising),
        place=2,
        each="efficiency",
    )


def test_the_other_jack_of_the_textbook_too(compare):
    given = inputs("B30")
    thread = screw(
        screw_travel_mm=given["lead"],
        mean_diameter_mm=given["dm"],
        screw_friction=given["mu"],
        flank_angle_deg=0,
    )
    collar = collar_torque_nm(given["F"], collar_mm=given["dc"], collar_friction=given["muc"])
    raising = screw_torque_nm(given["F"], **thread) + collar
    compare.row(CHECKS["B30"], raising, place=0, each="raising", unit="N m")
    compare.row(
        CHECKS["B30"], lowering_torque_nm(given["F"], **thread) + collar, place=1, each="lowering", unit="N m"
    )
    compare.row(
        CHECKS["B30"],
        screw_efficiency(given["F"], screw_travel_mm=4, driving_torque_nm=raising),
        place=2,
        each="efficiency",
    )


def test_a_trapezoidal_screw_of_20_by_3_wants_a_newton_metre_and_holds_by_itself(compare):
    given = inputs("B32")
    thread = screw(mean_diameter_mm=given["dm"], screw_friction=given["mu"])
    driving = screw_torque_nm(given["F"], **thread)
    compare.row(CHECKS["B32"], driving, unit="N m")
    # Worked by hand beside it: efficiency 0.25, and 0.48 N m to drive it backwards.
    compare(
        "efficiency of a screw of 20 by 3",
        screw_efficiency(given["F"], screw_travel_mm=3, driving_torque_nm=driving),
        0.25,
        by_hand("worked beside it"),
        abs=0.005,
    )
    compare(
        "torque that drives a screw of 20 by 3 backwards",
        lowering_torque_nm(given["F"], **thread),
        0.48,
        by_hand("worked beside it"),
        abs=0.005,
        unit="N m",
    )
    assert holds_itself(**thread)


def test_a_screw_just_at_the_edge_of_holding_gives_back_no_more_than_half(compare):
    for mean_mm in (10.0, 18.5, 30.0):
        edge = screw(mean_diameter_mm=mean_mm, flank_angle_deg=0, screw_friction=3 / (math.pi * mean_mm))
        compare(
            f"lowering torque at the edge of holding, {mean_mm:g} mm",
            lowering_torque_nm(500, **edge),
            0,
            by_hand("no torque where friction is the tangent of the climb"),
            abs=1e-12,
            unit="N m",
        )
        efficiency = screw_efficiency(500, screw_travel_mm=3, driving_torque_nm=screw_torque_nm(500, **edge))
        # tan(lambda) / tan(2 lambda) = (1 - tan^2) / 2, at most the statics textbook's half.
        compare(
            f"efficiency at the edge of holding, {mean_mm:g} mm",
            efficiency,
            (1 - edge["screw_friction"] ** 2) / 2,
            by_hand("(1 - tan^2) / 2"),
            rel=1e-6,
        )
        assert efficiency < CHECKS["B33"]["expected"]


def test_the_servo_makers_table_asks_the_torque_of_his_example(compare):
    given = inputs("B34")
    ways = {"carriage_mass_kg": given["W_kgf"], "gib_n": given["gib_kgf"] * 9.80665}
    found = []
    for cut, press in ((0, 0), (given["cut_kgf"], given["press_kgf"])):
        force = carriage_force_n(given["mu"], press_n=press * 9.80665, axial_n=cut * 9.80665, **ways)
        torque = torque_by_efficiency_nm(
            force, screw_travel_mm=10 * given["lead_cm"], efficiency=given["eta"]
        )
        found.append(torque / 0.0980665)
    compare.row(CHECKS["B34"], found, unit="kgf cm", each=("idle", "cutting"))
