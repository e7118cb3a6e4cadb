"""The cuts of a thread in their groove: what is drawn is what is cut, and every control moves it."""

import itertools
from pathlib import Path

import numpy as np
import pytest

from machinelab.threads.infeed_schedule import groove_section_mm2
from machinelab.workbook.figures.base import WIDTH_PX
from machinelab.workbook.figures.infeed import InfeedCuts
from machinelab.workbook.machine import load
from machinelab.workbook.panels.infeed import infeed_panel, view_infeed
from machinelab.workbook.thread_plan import thread_plan

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"
CUTS = {"first_cut_mm": 0.2, "last_cut_mm": 0.03}
TIPS = [
    {"tip_radius_mm": 0.0, "tip_flat_mm": 0.0},
    {"tip_radius_mm": 0.1, "tip_flat_mm": 0.0},
    {"tip_radius_mm": 0.0, "tip_flat_mm": 0.2},
    {"tip_radius_mm": 0.05, "tip_flat_mm": 0.1},
]


@pytest.fixture(scope="module")
def plans():
    machine = load(DEMO)
    return {thread.designation: thread_plan(machine, thread) for thread in machine.threads}


def area(outline: np.ndarray) -> float:
    """Area inside an outline, by the surveyor's rule."""
    across, down = outline.T
    return abs(np.dot(across, np.roll(down, 1)) - np.dot(down, np.roll(across, 1))) / 2


@pytest.mark.parametrize("tip", TIPS, ids=str)
@pytest.mark.parametrize("name", ["M10x1", "26 tpi cycle", "Tr14x3"])
def test_the_groove_that_is_drawn_has_the_section_that_is_cut(plans, name, tip):
    view = view_infeed(plans[name], name, **tip, **CUTS)
    for depth in view.schedule.depths_mm:
        drawn = area(view.outline(depth))
        angle = view.included_angle_deg
        assert drawn == pytest.approx(groove_section_mm2(depth, included_angle_deg=angle, **tip), rel=4e-3)


@pytest.mark.parametrize("tip", TIPS, ids=str)
def test_the_last_groove_is_half_a_pitch_wide_at_the_pitch_line(plans, tip):
    view = view_infeed(plans["M10x1"], "M10x1", **tip, **CUTS)
    across, down = view.outline(view.depth_mm).T
    right = across >= 0
    order = np.argsort(down[right])
    wide = 2 * np.interp(view.pitch_line_mm, down[right][order], across[right][order])
    assert wide == pytest.approx(0.5, abs=1e-6)


def test_a_tip_that_is_too_blunt_for_the_nut_is_told(plans):
    sharp = view_infeed(plans["M10x1"], "M10x1", **TIPS[1], **CUTS)
    blunt = view_infeed(plans["M10x1"], "M10x1", tip_radius_mm=0.3, tip_flat_mm=0.0, **CUTS)
    assert sharp.nut_goes_in
    assert "too blunt" not in sharp.headline
    assert not blunt.nut_goes_in
    assert "too blunt" in blunt.headline


def test_the_standards_own_roundings_leave_room_for_the_nut(plans):
    """ISO 68-1 root of H/6 at the middle of 6g, and the cycle thread's own sixth of the pitch."""
    for name, radius in (("M10x1", 0.14434), ("26 tpi cycle", 25.4 / 26 / 6)):
        view = view_infeed(plans[name], name, tip_radius_mm=radius, tip_flat_mm=0.0, **CUTS)
        assert view.nut_goes_in, name


def test_a_floor_under_the_cuts_is_told_as_heavier_cuts(plans):
    even = view_infeed(plans["M10x1"], "M10x1", **TIPS[0], first_cut_mm=0.2, last_cut_mm=0.0)
    floored = view_infeed(plans["M10x1"], "M10x1", **TIPS[0], first_cut_mm=0.2, last_cut_mm=0.08)
    assert "loads the tool alike" in even.meaning
    assert "times as heavy" in floored.meaning


@pytest.fixture(params=["M10x1", "Tr14x3"])
def panel(request, plans):
    own = {"M10x1": TIPS[1], "Tr14x3": {"tip_radius_mm": 0.0, "tip_flat_mm": 0.95}}[request.param]
    return infeed_panel(plans[request.param], request.param, **own, **CUTS)


@pytest.mark.slow
def test_every_control_changes_what_is_seen_and_both_its_ends_are_borne(panel):
    for name, control in panel.controls.items():
        start, seen = control.value, set()
        for position in (0, len(control.sweep) // 2, len(control.sweep) - 1):
            control.slider.value = position
            seen.add((panel.picture.value, panel.meaning.value))
            assert "Please look" not in panel.notice.value
        assert len(seen) == 3, name
        control.type_in(control.shown(start))


@pytest.mark.slow
def test_every_corner_of_the_sliders_is_borne(panel):
    for corner in itertools.product(*((0, len(one.sweep) - 1) for one in panel.controls.values())):
        for control, position in zip(panel.controls.values(), corner, strict=True):
            control.slider.value = position
        assert "Please look" not in panel.notice.value


def test_what_no_tool_can_cut_is_refused_in_words_and_the_picture_stays(plans):
    panel = infeed_panel(plans["M10x1"], "M10x1", **TIPS[1], **CUTS)
    before = panel.picture.value
    panel.controls["tip_radius_mm"].type_in("2 mm")
    assert "too blunt" in panel.notice.value
    assert panel.picture.value == before


def test_a_moved_figure_shows_what_a_fresh_one_shows_and_no_word_stands_outside(plans):
    first = view_infeed(plans["M10x1"], "M10x1", **TIPS[1], **CUTS)
    second = view_infeed(plans["Tr14x3"], "Tr14x3", tip_radius_mm=0.0, tip_flat_mm=0.95, **CUTS)
    chart = InfeedCuts()
    pictures = []
    for view in (first, second, first):
        chart.update(view)
        pictures.append(chart.picture().png)
        for text in chart.figure.findobj(lambda artist: hasattr(artist, "get_fontsize")):
            if text.get_visible() and text.get_text():
                box = text.get_window_extent()
                assert box.x0 >= 0, text.get_text()
                assert box.x1 <= WIDTH_PX, text.get_text()
                assert box.y0 >= 0, text.get_text()
                assert box.y1 <= chart.height_px, text.get_text()
    assert pictures[0] == pictures[2] != pictures[1]
    assert InfeedCuts.draw(second).png == pictures[1]
    assert "M10x1" in chart.alt
    assert "0.20, 0.31" in chart.alt
