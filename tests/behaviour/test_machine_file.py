"""The machine file: what it gives the physics, how its slips are told, and that nothing in it gets lost."""

import stat
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab import units
from machinelab.errors import MachineFileError
from machinelab.workbook import machine
from machinelab.workbook.machine.blank import blank_file
from machinelab.workbook.machine.edit import write_machine
from machinelab.workbook.machine.file import LARGEST_FILE

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
INCH = HOUSE / "tests" / "machines" / "inch"
EMPTY = HOUSE / "tests" / "machines" / "empty"


def refused(text):
    with pytest.raises(MachineFileError) as told:
        machine.parse(text)
    return str(told.value)


@pytest.fixture
def own(tmp_path):
    """A copy of the demo's file in a folder of its own."""
    (tmp_path / "machine.toml").write_bytes((DEMO / "machine.toml").read_bytes())
    return tmp_path


def test_the_demo_gears_out_exactly_as_its_tooth_counts_say():
    demo = machine.load(DEMO)
    assert demo.leadscrew.lead_mm == Fraction(254, 10) / 8
    assert demo.motor_turns_per_screw_turn == Fraction(60, 24)
    assert demo.steps_per_screw_turn == 200 * 8 * Fraction(60, 24)
    assert demo.counts_per_spindle_turn == 600 * 4 * Fraction(36, 32)
    assert demo.motor_turns_per_spindle_turn == Fraction(150, 50)
    # in one turn of the spindle the screw must turn thread lead / screw lead times: 8/26
    thread = demo.threads[0]
    assert demo.steps_per_count(thread) * demo.counts_per_spindle_turn == Fraction(8, 26) * 4000


def test_the_metric_machine_gears_out_with_direct_encoder_and_direct_stepper():
    metric = machine.load(METRIC)
    assert metric.counts_per_spindle_turn == 1024 * 4
    assert metric.motor_turns_per_screw_turn == 1
    assert metric.steps_per_screw_turn == 400 * 4
    assert metric.motor_turns_per_spindle_turn == Fraction(32, 20)


def test_hands_decide_which_way_the_screw_runs():
    metric = machine.load(METRIC)
    worm, gas, _ = metric.threads
    assert metric.leadscrew.hand == "left"
    assert metric.steps_per_count(worm) > 0, "left on left turns the same way"
    assert metric.steps_per_count(gas) < 0, "right on left turns the other way"
    assert worm.turning_lead_mm < 0


def test_a_thread_of_several_starts_has_a_lead_of_as_many_pitches():
    quick = machine.load(METRIC).threads[2]
    assert (quick.pitch_mm, quick.starts, quick.lead_mm) == (Fraction(3, 2), 4, 6)


def test_an_unset_line_is_none_and_a_figure_without_its_lines_is_none():
    empty = machine.load(EMPTY)
    assert empty.leadscrew.lead_mm is None
    assert empty.counts_per_spindle_turn is None
    assert empty.highest_spindle_speed_rpm is None
    assert empty.threads == ()
    assert empty.values() == {}


def test_what_is_missing_for_a_figure_is_named_with_an_example():
    empty = machine.empty()
    assert [line.path for line in empty.missing("counts_per_spindle_turn", "leadscrew.lead")] == [
        "encoder.lines",
        "encoder.spindle_teeth",
        "encoder.encoder_teeth",
        "leadscrew.lead",
    ]
    with pytest.raises(MachineFileError, match=r'Lead of the leadscrew: lead = "8 tpi" under \[leadscrew\]'):
        empty.require("leadscrew.lead")
    machine.load(DEMO).require("leadscrew.lead", "counts_per_spindle_turn", "thread")


def test_an_encoder_on_the_spindle_itself_needs_no_teeth():
    direct = machine.parse('[encoder]\ndrive = "direct"\nlines = 500')
    assert direct.missing("counts_per_spindle_turn") == ()
    assert direct.counts_per_spindle_turn == 2000


