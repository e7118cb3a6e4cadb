"""Page 05, the inertia: two ways, which is better, what a mismatch means, and kind words without a run."""

from dataclasses import replace
from pathlib import Path

import pytest
from simulate.brake_log import write_braked_log, write_displayed_log
from simulate.coast_log import Display, Truth, write_log
from simulate.demo_logs import BRAKE, DISC_KG_M2, METER, SPINDLE

from machinelab.workbook.figures.base import Picture
from machinelab.workbook.inertia_routes import BRAKE as BRAKE_WAY
from machinelab.workbook.inertia_routes import DISC as DISC_WAY
from machinelab.workbook.inertia_routes import OWN_DISC, READINGS_AND_FRICTION
from machinelab.workbook.machine import empty, load, parse
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.inertia import NOTHING_YET, InertiaPage
from machinelab.workbook.panels.frame import NO_PICTURE_YET
from machinelab.workbook.panels.inertia_bench import BRAKE_BOXES, DISC_BOXES

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
TRUE_KG_M2 = BRAKE.inertia_kg_m2


def a_page(machine):
    return InertiaPage.beside(CoastDownPage(machine))


@pytest.fixture
def page():
    return a_page(load(DEMO))


def typed(rows):
    return "\n".join(f"{time:.3f} {speed:.1f}" for time, speed in zip(*rows, strict=True))


def with_disc(added_kg_m2, windage_times=1.0, seed=8):
    share = TRUE_KG_M2 / (TRUE_KG_M2 + added_kg_m2)
    truth = Truth(
        902.0,
        coulomb_rad_s2=share * SPINDLE.coulomb_rad_s2,
        viscous_per_s=share * SPINDLE.viscous_per_s,
        windage_per_rad=windage_times * share * SPINDLE.windage_per_rad,
    )
    return typed(write_log(truth, METER, seed))


def braked(seed=9, **changed):
    return typed(write_braked_log(replace(BRAKE, **changed), seed))


def routes(page):
    return {route.name: route for route in page.found.routes}


def test_both_ways_find_the_demos_inertia_and_agree(page):
    for route in routes(page).values():
        assert route.inertia.interval[0] <= TRUE_KG_M2 <= route.inertia.interval[1]
    assert page.found.agreement.agrees
    assert page.found.agreement.e_n < 1
    assert "The two ways agree" in page.judged.text
    assert "within the doubt" in page.judged.text
    assert isinstance(page.picture, Picture)
    assert "agree" in page.picture.alt


def test_the_better_way_is_the_one_with_less_doubt_and_the_reason_is_named(page):
    assert page.found.best.name == BRAKE_WAY
    page.boxes["emf_doubt"].type_in("10 %")
    assert page.found.best.name == DISC_WAY
    assert "the run with the brake suffers most from the motor's volts" in " ".join(page.judged.text.split())
    page.boxes["disc_doubt"].type_in("30 %")
    assert routes(page)[DISC_WAY].weak_point == OWN_DISC


def test_friction_that_repeats_poorly_weighs_on_the_disc(page):
    before = routes(page)
    page.boxes["friction_scatter"].type_in("5 %")
    after = routes(page)
    assert after[DISC_WAY].share > 3 * before[DISC_WAY].share
    assert after[BRAKE_WAY].share < 1.5 * before[BRAKE_WAY].share


def frictions(share, added_kg_m2=0.0, seed=1):
    """A log of a run whose friction is a share of the usual, with a disc or without."""
    slower = share * TRUE_KG_M2 / (TRUE_KG_M2 + added_kg_m2)
    names = ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")
    return typed(
        write_log(replace(SPINDLE, **{name: slower * getattr(SPINDLE, name) for name in names}), METER, seed)
    )


