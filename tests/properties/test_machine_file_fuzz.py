"""Whatever stands in a machine file ends in a machine or in our own error, and saving never loses a line."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from machinelab.errors import MachineFileError
from machinelab.workbook import machine
from machinelab.workbook.machine import edit

# Hundreds of files are written to the disk.
pytestmark = pytest.mark.slow

HOUSE = Path(__file__).resolve().parents[2]
DEMO = (HOUSE / "notebooks" / "machines" / "demo" / "machine.toml").read_bytes()
LINES = machine.fields()
SECTIONS = sorted(machine.titles())

names = st.sampled_from([line.key for line in LINES]) | st.text(max_size=12)
plain_values = st.one_of(
    st.text(max_size=20),
    st.sampled_from([line.example for line in LINES]),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.datetimes(),
    st.dates(),
    st.times(),
)
values = st.recursive(
    plain_values,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names, inner, max_size=3),
    max_leaves=6,
)
files = st.dictionaries(
    st.sampled_from(SECTIONS) | st.text(max_size=10),
    values | st.dictionaries(names, values, max_size=5),
    max_size=6,
)


def ends_well(content):
    """The machine that a content gives, or the words it is refused with."""
    try:
        return machine.parse(content)
    except MachineFileError as problem:
        return str(problem)


def a_machine_or_words(answer):
    return isinstance(answer, machine.Machine) or (len(answer) > 20 and "pydantic" not in answer)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(said=files)
def test_any_toml_ends_in_a_machine_or_in_words(said):
    import tomlkit

    try:
        text = tomlkit.dumps(said)
    except (ValueError, TypeError):
        return
    assert a_machine_or_words(ends_well(text))


@settings(max_examples=200, deadline=None)
@given(content=st.binary(max_size=300) | st.text(max_size=300))
@example(content=b"")
@example(content="\ud800")
@example(content="a = [" * 2000)
@example(content='"" = 1')
@example(content="[[machine]]\n[[machine]]")
@example(content="[[thread]]\nstarts = {x = 1}")
@example(content="thread = [1, 'a', {}]")
@example(content="[target]\nwhy = [1]")
@example(content="[target.why]\ntaper = 5")
@example(content="[encoder]\nlines = 1e400")
@example(content="[machine]\nname = '{message} {0}'\nhand = '{}'")
def test_any_bytes_or_text_end_in_a_machine_or_in_words(content):
    assert a_machine_or_words(ends_well(content))


@settings(max_examples=200, deadline=None)
@given(cut=st.integers(0, len(DEMO)), put=st.binary(max_size=6), at=st.integers(0, len(DEMO)))
def test_a_torn_or_scribbled_file_ends_in_a_machine_or_in_words(cut, put, at):
    assert a_machine_or_words(ends_well(DEMO[:cut]))
    assert a_machine_or_words(ends_well(DEMO[:at] + put + DEMO[at:]))


@settings(max_examples=150, deadline=None)
@given(
    changes=st.dictionaries(
        st.one_of(
            st.sampled_from([line.path for line in LINES]),
            st.builds("thread.{}.{}".format, st.integers(0, 7), names),
            st.builds("{}.{}".format, st.sampled_from(SECTIONS), names),
            st.text(max_size=20),
        ),
        st.none() | values,
        max_size=4,
    )
)
@example(changes={"thread.1.": "x"})
@example(changes={"machine.name": "\ud800"})
@example(changes={"machine.name": "\x00\x1b"})
@example(changes={"thread.²": None})
@example(changes={"controller.largest_numerator": 10**5000})
def test_any_change_is_written_whole_or_not_at_all(changes, tmp_path_factory):
    folder = tmp_path_factory.mktemp("machine")
    (folder / "machine.toml").write_bytes(DEMO)
    try:
        changed = edit.write_machine(folder, changes)
    except MachineFileError:
        assert (folder / "machine.toml").read_bytes() == DEMO
    else:
        untouched = machine.parse(DEMO)
        for path, (_, now) in machine.differences(untouched, changed).items():
            touched = any(path.startswith(name.rsplit(".", 1)[0]) for name in changes)
            assert touched, (path, now)
    assert [file.name for file in folder.iterdir()] == ["machine.toml"]


@settings(max_examples=100, deadline=None)
@given(
    line=st.sampled_from([line for line in LINES if line.field and line.section != "thread"]), data=st.data()
)
def test_a_line_that_is_saved_as_it_is_shown_says_the_same(line, data, tmp_path_factory):
    typed = data.draw(
        st.sampled_from([line.example, line.field.low or line.example, line.field.high or line.example])
    )
    folder = tmp_path_factory.mktemp("machine")
    changes = {line.path: typed}
    if line.path in ("stepper.motor_teeth", "stepper.screw_teeth"):
        changes = {"stepper.motor_teeth": typed, "stepper.screw_teeth": typed}
    first = edit.write_machine(folder, changes)
    again = edit.write_machine(folder, {path: line.show(first.value(line.path)) for path in changes})
    assert float(again.value(line.path)) == pytest.approx(float(first.value(line.path)), rel=1e-4)