def test_every_step_has_what_it_needs_on_the_demo_and_says_what_it_lacks_on_an_empty_machine():
    demo, empty = machine.load(DEMO), machine.empty()
    for step in (f"{number:02d}" for number in range(17)):
        assert machine.needs(step, demo) == ()
    assert machine.needs("07", empty)
    assert machine.needs("06", machine.load(METRIC)) == (), "no brake, nothing to ask"
    with pytest.raises(MachineFileError, match="no step 99"):
        machine.needs("99", demo)


def test_the_lowest_limit_of_the_spindle_speed_wins_and_is_named():
    limited = machine.parse(
        '[spindle]\nchuck_highest_speed = "900 rpm"\n'
        '[motor]\nhighest_speed = "4000 rpm"\n'
        '[spindle_drive]\nmotor_pulley = "2 in"\nspindle_pulley = "4 in"'
    )
    assert limited.spindle_speed_limits_rpm == {
        "marked on the chuck": 900,
        "the most the motor may turn": 2000,
    }
    assert limited.highest_spindle_speed_rpm == 900
    with pytest.raises(MachineFileError.__mro__[1], match="900 rpm, marked on the chuck"):
        units.read("950 rpm", limited.spindle_speed_field)


def test_all_problems_are_told_at_once_each_with_its_line_and_what_to_type():
    told = refused(
        '[leadscrew]\nlead = "8"\nhand = "rigth"\nleed = "8 tpi"\n'
        '[encoder]\nlines = 0\n[leadscrw]\nlead = "8 tpi"\n'
        '[stepper]\nmotor_teeth = "20.5"\nscrew_teeth = 60\nholding_torque = 2.2\n'
        '[meter]\nfitted = "yes"\n'
        '[[thread]]\npitch = "1 mm"\n[[thread]]\npitch = "1,5 mm"\n'
    )
    assert told.startswith("The machine file has 9 lines that cannot be used.")
    for words in (
        "leadscrew.lead (line 2): Lead of the leadscrew: 8 has no unit. Type 8 mm or 8 tpi.",
        "leadscrew.hand (line 3): Hand of the leadscrew: rigth is not one of the words",
        "Did you mean right?",
        "leadscrew.leed (line 4): there is no such line of [leadscrew]. Did you mean lead?",
        "encoder.lines (line 6): Lines of the encoder: 0 is too small",
        "leadscrw (line 7): there is no such section. Did you mean leadscrew?",
        "stepper.motor_teeth (line 10): Teeth on the stepper: 20.5 will not do",
        "stepper.holding_torque (line 12): Holding torque: 2.2 must stand between quotation marks",
        "meter.fitted (line 14): must be true or false",
        "thread.2.pitch (line 18): Pitch of the thread: 1,5 mm has a comma",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[spindle]\nhighest_speed = "250 rpm"\nchuck_highest_speed = "200 rpm"', ["250 rpm", "200 rpm"]),
        ('[spindle_drive]\nmotor_pulley = "50 mm"\nmotor_teeth = 20', ["twice"]),
        ('[encoder]\ndrive = "direct"\nspindle_teeth = 36\nencoder_teeth = 32', ["one to one"]),
        ("[stepper]\nmotor_teeth = 24", ["screw_teeth"]),
        ('[brake]\nfitted = false\nresistor = "12 ohm"', ["no brake", "resistor"]),
        ('[target.why]\nspeed = "because"', ["speed", "no limit", "speed_error"]),
        ('[bus]\nvoltage = "120 V"', ["mains", "120 V DC"]),
        ('[encoder]\nlines = "1024 counts"', ["1024 lines", "256 lines"]),
        ('leadscrew = "8 tpi"', ["leadscrew", "heading", "[leadscrew]"]),
        ('thread = "M10x1"', ["[[thread]]"]),
        ("[machine]\nname = 5", ["quotation marks"]),
        ("[machine]\nname = \"" + "x" * 3000 + '"', ["too long"]),
        ("[leadscrew]\nlead = 8 tpi", ["Line 2", "lead = 8 tpi", 'lead = "8 tpi"']),
        ("[leadscrew]\nlead = \"8 tpi\"\nlead = \"3 mm\"", ["Line 3"]),
        ("[leadscrew\n", ["Line 1", "[leadscrew]"]),
        ("x = " + "[" * 5000, ["brackets"]),
        ("[encoder]\nlines = " + "9" * 5000, ["number"]),
        ("[encoder]\nlines = nan", ["Lines of the encoder"]),
        ("[encoder]\nlines = true", ["Lines of the encoder"]),
        ("[encoder]\nlines = 1979-05-27", ["Lines of the encoder"]),
    ],
)  # fmt: skip
def test_lines_that_cannot_stand_are_answered_in_words(text, told):
    answer = refused(text)
    for words in told:
        assert words in answer


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"\xff\xfe\x00[", "no text file"), (b"lead = \xe9", "no text file"), (b"\x00", "cannot be read")],
)
def test_a_file_that_is_no_text_is_refused_as_such(content, told):
    assert told in refused(content)


