"""The form of the machine as built: what is typed is read, drawn, kept and told, and only "save" writes."""

import shutil
from pathlib import Path

import pytest

from machinelab.workbook import machine
from machinelab.workbook.machine.draft import Draft, lines_of
from machinelab.workbook.machine.folders import OVERRIDE, REMEMBERED
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.machine_boxes import LEFT_OPEN, Words
from machinelab.workbook.panels.machine_form import MachineForm
from machinelab.workbook.panels.typed import Typed

# The whole form is built anew for each claim.
pytestmark = pytest.mark.slow

HOUSE = Path(__file__).resolve().parents[2]
METRIC = HOUSE / "tests" / "machines" / "metric"


@pytest.fixture(autouse=True)
def workbook(tmp_path, monkeypatch):
    """A notebooks folder of its own, with the demo in it, and no machine named by the environment."""
    monkeypatch.delenv(OVERRIDE, raising=False)
    demo = tmp_path / "machines" / "demo"
    demo.mkdir(parents=True)
    shutil.copy(HOUSE / "notebooks" / "machines" / "demo" / "machine.toml", demo)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def form():
    """The form of a person's own machine, begun as a copy of the demo."""
    return MachineForm(machine.load(machine.create("old-lathe", like="demo")))


@pytest.fixture
def blank():
    return MachineForm(machine.load(machine.create("new-lathe")))


def file_of(form):
    return (form.machine.folder / "machine.toml").read_text(encoding="utf-8")


def put(row, text):
    """Fill a row of the form as a person does."""
    if isinstance(row, Choice):
        row.choose(text or LEFT_OPEN)
    else:
        row.type_in(text)


def fill(form, texts):
    """Fill the form with what stands in a machine file, threads and reasons included."""
    for path, text in texts.items():
        section, number, *key = path.split(".")
        if section == "thread":
            boxes = form.open("thread")
            while len(boxes.threads) < int(number):
                boxes.add()
            put(boxes.threads[int(number) - 1].rows[key[0]], text)
        else:
            put(form.row(path), text)


def test_every_line_of_the_machine_file_has_its_box(form):
    shown = set()
    for name in machine.titles():
        boxes = form.open(name)
        for part in boxes.threads if name == "thread" else [boxes]:
            shown |= {line.path for line in part.lines.values()}
            assert set(part.rows) == set(part.lines)
    assert {line.path for line in machine.fields()} <= shown
    assert {f"target.why.{line.key}" for line in machine.fields() if line.section == "target"} <= shown


def test_every_box_has_a_label_and_a_line_of_help(form):
    for name in machine.titles():
        for line in lines_of(name):
            assert line.label
            assert line.help
    row = form.row("leadscrew.lead")
    assert row.box.description == "Lead of the leadscrew"
    assert form.row("spindle.nose").list.description == "How the chuck is held"
    assert form.row("machine.name").box.description == "Name"


def test_boxes_begin_with_what_stands_in_the_file_word_for_word(form):
    assert form.row("leadscrew.lead").text == "8 tpi"
    assert form.row("leadscrew.lead_error").text == "0.04 mm in 300 mm"
    assert form.row("meter.fitted").value == "yes"
    assert form.row("target.why.taper").text == "fit of a cone on its axle"
    assert [boxes.rows["designation"].text for boxes in form.open("thread").threads][2] == "M10x1"


def test_a_form_that_nobody_has_touched_has_nothing_to_save(form):
    before = file_of(form)
    form.save()
    assert "Nothing has changed" in form.answer.value
    assert form.draft.changes == {}
    assert file_of(form) == before