def test_three_pairs_tell_by_themselves_how_well_friction_repeats(page):
    bench = page.bench
    for pair, (free, loaded) in enumerate([(1.0, 1.01), (1.02, 0.99), (0.99, 1.0)]):
        page.coast.bench.entry.take(frictions(free, seed=30 + pair))
        page.disc_entry.take(frictions(loaded, DISC_KG_M2, seed=40 + pair))
        bench.press.click()
        assert f"{pair + 1} pair" in bench.kept.value
    bench.press.click()
    assert "3 pairs kept" in bench.kept.value
    route = routes(page)[DISC_WAY]
    assert route.inertia.interval[0] <= TRUE_KG_M2 <= route.inertia.interval[1]
    assert route.value == pytest.approx(TRUE_KG_M2, rel=0.02)
    assert "take three pairs" not in page.judged.text
    assert list(route.doubts) == [READINGS_AND_FRICTION, OWN_DISC]


def test_a_pair_without_its_runs_cannot_be_kept():
    bench = a_page(empty()).bench
    bench.press.click()
    assert "There is no pair yet" in bench.notice.value


def test_a_log_that_has_gone_from_the_folder_is_told_in_words(tmp_path):
    (tmp_path / "machine.toml").write_text((DEMO / "machine.toml").read_text())
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "disc.csv").write_text(with_disc(DISC_KG_M2))
    (tmp_path / "logs" / "other_disc.csv").write_text(with_disc(DISC_KG_M2))
    page = a_page(load(tmp_path))
    bench = page.bench
    (tmp_path / "logs" / "other_disc.csv").unlink()
    bench.choices["disc"].choose("other_disc.csv")
    assert "other_disc.csv" in page.disc_entry.notice.value


def test_a_heavier_loop_than_the_file_says_shows_as_a_mismatch_and_is_explained(page):
    page.boxes["friction_scatter"].type_in("0.2 %")
    page.brake_entry.take(braked(resistor_ohm=16.0))
    assert not page.found.agreement.agrees
    assert "DO NOT AGREE" in page.judged.text
    assert "more ohms than the machine file says" in page.judged.text
    assert page.decision.text.startswith("- Do not lean on either")
    assert "DO NOT AGREE" in page.picture.alt


def test_an_overrated_disc_is_explained_the_other_way_round(page):
    page.boxes["friction_scatter"].type_in("0.2 %")
    page.boxes["disc_mass"].type_in("11 kg")
    assert not page.found.agreement.agrees
    assert "The disc gives more" in page.judged.text


def test_a_disc_that_beats_the_air_is_told(page):
    page.disc_entry.take(with_disc(DISC_KG_M2, windage_times=4.0))
    assert "do not share one ratio" in page.judged.text


def test_the_machine_files_line_is_called_outside_where_it_is(page, tmp_path):
    text = (DEMO / "machine.toml").read_text().replace('inertia = "0.045 kg m^2"', 'inertia = "0.06 kg m^2"')
    (tmp_path / "machine.toml").write_text(text)
    (tmp_path / "logs").symlink_to(DEMO / "logs")
    page = a_page(load(tmp_path))
    assert "OUTSIDE the doubt" in page.judged.text
    assert "in the machine file" in page.table.index


def test_newton_metres_follow_from_the_better_inertia(page):
    speed = page.coast.found.start_speed_rpm.value
    expected = TRUE_KG_M2 * SPINDLE.deceleration(speed * 0.104719755)
    assert float(page.friction.iloc[-1, 0].split()[0]) == pytest.approx(expected, rel=0.05)


def test_the_working_ends_at_the_inertia_that_is_recorded(page):
    line = page.record_line()
    assert line["value"] == pytest.approx(TRUE_KG_M2, rel=0.01)
    assert (line["unit"], line["predicted"]) == ("kg m^2", 0.045)
    assert len(line["data"]) == 2
    assert f"{line['value']:.3g}" in str(page.working)
    page.boxes["emf_doubt"].type_in("20 %")
    assert "disc" in page.record_line()["quantity"]
    assert f"{page.record_line()['value']:.3g}" in str(page.working)


def test_the_record_takes_the_line(page):
    stored = []
    box = page.record_box
    add = box.add
    box.add = lambda **line: stored.append(add(**line)) or stored[-1]
    box.write()
    assert stored[0].verdict == "RECORDED"
    assert "Written" in box.answer.value