def test_a_folder_without_a_file_and_a_file_of_absurd_size_are_refused(tmp_path):
    with pytest.raises(MachineFileError, match="no machine"):
        machine.load(tmp_path)
    (tmp_path / "machine.toml").write_text("#" * (LARGEST_FILE + 1))
    with pytest.raises(MachineFileError, match="larger than a machine file can be"):
        machine.load(tmp_path)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm():
    assert machine.parse(b'\xef\xbb\xbf[leadscrew]\r\nlead = "3 mm"\r\n').leadscrew.lead_mm == 3


def test_saving_keeps_every_other_line_and_every_remark(own):
    before = (own / "machine.toml").read_text(encoding="utf-8")
    changed = machine.save(
        {"leadscrew.lead": "3 mm", "meter.lag": "0.6 s", "target.why.runout": "own choice"}, own
    )
    after = (own / "machine.toml").read_text(encoding="utf-8")
    assert changed.leadscrew.lead_mm == 3
    assert changed.meter.lag_s == 0.6
    different = [
        (old, new) for old, new in zip(before.splitlines(), after.splitlines(), strict=True) if old != new
    ]
    assert different == [
        ('lag = "0.8 s"', 'lag = "0.6 s"'),
        ('lead = "8 tpi"', 'lead = "3 mm"'),
        ('runout = "work is often turned round and chucked again"', 'runout = "own choice"'),
    ]


def test_threads_are_added_changed_and_taken_out(own):
    another = {"thread.2.designation": "20 tpi cycle", "thread.2.pitch": "20 tpi"}
    changed = machine.save(another | {"thread.5": {"name": "new", "pitch": "2 mm"}}, own)
    assert [thread.pitch_mm for thread in changed.threads[1::3]] == [Fraction(127, 100), 2]
    assert len(machine.save({"thread.1": None}, own).threads) == 4
    assert machine.load(own).threads[0].pitch_mm == Fraction(127, 100)
    with pytest.raises(MachineFileError, match="no thread 9"):
        machine.save({"thread.9.pitch": "1 mm"}, own)


def test_a_line_is_taken_out_with_none_and_a_section_is_made_when_it_is_missing(tmp_path):
    (tmp_path / "machine.toml").write_text("# mine\n", encoding="utf-8")
    assert machine.save({"leadscrew.lead": "8 tpi", "target.why.taper": "fit"}, tmp_path).show(
        "leadscrew.lead"
    )
    emptied = machine.save({"leadscrew.lead": None}, tmp_path)
    assert emptied.leadscrew.lead_mm is None
    assert (tmp_path / "machine.toml").read_text(encoding="utf-8").startswith("# mine\n")