@pytest.mark.slow
@pytest.mark.parametrize("given", ["demo", METRIC], ids=["demo", "metric"])
def test_a_blank_form_filled_line_by_line_saves_the_same_machine(blank, given):
    wanted = machine.load(given)
    texts = Draft(wanted).texts | {
        f"thread.{number}.{key}": text
        for number, thread in enumerate(Draft(wanted).threads, start=1)
        for key, text in thread.texts.items()
    }
    fill(blank, texts)
    blank.save()
    again = machine.load("new-lathe")
    assert again.values() == wanted.values()
    assert again.fingerprint() == wanted.fingerprint()
    assert again.counts_per_spindle_turn == wanted.counts_per_spindle_turn
    assert blank.draft.changes == {}
    assert "# Lead of the leadscrew." in file_of(blank), "the remarks of the sheet stay"


def test_saving_changes_only_the_lines_that_were_changed(form):
    before = file_of(form)
    put(form.row("leadscrew.lead"), "3 mm")
    put(form.row("meter.lag"), "1.1 s")
    form.save()
    after = file_of(form)
    differing = [
        pair for pair in zip(before.splitlines(), after.splitlines(), strict=True) if pair[0] != pair[1]
    ]
    assert differing == [('lag = "0.8 s"', 'lag = "1.1 s"'), ('lead = "8 tpi"', 'lead = "3 mm"')]
    assert "rectified 120 V mains" in after


def test_what_was_saved_is_told_in_both_units(form):
    put(form.row("leadscrew.lead"), "3 mm")
    form.save()
    assert "Lead of the leadscrew: was 3.175 mm · 8 tpi, is now 3 mm · 8.4667 tpi" in form.answer.value
    assert "machines/old-lathe/machine.toml" in form.answer.value
    assert form.pending.value == ""


def test_what_is_not_saved_yet_is_named(form):
    put(form.row("leadscrew.lead"), "3 mm")
    assert "not saved yet" in form.pending.value
    assert "Lead of the leadscrew" in form.pending.value
    put(form.row("leadscrew.lead"), "8 tpi")
    assert form.pending.value == ""


def test_a_slip_is_told_beside_its_box_and_the_other_boxes_still_count(form):
    row = form.row("leadscrew.lead")
    put(row, "8")
    assert "8 mm or 8 tpi" in row.notice.value
    put(form.row("leadscrew.hand"), "left")
    assert form.draft.machine().leadscrew.hand == "left"
    assert form.draft.machine().leadscrew.lead_mm is None


def test_saving_tells_all_slips_at_once_and_writes_nothing(form):
    before = file_of(form)
    put(form.row("leadscrew.lead"), "8")
    put(form.row("encoder.spindle_teeth"), "20.5")
    put(form.row("mains.voltage"), "120 mm")
    put(form.open("thread").threads[1].rows["pitch"], "24 rpm")
    form.save()
    for words in ("4", "Lead of the leadscrew", "Teeth on the spindle", "Mains voltage", "Thread 2, Pitch"):
        assert words in form.answer.value or words == "4"
    assert form.answer.value.count("<li>") == 4
    assert 'role="alert"' in form.answer.value
    assert file_of(form) == before


def test_boxes_that_do_not_go_together_are_told_by_the_name_of_their_part(form):
    before = file_of(form)
    put(form.row("spindle.highest_speed"), "3000 rpm")
    put(form.row("brake.fitted"), "no")
    for place in (form.notice, form.answer):
        form.save()
        assert "Spindle: the highest speed you allow, 3000 rpm" in place.value
        assert "Resistor brake: there is said to be no brake" in place.value
        assert "line 4" not in place.value
    assert file_of(form) == before
    put(form.row("spindle.highest_speed"), "1300 rpm")
    put(form.row("brake.fitted"), "yes")
    assert "go together" not in form.notice.value


