"""What must hold for every thread: wires there and back, depth and section, cuts that add up."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.threads.flanks import (
    half_angle_rad,
    lead_effect_mm,
    virtual_nut_pitch_diameter_mm,
    virtual_pitch_diameter_mm,
)
from machinelab.threads.infeed import thread_depth_mm
from machinelab.threads.infeed_schedule import groove_section_mm2, infeed_schedule, passes_for_first_cut
from machinelab.threads.profile import FORMS
from machinelab.threads.wire_reading import pitch_diameter_from_wires, wire_doubt_mm, wire_flattening_um
from machinelab.threads.wires import (
    best_wire_mm,
    lead_angle_correction_mm,
    lead_angle_deg,
    over_wires_mm,
    wire_range,
)
from machinelab.threads.wires_on_helix import over_wires_on_helix_mm, pitch_diameter_on_helix_mm

angles = st.sampled_from([29, 30, 40, 55, 60])
pitches = st.floats(0.35, 6)
# Diameters in pitches: even coarse threads keep a core.
sizes = st.floats(5, 40)
starts = st.integers(1, 4)
wires_share = st.floats(0.9, 1.3)
tips = st.tuples(st.floats(0, 0.1), st.floats(0, 0.1))


@given(angles, pitches, sizes, starts, wires_share)
def test_reading_and_pitch_diameter_lead_to_each_other_on_any_helix(angle, pitch, size, count, share):
    thread = {
        "wire_mm": share * best_wire_mm(pitch, angle),
        "pitch_mm": pitch,
        "included_angle_deg": angle,
        "thread_lead_mm": count * pitch,
    }
    reading = over_wires_on_helix_mm(size * pitch, **thread)
    assert pitch_diameter_on_helix_mm(reading, **thread) == pytest.approx(size * pitch, abs=1e-9)
    assert over_wires_on_helix_mm(size * pitch + 0.01, **thread) > reading


@given(angles, pitches, sizes, starts)
def test_a_climbing_groove_lifts_the_wire_and_nearly_as_much_as_the_first_order_says(
    angle, pitch, size, count
):
    wire, d2 = best_wire_mm(pitch, angle), size * pitch
    thread = {"wire_mm": wire, "pitch_mm": pitch, "included_angle_deg": angle}
    lifted = over_wires_on_helix_mm(d2, thread_lead_mm=count * pitch, **thread) - over_wires_mm(d2, **thread)
    climb = lead_angle_deg(d2, thread_lead_mm=count * pitch)
    term = lead_angle_correction_mm(wire, lead_angle_deg=climb, included_angle_deg=angle)
    assert lifted > 0
    if climb < 10:
        assert lifted == pytest.approx(term, rel=0.12)


@given(angles, pitches, sizes, st.floats(0.1, 10))
def test_sizes_grow_with_the_scale_of_the_whole(angle, pitch, size, scale):
    def reading(times):
        wire = best_wire_mm(times * pitch, angle)
        return over_wires_on_helix_mm(
            times * size * pitch,
            wire_mm=wire,
            pitch_mm=times * pitch,
            thread_lead_mm=times * pitch,
            included_angle_deg=angle,
        )

    assert reading(scale) == pytest.approx(scale * reading(1), rel=1e-9)


@given(st.sampled_from(FORMS), pitches)
def test_the_best_wire_lies_among_those_that_can_be_used_in_every_form(form, pitch):
    found = wire_range(
        pitch,
        crest_height_mm=form.crest_height * pitch,
        flank_height_mm=form.flank_height * pitch,
        flank_depth_mm=form.flank_depth * pitch,
        included_angle_deg=form.included_angle_deg,
    )
    assert found.smallest_wire_mm < found.best_wire_mm < found.largest_wire_mm


@given(angles, pitches, tips, st.floats(0.3, 0.6))
def test_at_its_depth_the_groove_is_half_a_pitch_wide_at_the_pitch_line(angle, pitch, tip, less):
    flat, radius = (share * pitch for share in tip)
    d2 = 20 * pitch
    blank = d2 + less * pitch
    depth = thread_depth_mm(
        blank, d2, pitch_mm=pitch, included_angle_deg=angle, tip_flat_mm=flat, tip_radius_mm=radius
    )
    half = half_angle_rad(angle)
    above_tip = depth - (blank - d2) / 2
    assume(above_tip >= radius * (1 - np.sin(half)))
    wide = flat + 2 * np.tan(half) * (above_tip + radius * (1 / np.sin(half) - 1))
    assert wide == pytest.approx(pitch / 2, rel=1e-9)


@given(angles, st.floats(0.2, 3), tips, st.integers(1, 40), st.floats(0, 0.05))
def test_cuts_add_up_and_none_is_finer_than_allowed(angle, depth, tip, count, finest):
    shape = {
        "included_angle_deg": angle,
        "tip_flat_mm": tip[0] * depth,
        "tip_radius_mm": tip[1] * depth,
    }
    plan = infeed_schedule(depth, infeed_passes=count, last_cut_mm=finest, **shape)
    assert sum(plan.cuts_mm) == pytest.approx(depth)
    assert min(plan.cuts_mm) >= finest * (1 - 1e-9)
    assert np.all(np.diff(plan.depths_mm) > 0)
    assert sum(plan.sections_mm2) == pytest.approx(groove_section_mm2(depth, **shape))
    assert len(plan.cuts_mm) <= count
    free = infeed_schedule(depth, infeed_passes=count, **shape)
    assert free.sections_mm2 == pytest.approx([free.sections_mm2[0]] * count, rel=1e-6)


@given(angles, st.floats(0.3, 3), tips, st.floats(0.05, 0.5))
def test_the_first_cut_goes_no_deeper_than_asked_and_one_cut_fewer_would(angle, depth, tip, first):
    shape = {
        "included_angle_deg": angle,
        "tip_flat_mm": tip[0] * depth,
        "tip_radius_mm": tip[1] * depth,
    }
    count = passes_for_first_cut(depth, first_cut_mm=first, **shape)
    assert infeed_schedule(depth, infeed_passes=count, **shape).cuts_mm[0] <= first * (1 + 1e-6)
    if count > 1:
        bolder = infeed_schedule(depth, infeed_passes=count - 1, **shape)
        assert bolder.cuts_mm[0] > first * (1 - 1e-6)


@given(angles, st.floats(-0.1, 0.1), st.floats(5, 50))
def test_the_sign_of_a_lead_error_never_matters_and_screw_and_nut_part(angle, departure, d2):
    effect = lead_effect_mm(departure, angle)
    assert effect == lead_effect_mm(-departure, angle) >= 0
    screw = virtual_pitch_diameter_mm(d2, lead_effect_mm=effect)
    nut = virtual_nut_pitch_diameter_mm(d2, lead_effect_mm=effect)
    assert screw - nut == pytest.approx(2 * effect, abs=1e-12)


@pytest.mark.parametrize(("angle", "force_n"), [(60, 8.0), (55, 10.0), (29, 6.0)])
def test_a_pressed_reading_is_worked_with_its_flattening_added_and_half_of_that_in_doubt(angle, force_n):
    wires = {"wire_mm": 0.95, "included_angle_deg": angle}
    thread = {"pitch_mm": 1.5, "thread_lead_mm": 3.0, **wires}
    doubts = {"reading_doubt_mm": 0.004, "diameter_doubt_mm": 0.002, "flank_doubt_deg": 0.4}
    found = pitch_diameter_from_wires(10.4, measuring_force_n=force_n, **doubts, **thread)
    unpressed = pitch_diameter_on_helix_mm(10.4, **thread)
    short_um = wire_flattening_um(force_n, pitch_diameter_mm=unpressed, **wires)
    added_mm = pitch_diameter_on_helix_mm(10.4 + short_um / 1000, **thread) - unpressed
    assert found.value - unpressed == pytest.approx(added_mm, rel=1e-9)
    assert added_mm == pytest.approx(short_um / 1000, rel=0.05)
    plain = wire_doubt_mm(**doubts, pitch_mm=1.5, **wires)
    assert found.expanded_uncertainty == pytest.approx(np.sqrt(plain**2 + (short_um / 2000) ** 2))


@pytest.mark.parametrize(
    ("pitch_diameter_mm", "pitch_mm", "lead_mm"),
    # So steep that the rounds never settle; and a pitch so coarse that no groove is left in the bar.
    [(1.0, 0.5, 200.0), (1.0, 1.5, 0.0)],
)
def test_wires_that_do_not_find_both_flanks_are_refused(pitch_diameter_mm, pitch_mm, lead_mm):
    thread = {"wire_mm": 0.1, "pitch_mm": pitch_mm, "thread_lead_mm": lead_mm, "included_angle_deg": 29}
    with pytest.raises(
        RangeError, match=r"^These wires do not find both flanks of this thread\. Look at the"
    ):
        over_wires_on_helix_mm(pitch_diameter_mm, **thread)


def test_leads_side_by_side_give_the_readings_of_each_and_a_fraction_is_as_good_as_its_decimal():
    wires = {"wire_mm": 0.95, "pitch_mm": 1.5}
    together = over_wires_on_helix_mm(9.0, thread_lead_mm=np.array([1.5, -3.0, 6.0]), **wires)
    one_by_one = [
        float(over_wires_on_helix_mm(9.0, thread_lead_mm=lead, **wires)) for lead in (1.5, 3.0, 6.0)
    ]
    assert together == pytest.approx(one_by_one)
    back = pitch_diameter_on_helix_mm(together, thread_lead_mm=np.array([1.5, -3.0, 6.0]), **wires)
    assert back == pytest.approx([9.0, 9.0, 9.0])
    exact = {"pitch_mm": Fraction(3, 2), "thread_lead_mm": Fraction(3, 2), "wire_mm": Fraction(19, 20)}
    assert over_wires_on_helix_mm(Fraction(9), **exact) == pytest.approx(one_by_one[0])
    assert pitch_diameter_on_helix_mm(Fraction(one_by_one[0]), **exact) == pytest.approx(9.0)
    sharp = groove_section_mm2(0.8, tip_flat_mm=0.1, tip_radius_mm=0.05)
    assert sharp == pytest.approx(
        groove_section_mm2(Fraction(4, 5), tip_flat_mm=Fraction(1, 10), tip_radius_mm=Fraction(1, 20))
    )


def test_a_tip_as_wide_as_the_groove_at_the_pitch_line_of_a_thin_blank_has_nothing_to_cut():
    with pytest.raises(RangeError, match="too blunt for the thread"):
        thread_depth_mm(10.0, 10.0, pitch_mm=1.5, tip_flat_mm=0.75)
    assert thread_depth_mm(10.002, 10.0, pitch_mm=1.5, tip_flat_mm=0.75) == pytest.approx(0.001)


def test_a_rest_too_fine_for_a_cut_of_its_own_joins_the_cut_before_it():
    # Four equal sections of a sharp tool end at the roots of 1/4, 1/2, 3/4 and 1; the last takes 0.134.
    even = infeed_schedule(1.0, infeed_passes=4, last_cut_mm=0.13)
    assert even.depths_mm == pytest.approx((0.5, 0.7071, 0.8660, 1), abs=5e-5)
    joined = infeed_schedule(1.0, infeed_passes=4, last_cut_mm=0.14)
    assert joined.depths_mm == pytest.approx((0.5, 0.7071, 1), abs=5e-5)
    assert joined.sections_mm2 == pytest.approx(np.tan(np.pi / 6) * np.array([0.25, 0.25, 0.5]))
    # From the second cut on 0.5 is left, shared out in two cuts of 0.25 since three would be too fine.
    shared = infeed_schedule(1.0, infeed_passes=4, last_cut_mm=0.21, spring_passes=2)
    assert shared.depths_mm == pytest.approx((0.5, 0.75, 1))
    assert shared.cuts_mm == pytest.approx((0.5, 0.25, 0.25))
    assert (shared.spring_passes, shared.thread_passes) == (2, 5)
    alone = infeed_schedule(1.0, infeed_passes=4, last_cut_mm=0.6)
    assert alone.depths_mm == pytest.approx((1,))


@given(angles, st.floats(0.05, 0.4), st.integers(2, 12))
def test_equal_sections_of_a_round_tip_are_equal_in_its_arc_and_beyond(angle, radius, count):
    depth = 1.0
    shape = {"included_angle_deg": angle, "tip_radius_mm": radius}
    plan = infeed_schedule(depth, infeed_passes=count, **shape)
    share = float(groove_section_mm2(depth, **shape)) / count
    assert plan.sections_mm2 == pytest.approx([share] * count, rel=1e-7)
    assert plan.depths_mm[-1] == depth


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_a_straight_flank_ends_where_a_circle_of_the_rounding_touches_it(form):
    half = np.radians(form.included_angle_deg) / 2
    for radius, height, ends in (
        (form.crest_radius, form.crest_height, form.flank_height),
        (form.root_radius, form.root_depth, form.flank_depth),
    ):
        # The circle stands a radius off both flanks, so its middle lies radius / sin(half) below the apex.
        middle = 1 / (4 * np.tan(half)) - radius / np.sin(half)
        assert ends == pytest.approx(min(height, middle + radius * np.sin(half)))