@pytest.mark.parametrize(
    "changes",
    [
        {"leadscrew.lead": "8"},
        {"leadscrew.leed": "8 tpi"},
        {"leadscrw.lead": "8 tpi"},
        {"spindle.highest_speed": "2500 rpm"},
        {"lead": "8 tpi"},
        {"machine.name.first": "x"},
        {"": "8 tpi"},
        {"thread": "8 tpi"},
        {"thread.1": "8 tpi"},
        {"leadscrew.lead": b"8 tpi"},
    ],
    ids=str,
)
def test_a_change_that_cannot_be_used_leaves_the_file_as_it_was(own, changes):
    before = (own / "machine.toml").read_bytes()
    with pytest.raises(MachineFileError):
        machine.save({"meter.lag": "0.6 s", **changes}, own)
    assert (own / "machine.toml").read_bytes() == before
    assert sorted(file.name for file in own.iterdir()) == ["machine.toml"]


def test_a_disk_that_fails_half_way_leaves_the_old_file(own, monkeypatch):
    before = (own / "machine.toml").read_bytes()

    def broken(*_):
        raise OSError("disk full")

    monkeypatch.setattr("machinelab.workbook.whole_file.os.fsync", broken)
    with pytest.raises(MachineFileError, match="disk full"):
        machine.save({"meter.lag": "0.6 s"}, own)
    assert (own / "machine.toml").read_bytes() == before
    assert sorted(file.name for file in own.iterdir()) == ["machine.toml"]


def test_saving_keeps_who_may_read_the_file(own):
    file = own / "machine.toml"
    file.chmod(0o640)
    machine.save({"meter.lag": "0.6 s"}, own)
    assert stat.S_IMODE(file.stat().st_mode) == 0o640


def test_the_fingerprint_follows_what_is_said_and_not_how_it_is_written(own):
    demo = machine.load(DEMO)
    file = own / "machine.toml"
    rewritten = (
        file.read_text(encoding="utf-8").replace('"8 tpi"', '"3.175 mm"').replace('"250 ms"', '"0.25 s"')
    )
    file.write_text("# another remark\n" + rewritten, encoding="utf-8")
    assert machine.load(own).fingerprint() == demo.fingerprint()
    changed = machine.save({"meter.lag": "0.7 s"}, own)
    assert changed.fingerprint() != demo.fingerprint()
    assert changed.fingerprint("leadscrew", "encoder") == demo.fingerprint("leadscrew", "encoder")
    assert changed.fingerprint("meter") != demo.fingerprint("meter")


def test_what_changed_between_two_versions_is_told_line_by_line(own):
    demo = machine.load(DEMO)
    changed = machine.save({"leadscrew.lead": "3 mm", "brake.resistor": None, "thread.1.groove": "3 mm"}, own)
    assert machine.differences(demo, changed) == {
        "brake.resistor": ("12 Ω", "not known"),
        "leadscrew.lead": ("3.175 mm · 8 tpi", "3 mm · 8.4667 tpi"),
        "thread.1.groove": ("2.5 mm · 0.0984 in", "3 mm · 0.1181 in"),
    }
    assert machine.differences(demo, demo) == {}


def test_what_was_typed_is_kept_beside_the_number():
    demo = machine.load(DEMO)
    assert demo.typed["leadscrew.lead"] == "8 tpi"
    assert demo.typed["thread.1.diameter"] == "5/16 in"
    assert demo.threads[0].diameter_mm == pytest.approx(7.9375, abs=1e-12)


def test_nothing_in_a_machine_can_be_changed():
    demo = machine.load(DEMO)
    with pytest.raises(Exception, match="frozen"):
        demo.leadscrew.lead_mm = Fraction(3)
    with pytest.raises(TypeError):
        demo.typed["leadscrew.lead"] = "3 mm"


def test_an_unknown_path_is_answered_in_words():
    with pytest.raises(MachineFileError, match=r"leadscrew\.leed"):
        machine.empty().value("leadscrew.leed")
    with pytest.raises(MachineFileError, match=r"leadscrew\.leed"):
        machine.empty().missing("leadscrew.leed")


