"""What must hold for every thread: wires there and back, depth and section, cuts that add up."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from machinelab.threads.flanks import (
    half_angle_rad,
    lead_effect_mm,
    virtual_nut_pitch_diameter_mm,
    virtual_pitch_diameter_mm,
)
from machinelab.threads.infeed import thread_depth_mm
from machinelab.threads.infeed_schedule import groove_section_mm2, infeed_schedule, passes_for_first_cut
from machinelab.threads.profile import FORMS
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
