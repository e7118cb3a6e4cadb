"""A thread's designation says its lines as well; where both are typed they must agree."""

from fractions import Fraction

import pytest

from machinelab.errors import MachineFileError
from machinelab.workbook.machine import differences
from machinelab.workbook.machine.file import parse


def thread_of(*lines):
    return parse("\n".join(("[[thread]]", *lines))).threads[0]


@pytest.mark.parametrize(
    ("designation", "pitch_mm", "diameter_mm"),
    [
        ("M10", Fraction(3, 2), 10),
        ("M10x1-6g", Fraction(1), 10),
        ("5/16 x 26 cycle", Fraction(127, 130), 7.9375),
        ("26 tpi cycle", Fraction(127, 130), None),
        ("1/2-14 NPT", Fraction(127, 70), 21.336),
        ("2-4.5 UNC", Fraction(254, 45), 50.8),
        ("Tr14x3", Fraction(3), 14),
    ],
)
def test_the_designation_fills_in_pitch_and_diameter(designation, pitch_mm, diameter_mm):
    thread = thread_of(f'designation = "{designation}"')
    assert (thread.pitch_mm, thread.diameter_mm) == (pitch_mm, diameter_mm)
    assert (thread.starts, thread.hand) == (None, None)
    assert thread.named.pitch_mm == thread.pitch_mm


def test_the_designation_fills_in_starts_and_a_left_hand():
    thread = thread_of('designation = "Tr40x14P7 LH"')
    assert (thread.starts, thread.hand, thread.turning_lead_mm) == (2, "left", -14)


@pytest.mark.parametrize(("designation", "pitch_mm"), [("module 1", 3.14159265), ("20 DP", 3.98982267)])
def test_a_worm_fills_in_a_pitch_with_pi(designation, pitch_mm):
    thread = thread_of(f'designation = "{designation}"')
    assert float(thread.pitch_mm) == pytest.approx(pitch_mm, abs=1e-8)
    assert float(thread.named.pitch_mm) == pytest.approx(float(thread.pitch_mm), rel=1e-15)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (('designation = "M10x1"', 'pitch = "1.5 mm"'), "means pitch 1 mm"),
        (('designation = "26 tpi cycle"', 'pitch = "1 mm"'), "the line pitch says 1 mm"),
        (('designation = "26 tpi cycle"', 'pitch = "0.977 mm"'), "26 tpi"),
        (('designation = "M10x1"', 'diameter = "12 mm"'), "means diameter 10 mm"),
        (('designation = "Tr40x14P7"', "starts = 3"), "means starts 2"),
        (('designation = "M20x2.5"', "starts = 4"), "means starts 1"),
        (('designation = "M10 LH"', 'hand = "right"'), "means hand left"),
    ],
)
def test_a_designation_that_contradicts_a_line_is_told_with_both_and_the_way_out(lines, told):
    with pytest.raises(MachineFileError) as refused:
        thread_of(*lines)
    words = str(refused.value)
    assert "thread.1 (line 1)" in words
    assert told in words
    assert "or take the line" in words


def test_contradictions_of_all_threads_are_told_at_once():
    first = '[[thread]]\ndesignation = "M10x1"\npitch = "1.5 mm"\n'
    text = f'{first}[[thread]]\ndesignation = "G1/2"\npitch = "19 tpi"\n'
    with pytest.raises(MachineFileError, match="2 lines") as refused:
        parse(text)
    assert "thread.2 (line 4)" in str(refused.value)


@pytest.mark.parametrize(
    "lines",
    [
        ('designation = "M10x1"', 'pitch = "1 mm"', 'diameter = "9.9 mm"'),
        ('designation = "M10x1"', 'pitch = "25.4 tpi"'),
        ('designation = "module 1"', 'pitch = "1 module"'),
        ('designation = "24 tpi cycle"', 'diameter = "1.37 in"'),
        ('designation = "M20x2.5 4 start"', "starts = 4", 'hand = "left"'),
        ('designation = "as on the old drawing"', 'pitch = "1.1 mm"'),
    ],
)
def test_lines_that_agree_or_say_more_stand_beside_the_designation(lines):
    assert thread_of(*lines).lead_mm is not None


def test_words_of_ones_own_are_no_designation_and_fill_nothing_in():
    thread = thread_of('designation = "the quick one"')
    assert (thread.named, thread.pitch_mm, thread.diameter_mm) == (None, None, None)


def test_what_was_typed_stays_as_it_was_typed():
    machine = parse('[[thread]]\ndesignation = "M10"\n')
    assert dict(machine.typed) == {"thread.1.designation": "M10"}


def test_another_designation_changes_the_pitch_that_follows_from_it():
    before, after = (parse(f'[[thread]]\ndesignation = "{name}"\n') for name in ("M10", "M10x1"))
    assert "thread.1.pitch" in differences(before, after)
    assert before.fingerprint("thread") != after.fingerprint("thread")


def test_a_thread_with_nothing_but_its_designation_has_a_pitch_for_the_gearing():
    assert parse('[[thread]]\ndesignation = "M10x1"\n').missing("thread") == ()
