"""Whatever is typed for a thread ends as a thread that reads back, or in our own words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machinelab.errors import MachinelabError, RangeError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.form import parse
from machinelab.threads.standard_sizes import standard_sizes

LONGEST_MESSAGE = 400
SIZES = st.sampled_from(standard_sizes())
HANDS = st.sampled_from(["", " LH", "-LH", " left hand", " RH"])
STARTS = st.sampled_from(["", " 2 start", " 3 starts", ", 4-start"])
PIECES = st.lists(
    st.sampled_from(
        [
            *(
                "M",
                "Tr",
                "G",
                "R",
                "#",
                "No. ",
                "1/4",
                "1-1/4",
                "10",
                "20",
                "1.5",
                ".75",
                "26 tpi",
                "0",
                "1/0",
            ),
            *("x", "-", " ", "×", "*", "/", "(", ")", "P", "Ph", '"', " in", ",", "½"),
            *("UNC", "UNF", "UN", "UNS", "BSW", "Whitworth", "cycle", "CEI", "Acme", "NPT", "BSP"),
            *("6g", "6H/6g", "2A", "7e", "medium", "LH", "left hand", "2 start", "99 starts", "special"),
            *("module", "m=", "DP", "worm", "coarse", "fine", "9999", "0.0001"),
        ]
    ),
    max_size=9,
).map("".join)


def read(typed):
    """The thread, or the words of the refusal."""
    try:
        return parse(typed)
    except MachinelabError as refused:
        return str(refused)


def read_back(typed):
    """The thread that is meant, checked to read back; None where it was refused in our own words."""
    thread = read(typed)
    if isinstance(thread, str):
        assert 0 < len(thread) <= LONGEST_MESSAGE
        return None
    assert parse(thread.designation) == thread
    assert thread.pitch_mm > 0
    assert thread.hand in ("left", "right")
    assert thread.starts >= 1
    if thread.nominal_diameter_mm is not None:
        sizes = basic_sizes(thread)
        assert 0 < sizes.root_diameter_mm < sizes.pitch_diameter_mm < sizes.major_diameter_mm
        assert sizes.root_diameter_mm <= sizes.minor_diameter_mm
    return thread


@given(st.text(max_size=150))
def test_any_text_ends_as_a_thread_or_in_our_own_words(text):
    read_back(text)


@given(PIECES)
def test_any_pieces_of_designations_end_as_a_thread_or_in_our_own_words(text):
    read_back(text)


@given(SIZES, HANDS, STARTS)
def test_every_standard_size_reads_back_with_its_hand_and_its_starts(size, hand, starts):
    thread = read_back(size.designation + starts + hand)
    assert thread.nominal_diameter_mm == size.nominal_diameter_mm
    assert thread.pitch_mm == size.pitch_mm
    assert thread.series == size.series
    assert thread.form == size.form
    assert thread.hand == ("left" if "L" in hand or "left" in hand else "right")
    assert thread.starts == next((int(sign) for sign in starts if sign.isdigit()), 1)


@given(SIZES, st.sampled_from(["x", "X", " x ", "*", " × "]), st.sampled_from([str.lower, str.upper, str]))
def test_blanks_case_and_the_sign_between_size_and_pitch_do_not_matter(size, sign, case):
    apart = size.designation
    if size.series in ("metric coarse", "metric fine", "Tr"):
        apart = case(apart).replace("x", sign).replace("X", sign)
    assert read_back(apart) == parse(size.designation)


@given(st.decimals(1, 300, places=2), st.decimals("0.1", 6, places=2))
def test_a_metric_thread_of_no_series_is_taken_only_when_it_is_said_to_be_special(diameter, pitch):
    plain, special = f"M{diameter}x{pitch}", f"M{diameter}x{pitch} special"
    listed, meant = read_back(plain), read_back(special)
    if listed is not None:
        assert meant == listed
    if meant is not None:
        assert (meant.nominal_diameter_mm, meant.pitch_mm) == (diameter, pitch)


@given(st.integers(1, 6000))
def test_a_very_long_designation_is_refused_at_once(length):
    for sign in ("9", "x", " ", "-", "M1", "1/4-"):
        read_back(sign * length)


@pytest.mark.parametrize(
    ("typed", "designation", "series", "inches", "form"),
    [
        # A series of constant pitch takes sixteenths of an inch; what is not in a table says its series.
        ("9/16-16 UN", "9/16-16 UN", "UN", Fraction(9, 16), "Unified"),
        ("1-1/16-16 UN", "1-1/16-16 UN", "UN", Fraction(17, 16), "Unified"),
        ("1-12 UN", "1-12 UNF", "UNF", Fraction(1), "Unified"),
        ("7/16-27 UNS", "7/16-27 UNS", "UNS", Fraction(7, 16), "Unified"),
        ("11/64-40 UNS", "11/64-40 UNS", "UNS", Fraction(11, 64), "Unified"),
        ("0.3-40 UNS", "0.3-40 UNS", "UNS", Fraction(3, 10), "Unified"),
        ("13/32-24 BSF special", "13/32-24 BSF special", "special", Fraction(13, 32), "Whitworth"),
        ("rp1/2", "Rp1/2", "Rp", Fraction("20.955") / Fraction("25.4"), "Whitworth"),
        ("RC 1/2", "Rc1/2", "Rc", Fraction("20.955") / Fraction("25.4"), "Whitworth"),
        ("r 1/2", "R1/2", "R", Fraction("20.955") / Fraction("25.4"), "Whitworth"),
    ],
)
def test_inch_and_pipe_threads_are_written_in_the_settled_way(typed, designation, series, inches, form):
    thread = parse(typed)
    assert (thread.designation, thread.series, thread.form.name) == (designation, series, form)
    assert thread.nominal_diameter_mm == inches * Fraction("25.4")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (
            "9/64-16 UN",
            r"^9/64-16 UN is in no series .* meant as it stands, type UNS for the series\.$",
        ),
        ("13/32-24 BSF", r" If it is meant as it stands, add the word special\.$"),
        (
            "13/32-24",
            r" Without a word for the form the Unified series are meant: type BSW, BSF, BSC",
        ),
        (
            "G7/9",
            r"^G7/9: there is no G thread of that size\. The sizes are 1/16, .* after a pipe's bore\.$",
        ),
        (
            "26 tpi cycle-6g",
            r"^26 tpi cycle-6g: threads of the cycle form have no class that is known",
        ),
        ("M10-6H LH LH", r"^The thread's hand is said twice; leave one of them out\.$"),
        ("M10x1 0 start", r"^0 starts: a thread has from 1 to 24; type it like 2 start\.$"),
        ("M10x1 25 starts", r"^25 starts: a thread has from 1 to 24; type it like 2 start\.$"),
    ],
)
def test_what_no_table_has_is_refused_with_what_to_type_instead(typed, told):
    with pytest.raises(RangeError, match=told):
        parse(typed)