@pytest.mark.slow
@pytest.mark.parametrize("name", list(DISC_BOXES | BRAKE_BOXES))
def test_each_box_changes_what_is_said(page, name):
    bench = page.bench
    before = (bench.picture.value, bench.meaning.value)
    ends = {
        "disc_mass": "7 kg",
        "disc_outer": "150 mm",
        "disc_bore": "120 mm",
        "disc_inertia": "0.05 kg m^2",
    }
    page.boxes[name].type_in(ends.get(name, "12 %"))
    assert (bench.picture.value, bench.meaning.value) != before
    assert "role='alert'" not in bench.notice.value


def test_another_log_replaces_picture_and_words_and_a_bad_one_changes_nothing(page):
    bench = page.bench
    before = bench.picture.value
    page.disc_entry.take(with_disc(2 * DISC_KG_M2))
    page.boxes["disc_mass"].type_in("17.76 kg")
    assert bench.picture.value != before
    assert routes(page)[DISC_WAY].value == pytest.approx(TRUE_KG_M2, rel=0.02)
    page.brake_entry.take("\n".join(f"{t} {60 * t}" for t in range(30)))
    assert "Run with the brake" in bench.notice.value
    assert [route.name for route in page.found.routes] == [DISC_WAY]
    assert "There is one way so far" in page.judged.text


def test_the_same_log_for_both_runs_is_refused_in_words(page):
    bench = page.bench
    bench.choices["disc"].choose("free_run_down.csv")
    assert "Use a heavier disc" in bench.notice.value
    assert bench.choices["disc"].text == "free_run_down.csv"


def test_a_disc_that_was_not_measured_is_asked_for(page):
    page.boxes["disc_mass"].type_in("")
    _, problems = page.work_out()
    assert "type its mass and its outside diameter" in problems[0]
    page.boxes["disc_inertia"].type_in("0.0444 kg m^2")
    assert page.work_out()[1] == []


def test_a_braked_log_off_the_display_is_reckoned_with_its_lag(page):
    slow = replace(BRAKE, resistor_ohm=40.0)
    text = (DEMO / "machine.toml").read_text().replace('resistor = "12 ohm"', 'resistor = "40 ohm"')
    other = InertiaPage(parse(text), coast=page.coast)
    other.brake_entry.take(typed(write_displayed_log(slow, Display(glitches=0.0), 4)))
    (route,) = other.found.routes
    assert route.value == pytest.approx(TRUE_KG_M2, rel=0.03)


def test_a_new_free_run_above_is_taken_at_once(page):
    bench, coasts = page.bench, page.coast.bench
    before = bench.meaning.value
    coasts.entry.take(typed(write_log(replace(SPINDLE, coulomb_rad_s2=2.0), METER, 3)))
    assert bench.meaning.value != before


@pytest.mark.parametrize("machine", [load(METRIC), empty()], ids=["metric", "empty"])
def test_without_a_second_run_every_part_says_what_it_takes(machine):
    page = a_page(machine)
    for part in ("picture", "table", "friction", "judged", "working", "decision"):
        assert getattr(page, part) is NOTHING_YET, part
    assert page.record_line() is None
    assert page.post() is None
    assert NO_PICTURE_YET in page.bench.picture.value
    page.disc_entry.take(with_disc(DISC_KG_M2))
    assert "free run without the disc comes first" in page.judged.text


def test_a_machine_whose_circuit_is_not_known_is_asked_for_it():
    page = InertiaPage(empty(), coast=CoastDownPage(load(DEMO)))
    page.brake_entry.take(braked())
    assert "does not say yet" in page.judged.text
    assert "back_emf" in page.judged.text


def test_what_was_typed_is_kept_for_the_next_time(tmp_path):
    (tmp_path / "machine.toml").write_text((DEMO / "machine.toml").read_text())
    a_page(load(tmp_path)).boxes["disc_mass"].type_in("5 kg")
    assert a_page(load(tmp_path)).boxes["disc_mass"].text == "5 kg"


def test_the_share_text_carries_both_ways_and_the_working(page):
    text = page.share_text.text
    assert "with the disc" in text
    assert "with the brake" in text
    assert "Source" in text