@pytest.mark.parametrize(
    ("path", "text", "seen"),
    [
        ("encoder.lines", "1000", "4500 counts"),
        ("encoder.encoder_teeth", "36", "2400 counts"),
        ("stepper.microsteps", "16", "0.397"),
        ("leadscrew.lead", "4 mm", "4 mm · 6.35 tpi"),
        ("spindle_drive.spindle_pulley", "125 mm", "2.5 of the motor"),
        ("spindle.highest_speed", "900 rpm", "spindle at most 900 rpm"),
        ("encoder.drive", "direct", "does not"),
    ],
)
def test_the_drawing_follows_every_box_at_once(form, path, text, seen):
    before = form.picture.value
    put(form.row(path), text)
    if seen == "does not":
        # The teeth still speak of a ratio, so the last good picture stays and words say why.
        assert form.picture.value == before
        assert "Spindle encoder: an encoder straight on the spindle" in form.notice.value
        return
    assert form.picture.value != before
    assert seen in form.chart.alt


def test_an_emptied_box_takes_its_line_out(form):
    put(form.row("carriage.drag"), "")
    put(form.row("leadscrew.hand"), "")
    put(form.row("machine.notes"), "")
    form.save()
    again = machine.load("old-lathe")
    assert (again.carriage.drag_n, again.leadscrew.hand, again.about.notes) == (None, None, None)
    assert "Drag of the carriage: was 40 N · 8.9924 lbf, is now not known" in form.answer.value


def test_counts_stand_in_the_file_without_quotation_marks_as_they_did(form):
    put(form.row("encoder.lines"), "1000")
    put(form.row("meter.fitted"), "no")
    form.save()
    assert "lines = 1000\n" in file_of(form)
    assert "fitted = false" in file_of(form)


def test_threads_are_added_changed_and_taken_out(form):
    boxes = form.open("thread")
    put(boxes.threads[0].rows["length"], "30 mm")
    boxes.add()
    put(boxes.threads[4].rows["pitch"], "1.5 mm")
    put(boxes.threads[4].rows["starts"], "2")
    boxes.remove(boxes.draft.threads[1])
    form.save()
    threads = machine.load("old-lathe").threads
    assert [thread.designation for thread in threads] == ["26 tpi cycle", "M10x1", "Tr14x3", None]
    assert threads[0].length_mm == 30
    assert threads[3].lead_mm == 3
    assert "Thread 2: was bottom bracket cup, is now taken out" in form.answer.value
    assert len(form.open("thread").threads) == 4
    assert form.draft.changes == {}


def test_the_buttons_for_threads_do_the_same(form):
    boxes = form.open("thread")
    boxes.add_button.click()
    assert len(boxes.threads) == 5
    first_piece = boxes.widget.children[0]
    first_piece.children[-1].children[0].click()
    assert [thread.number for thread in form.draft.threads] == [2, 3, 4, None]


def test_a_thread_added_and_left_empty_is_not_written(form):
    form.open("thread").add()
    form.save()
    assert "Nothing has changed" in form.answer.value
    assert len(machine.load("old-lathe").threads) == 4


def test_a_thread_whose_boxes_are_all_emptied_is_taken_out(form):
    rows = form.open("thread").threads[3].rows
    for row in rows.values():
        put(row, "")
    form.save()
    assert len(machine.load("old-lathe").threads) == 3


def test_lines_changed_by_hand_in_the_meantime_stay(form):
    file = form.machine.folder / "machine.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace('mass = "15 kg"', 'mass = "17 kg"'), encoding="utf-8"
    )
    put(form.row("carriage.drag"), "50 N")
    form.save()
    again = machine.load("old-lathe")
    assert (again.carriage.mass_kg, again.carriage.drag_n) == (17, 50)
    assert form.row("carriage.mass").text == "17 kg"


def test_a_file_that_was_broken_by_hand_in_the_meantime_is_left_alone(form):
    file = form.machine.folder / "machine.toml"
    file.write_text("[leadscrew\n", encoding="utf-8")
    put(form.row("carriage.drag"), "50 N")
    form.save()
    assert "Nothing was saved" in form.answer.value
    assert file.read_text(encoding="utf-8") == "[leadscrew\n"


