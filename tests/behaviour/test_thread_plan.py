"""How to cut and measure each thread: what a plan takes from the list, and what it says is missing."""

from dataclasses import replace

import pytest

from machinelab.threads.form import parse
from machinelab.threads.limits import limits
from machinelab.threads.wires_on_helix import pitch_diameter_on_helix_mm
from machinelab.workbook.machine import parse as machine_from
from machinelab.workbook.thread_plan import BASIC, LAST_CUT_MM, thread_plan

M10 = """
[[thread]]
designation = "M10x1"
pitch = "1 mm"
diameter = "10 mm"
tip_radius = "0.1 mm"
"""


def plan(text: str):
    machine = machine_from(text)
    return thread_plan(machine, machine.threads[0])


def changed(**lines: str) -> str:
    """The thread with lines changed, added, or (empty) taken out."""
    kept = [line for line in M10.splitlines() if line.partition(" =")[0] not in lines]
    return "\n".join([*kept, *(f'{key} = "{value}"' for key, value in lines.items() if value)])


def test_a_thread_with_all_its_lines_has_depth_cuts_and_wires_and_nothing_to_mind():
    found = plan(M10)
    allowed = limits(parse("M10x1"), "6g")
    assert found.notes == ()
    assert found.pitch_diameters_mm == allowed.pitch_mm
    assert found.measured_against == "usual 6g"
    assert found.blank_mm == pytest.approx(sum(allowed.major_mm) / 2, abs=0.006)
    assert found.tool == "tip radius 0.1 mm"
    assert found.schedule.depths_mm[0] <= 0.2 + 1e-9
    assert min(found.schedule.cuts_mm) >= LAST_CUT_MM
    assert found.wire_mm == pytest.approx(0.57735, abs=1e-5)


def test_readings_over_wires_lead_back_to_the_limits_of_the_pitch_diameter():
    found = plan(M10)
    back = [
        pitch_diameter_on_helix_mm(reading, wire_mm=found.wire_mm, pitch_mm=1, thread_lead_mm=1)
        for reading in found.over_wires_mm
    ]
    assert back == pytest.approx(found.pitch_diameters_mm, abs=1e-9)


def test_the_class_in_the_designation_comes_before_the_usual_one():
    found = plan(changed(designation="M10x1-4h"))
    assert found.measured_against == "4h"
    assert found.pitch_diameters_mm == limits(parse("M10x1"), "4h").pitch_mm


def test_a_cycle_thread_has_its_basic_size_only():
    found = plan(changed(designation="26 tpi cycle", pitch="26 tpi", diameter="5/16 in"))
    assert found.measured_against == BASIC
    pitch = 25.4 / 26
    assert found.pitch_diameters_mm == pytest.approx((25.4 * 5 / 16 - 0.5326921 * pitch,), abs=1e-6)
    assert len(found.over_wires_mm) == 1


def test_a_blunter_tip_goes_less_deep_and_a_deeper_first_cut_takes_fewer():
    sharp, round_tip = plan(changed(tip_radius="0 mm")), plan(M10)
    assert sharp.tool == "sharp tip"
    assert sharp.schedule.depths_mm[-1] - round_tip.schedule.depths_mm[-1] == pytest.approx(0.1, abs=1e-9)
    bold = plan('[threading]\nfirst_cut = "0.3 mm"\n' + M10)
    assert len(bold.schedule.cuts_mm) < len(round_tip.schedule.cuts_mm)
    flat = plan(changed(tip_radius="", tip_flat="0.12 mm"))
    assert flat.tool == "tip flat 0.12 mm"


def test_the_owners_wires_are_taken_if_they_fit_and_others_named_if_not():
    assert plan(changed(wire="0.6 mm")).wire_mm == 0.6
    found = plan(changed(wire="0.3 mm"))
    assert found.over_wires_mm == ()
    assert any("do not fit: take 0.5" in note for note in found.notes)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ({"designation": ""}, "say its designation"),
        ({"designation": "something round"}, "not understood"),
        ({"designation": "M10x1-6H"}, "inside thread"),
        ({"designation": "26 tpi cycle", "pitch": "26 tpi", "diameter": ""}, "outside diameter"),
        ({"tip_radius": ""}, "say the tip"),
        ({"tip_radius": "0.9 mm"}, "too blunt"),
    ],
)
def test_what_lacks_or_does_not_fit_is_said_in_words(lines, words):
    found = plan(changed(**lines))
    assert any(words in note for note in found.notes), found.notes
    assert found.schedule is None


def test_several_starts_are_deep_by_the_pitch_and_not_by_the_lead():
    text = changed(designation="Tr20x8P4", pitch="4 mm", diameter="20 mm", tip_radius="", tip_flat="1.2 mm")
    several = plan(text + "\nstarts = 2\n")
    single = plan(
        changed(designation="Tr20x4", pitch="4 mm", diameter="20 mm", tip_radius="", tip_flat="1.2 mm")
    )
    assert several.schedule.depths_mm[-1] == pytest.approx(single.schedule.depths_mm[-1], abs=0.1)
    climbed = max(several.over_wires_mm) - max(several.pitch_diameters_mm)
    assert climbed > max(single.over_wires_mm) - max(single.pitch_diameters_mm) + 0.03


def test_a_plan_keeps_what_was_noted_before():
    found = plan(changed(tip_radius="", wire="0.3 mm"))
    assert len(found.notes) == 2
    assert replace(found, notes=()).noting("one", "two").notes == ("one", "two")
