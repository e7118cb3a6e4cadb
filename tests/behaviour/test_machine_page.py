"""Page 01: what follows from the machine file, whether it is so, what is wanted, what is on record."""

import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab.workbook import machine
from machinelab.workbook.hand_turn import hand_turn
from machinelab.workbook.machine.folders import OVERRIDE
from machinelab.workbook.pages.machine_as_built import MachineAsBuiltPage
from machinelab.workbook.pages.page import Said
from machinelab.workbook.panels.machine_form import MachineForm
from machinelab.worked import Working

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = HOUSE / "tests" / "machines"


@pytest.fixture(autouse=True)
def workbook(tmp_path, monkeypatch):
    """A notebooks folder of its own, with the demo in it, and no machine named by the environment."""
    monkeypatch.delenv(OVERRIDE, raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    demo = tmp_path / "machines" / "demo"
    demo.mkdir(parents=True)
    shutil.copy(HOUSE / "notebooks" / "machines" / "demo" / "machine.toml", demo)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def page():
    """The page on a person's own machine, begun as a copy of the demo, with guess and readings filled in."""
    folder = machine.create("old-lathe", like="demo")
    shutil.copy(HOUSE / "notebooks" / "machines" / "demo" / "readings.toml", folder)
    machine.choose("old-lathe")
    return MachineAsBuiltPage.open()


def page_of(text, tmp_path):
    folder = tmp_path / "machines" / "given"
    folder.mkdir()
    (folder / "machine.toml").write_text(text, encoding="utf-8")
    return MachineAsBuiltPage(machine.load(folder))


def turn(turns, travel_mm, doubt_mm, lead_mm=Fraction(127, 40), gearing=Fraction(5, 2)):
    return hand_turn(
        turns=Fraction(turns),
        travel_mm=Fraction(travel_mm),
        doubt_mm=Fraction(doubt_mm),
        screw_lead_mm=lead_mm,
        motor_turns_per_screw_turn=gearing,
    )


def test_what_follows_from_the_demo_is_what_its_teeth_and_pulleys_give(page):
    table = str(page.figures())
    for row in (
        "| motor turns for one of the spindle | 3 | 150 mm / 50 mm |",
        r"| encoder turns for one of the spindle | 1\.125 | 36 / 32 teeth |",
        "| counts for one turn of the spindle | 2700 | 4 edges × 600 lines × 1.125 |",
        r"| stepper turns for one of the leadscrew | 2\.5 | 60 / 24 teeth |",
        "| steps for one turn of the leadscrew | 4000 | 200 full steps × 8 × 2.5 |",
        r"| travel of the carriage for one step | 0\.794 µm · 0.0312 thou | 3\.175 mm / 4000 |",
        "| fastest the spindle may turn | 1400 rpm | the highest you allow |",
    ):
        assert row in table


def test_what_sits_direct_is_said_so(tmp_path):
    page = MachineAsBuiltPage(machine.load(MACHINES / "metric"))
    table = str(page.figures())
    assert "32 / 20 teeth" in table
    assert "| 1 | straight on the spindle |" in table
    assert "| 1 | on the screw |" in table
    given = page_of("[spindle_drive]\nbelt = 'none'", tmp_path)
    assert "| 1 | motor on the spindle |" in str(given.figures())


def test_the_lowest_limit_of_the_speed_is_named(tmp_path):
    page = page_of("[spindle]\nchuck_highest_speed = '800 rpm'\nlowest_speed = '50 rpm'", tmp_path)
    assert "| 800 rpm | marked on the chuck |" in str(page.figures())


def test_workings_show_the_numbers_or_say_what_they_want(page, tmp_path):
    assert [type(answer) for answer in (page.counts(), page.steps(), page.travel())] == [Working] * 3
    assert page.travel().result == Fraction(127, 160000)
    bare = page_of("[encoder]\nlines = 600", tmp_path)
    assert str(bare.counts()) == "*Not known yet; it wants Teeth on the spindle; Teeth on the encoder.*"
    assert "Full steps of the motor" in str(bare.steps())
    assert "Lead of the leadscrew" in str(bare.travel())


def test_the_whole_file_is_told_part_by_part(page):
    told = str(page.known())
    assert "| Belt from motor to spindle | 6 of 8 |" in told
    assert r"26 tpi" in told
    assert "Lead of the leadscrew: 3.175 mm · 8 tpi" in told
    assert "| Threads to cut | 4 |" in told


def test_turning_by_hand_agrees_with_a_true_file():
    # ten turns through 24:60 on 8 tpi: 10 x 3.175 x 24 / 60 mm
    turned = turn(10, "12.72", "0.05")
    assert turned.expected_mm == Fraction(127, 10)
    assert turned.agrees
    assert "Lead and gearing are as the machine file has them" in turned.meaning


@pytest.mark.parametrize(
    ("travel_mm", "words"),
    [
        ("79.4", "the two wheels are given the wrong way round"),  # 10 x 3.175 x 60 / 24 = 79.375
        ("31.75", "the gearing is left out"),  # 10 x 3.175
        ("5.08", "the gearing is there twice"),  # 10 x 3.175 x (24 / 60)^2
        ("13.97", "a turn too many was counted"),  # eleven turns
        ("11.43", "a turn too few was made"),  # nine turns
    ],
)
def test_the_usual_mistakes_are_known_again(travel_mm, words):
    turned = turn(10, travel_mm, "0.05")
    assert turned.agrees is False
    assert words in turned.meaning


def test_a_wrong_lead_is_told_by_the_lead_that_would_fit():
    # a screw of 3 mm: 10 x 3 x 24 / 60 = 12 mm
    meaning = turn(10, "12.00", "0.05").meaning
    assert "does not agree" in meaning
    assert "It looks as if" not in meaning
    assert "a lead of about 3 mm · 8.4667 tpi" in meaning
    assert "turns about 2.65 times" in meaning  # 31.75 / 12


def test_without_lead_or_gearing_the_trial_says_what_it_lacks():
    for turned in (turn(10, "12", "0.1", lead_mm=None), turn(10, "12", "0.1", gearing=None)):
        assert turned.agrees is None
        assert "does not say yet" in turned.meaning
        assert "12.00 mm +/- 0.10" in turned.told


def test_what_is_typed_on_the_sheet_stands_beside_guess_and_calculation(page):
    table = page.compared()
    assert "20 mm" in table.iloc[0, 0]
    assert table.iloc[1, 0].startswith("12.7 mm")
    assert table.iloc[2, 0].startswith("12.72 mm")
    page.sheet.rows["turns"].type_in("20 turns")
    page.sheet.rows["travel_mm"].type_in("1 in")
    page.guess.type_in("1/2 in")
    table = page.compared()
    assert table.iloc[0, 0].startswith("12.7 mm")
    assert table.iloc[2, 0].startswith("12.7 mm")
    assert "agrees" in str(page.agreement())
    assert "20 turns of the stepper moved the carriage 25.40 mm" in str(page.measured())


def test_guess_and_readings_are_kept_for_the_next_time(page):
    page.guess.type_in("13 mm")
    page.sheet.rows["travel_mm"].type_in("12.65 mm")
    again = MachineAsBuiltPage.open()
    assert again.guess.typed.text == "13 mm"
    assert again.sheet.rows["travel_mm"].text == "12.65 mm"


def test_a_slip_on_the_sheet_is_told_beside_its_box_and_decides_nothing(page):
    page.sheet.rows["travel_mm"].type_in("12.7")
    assert "Please look" in page.sheet.rows["travel_mm"].notice.value
    assert "Nothing has been turned by hand" in str(page.agreement())
    assert page.compared().iloc[2, 0] == "not measured yet"


def test_what_the_form_saves_is_known_to_the_cells_below(page):
    form = page.form
    form.row("leadscrew.lead").type_in("3 mm")
    form.save()
    assert page.machine.leadscrew.lead_mm == 3
    assert page.travel().result == Fraction(3, 4000)
    assert page.compared().iloc[1, 0].startswith("12 mm")
    assert "does not agree" in str(page.agreement())
    assert "otherwise than the machine file says" in str(page.decision())


def test_steps_are_ready_as_far_as_the_file_goes(page, tmp_path):
    assert "wants more" not in str(page.ready())
    assert "Every step has what it needs" in str(page.decision())
    bare = page_of("[spindle]\nhighest_speed = '900 rpm'", tmp_path)
    assert "| 05 coast-down | ready |" in str(bare.ready())
    assert "| 11 backlash and lead error | wants more | Lead of the leadscrew;" in str(bare.ready())
    assert "Fill in next, for *03 motor and pulleys*: Full voltage at the motor" in str(bare.decision())


def test_the_machine_goes_on_record_with_its_fingerprint(page):
    assert "not on record yet" in str(page.on_record())
    page.record_box.button.click()
    assert "unchanged since" in str(page.on_record())
    line = page.record_line()
    assert line["verdict"] == "RECORDED"
    assert line["conditions"]["fingerprint"] == machine.load().fingerprint()[:16]
    assert "12.72 mm" in line["conditions"]["turned by hand"]


def test_a_change_after_recording_is_seen_and_another_writing_of_the_same_is_none(page):
    page.record_box.write()
    form = page.form
    form.row("leadscrew.lead").type_in("3.175 mm")
    form.save()
    assert "unchanged since" in str(page.on_record())
    form.row("leadscrew.lead").type_in("3 mm")
    form.save()
    assert "changed since" in str(page.on_record())
    assert "unchanged" not in str(page.on_record())
    page.record_box.write()
    assert "unchanged since" in str(page.on_record())


def test_of_an_unknown_machine_nothing_is_recorded_and_nothing_shared(tmp_path):
    bare = page_of("", tmp_path)
    assert bare.record_line() is None
    assert bare.post() is None
    bare.record_box.write()
    assert "not on record yet" in str(bare.on_record())


def test_the_post_tells_figures_trial_and_picture(page):
    post = page.post()
    for text in (post.bbcode(), post.markdown(), post.text()):
        assert "2700" in text
        assert "Turned by hand" in text
        assert "ribbed belt" in text
    page.sheet.rows["travel_mm"].type_in("")
    assert "Turned by hand" not in page.post().text()


def test_the_demo_opens_its_form_and_leaves_its_folder_alone(workbook):
    before = sorted((workbook / "machines").rglob("*"))
    page = MachineAsBuiltPage.open()
    assert isinstance(page.form, MachineForm)
    for shown in (
        page.known,
        page.figures,
        page.counts,
        page.chain,
        page.compared,
        page.ready,
        page.decision,
    ):
        shown()
    assert sorted((workbook / "machines").rglob("*")) == before


def test_a_file_that_cannot_be_read_has_no_form_but_a_way_out(page):
    (page.machine.folder / "machine.toml").write_text("[leadscrew]\nlead = '8'\n", encoding="utf-8")
    broken = MachineAsBuiltPage.open()
    assert "8 mm or 8 tpi" in broken._repr_markdown_()
    assert isinstance(broken.form, Said)
    assert "machine.toml" in str(broken.form)
    assert "not known yet" in str(broken.figures())
    assert "Choose a machine" in str(broken.record_box)