def test_every_line_is_described_and_its_example_can_be_typed():
    described = machine.fields()
    assert len({line.path for line in described}) == len(described)
    assert [label for label, count in Counter(line.label for line in described).items() if count > 1] == []
    for line in described:
        assert line.label[0].isupper(), line.path
        assert not line.help[0].islower(), line.path
        assert line.help.endswith("."), line.path
        if line.field:
            assert units.read(line.example, line.field).note == "", line.path
        if line.choices:
            assert line.example in line.choices, line.path


def test_every_line_of_the_table_belongs_to_an_attribute_named_with_its_unit():
    from machinelab.workbook.machine.built import _places
    from machinelab.workbook.machine.lines import described_lines

    assert list(_places()) != []
    assert set(_places()) == set(described_lines())
    endings = {
        "mm": "_mm", "rpm": "_rpm", "V": "_v", "A": "_a", "ohm": "_ohm", "F": "_f", "H": "_h", "W": "_w",
        "N m": "_nm", "N": "_n", "kg": "_kg", "kg m^2": "_kg_m2", "s": "_s", "Hz": "_hz", "ppm": "_ppm",
        "V s/rad": "_v_s_per_rad", "%": "_percent", "mm/min": "_mm_min", "mm^2": "_mm2",
    }  # fmt: skip
    for path, place in _places().items():
        if place.line.unit in endings:
            assert place.attribute.endswith(endings[place.line.unit]), path


def test_the_blank_file_says_nothing_and_shows_every_line():
    text = blank_file()
    assert machine.parse(text) == machine.empty()
    filled = "\n".join(
        line.removeprefix("# ") if " = " in line or line.startswith("# [[") else line
        for line in text.splitlines()
        # the belt's ratio is given by diameters or by teeth, not both
        if line not in ("# motor_teeth = 20", "# spindle_teeth = 60")
    )
    said = {path.replace("thread.1.", "thread.") for path in machine.parse(filled).values()}
    not_both = {"spindle_drive.motor_teeth", "spindle_drive.spindle_teeth"}
    assert said == {line.path for line in machine.fields()} - not_both


@pytest.mark.parametrize("folder", [DEMO, METRIC, INCH], ids=["demo", "metric", "inch"])
def test_the_machines_given_are_marked_as_invented_and_have_a_reason_for_each_limit(folder):
    text = (folder / "machine.toml").read_text(encoding="utf-8")
    assert "INVENTED" in text.splitlines()[0]
    given = machine.load(folder)
    limits = {line.key for line in machine.fields() if line.section == "target"}
    set_limits = {path.removeprefix("target.") for path in given.values() if path.startswith("target.")}
    assert set_limits & limits == set(given.target.why)


def test_the_demo_has_figures_that_fit_together():
    demo = machine.load(DEMO)
    motor = demo.motor
    # at its rated point a motor's back EMF and losses add up to its supply
    rated_rad_s = motor.rated_speed_rpm * 2 * 3.141592653589793 / 60
    lost_v = motor.brush_drop_v + motor.current_a * motor.armature_resistance_ohm
    assert motor.back_emf_v_s_per_rad * rated_rad_s + lost_v == pytest.approx(motor.supply_v, rel=0.02)
    # an open belt: twice the distance, half of each pulley's circumference, and the slope between them
    drive = demo.spindle_drive
    small, large = float(drive.motor_pulley_mm), float(drive.spindle_pulley_mm)
    around = 2 * drive.centre_distance_mm + 3.141592653589793 * (small + large) / 2
    around += (large - small) ** 2 / (4 * drive.centre_distance_mm)
    assert around == pytest.approx(drive.belt_length_mm, rel=0.005)
    assert demo.spindle.highest_speed_rpm <= demo.spindle_speed_limits_rpm["the most the motor may turn"]


def test_writing_into_a_folder_without_a_file_makes_one(tmp_path):
    assert write_machine(tmp_path, {"leadscrew.lead": "8 tpi"}).leadscrew.lead_mm == Fraction(127, 40)