def test_the_demo_has_no_save_button_but_a_door_to_an_own_copy(workbook):
    form = MachineForm(machine.load("demo"))
    labels = [button.description for button in buttons_in(form.doors)]
    assert "save" not in labels
    assert "make my own copy" in labels
    assert "invented" in form.head.value


def test_an_own_copy_is_made_chosen_and_keeps_what_was_typed(workbook):
    demo = machine.load("demo")
    form = MachineForm(demo)
    heard = []
    form.on_save(heard.append)
    put(form.row("leadscrew.lead"), "3 mm")
    form.own.name.value = "my-lathe"
    form.own.button.click()
    assert machine.load().folder.name == "my-lathe"
    assert machine.load().leadscrew.lead_mm == 3
    assert machine.load("demo").values() == demo.values()
    assert "my-lathe is chosen" in form.answer.value
    assert "is now 3 mm" in form.answer.value
    assert [one.name for one in heard] == [demo.name]
    assert "save" in [button.description for button in buttons_in(form.doors)]
    put(form.row("leadscrew.lead"), "4 mm")
    form.save_button.click()
    assert machine.load("my-lathe").leadscrew.lead_mm == 4


def test_an_untouched_copy_is_the_machine_copied(workbook):
    form = MachineForm(machine.load("demo"))
    form.own.name.value = "my-lathe"
    form.own.make()
    assert machine.load("my-lathe").values() == machine.load("demo").values()
    assert form.machine.folder.name == "my-lathe"


@pytest.mark.parametrize("name", ["", "My Lathe", "demo", "../x"])
def test_a_name_that_will_not_do_is_told_beside_its_box(workbook, name):
    form = MachineForm(machine.load("demo"))
    form.own.name.value = name
    form.own.make()
    assert "Please look" in form.own.notice.value
    assert not form.is_own
    assert machine.machines() == ("demo",)
    assert not (workbook / "machines" / REMEMBERED).exists()


def test_a_copy_with_a_slip_in_a_box_is_made_and_the_slip_is_told(workbook):
    form = MachineForm(machine.load("demo"))
    put(form.row("leadscrew.lead"), "8")
    form.own.name.value = "my-lathe"
    form.own.make()
    assert "my-lathe is chosen" in form.answer.value
    assert "8 mm or 8 tpi" in form.answer.value
    assert machine.load("my-lathe").values() == machine.load("demo").values()
    assert form.row("leadscrew.lead").text == "8"


def test_parts_are_turned_over_in_their_order_and_round(form):
    names = list(machine.titles())
    assert form.part.value == names[0]
    form.next_button.click()
    assert form.part.value == names[1]
    form.before_button.click()
    form.before_button.click()
    assert form.part.value == names[-1]
    assert "4 threads" in form.filled_in.value
    form.open("spindle_drive")
    assert "6 of 8 filled in" in form.filled_in.value


def test_typed_words_are_escaped_before_they_are_told(form):
    put(form.row("machine.name"), "<b>lathe</b>")
    put(form.row("leadscrew.lead"), "<i>8</i>")
    form.save()
    assert "<i>8" not in form.answer.value
    put(form.row("leadscrew.lead"), "8 tpi")
    form.save()
    assert "<b>lathe" not in form.answer.value
    assert machine.load("old-lathe").about.name == "<b>lathe</b>"


def test_each_kind_of_line_has_its_kind_of_box(form):
    assert isinstance(form.row("leadscrew.lead"), Typed)
    assert isinstance(form.row("spindle.nose"), Choice)
    assert isinstance(form.row("brake.fitted"), Choice)
    assert isinstance(form.row("machine.name"), Words)
    assert list(form.row("brake.fitted").options) == [LEFT_OPEN, "yes", "no"]


def test_the_form_shows_itself_as_a_widget(form):
    assert "application/vnd.jupyter.widget-view+json" in form._repr_mimebundle_()


def buttons_in(box):
    for child in box.children:
        if hasattr(child, "children"):
            yield from buttons_in(child)
        elif hasattr(child, "click"):
            yield child
