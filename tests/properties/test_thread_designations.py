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


@pytest.mark.parametrize(
    ("typed", "designation", "series", "starts"),
    [
        ("1/2 BSP", "G1/2", "G", 1),
        ("BSPP 3/4", "G3/4", "G", 1),
        ("1/2 bspt", "R1/2", "R", 1),
        ("npt 1/2", "1/2-14 NPT", "NPT", 1),
        ("G 1-1/2 x 11 2 start", "G1-1/2 2 start", "G", 2),
        ("m 1 worm", "module 1", "worm", 1),
        ("1.5 mod", "module 1.5", "worm", 1),
        ("m=1,5 2 start", "module 1.5 2 start", "worm", 2),
        ("24 dp worm", "24 DP", "worm", 1),
        ("dp 20", "20 DP", "worm", 1),
        ("BA 4", "4 BA", "BA", 1),
        ("#04 b.a.", "4 BA", "BA", 1),
        ("no 4 ba 3 starts", "4 BA 3 start", "BA", 3),
        ("M10x1 three starts", "M10xPh3P1", "metric fine", 3),
        ("M30xPh24P1", "M30xPh24P1", "metric fine", 24),
        ("Tr40x21P7", "Tr40x21P7", "Tr", 3),
        ("12 tpi Whitworth", "12 tpi BSW", "BSW", 1),
        ("11-1/2 tpi UN", "11.5 tpi UN", "UN", 1),
        ("cycle 26 tpi", "26 tpi cycle", "BSC", 1),
        ("cei 1/4 x 26", "1/4-26 BSC", "BSC", 1),
        ("1-72", "#1-72 UNF", "UNF", 1),
        ('1" - 8', "1-8 UNC", "UNC", 1),
        ("#10 UNC", "#10-24 UNC", "UNC", 1),
        ("1/4-20 UNS", "1/4-20 UNC", "UNC", 1),
        ("1.375-24 UNS", "1-3/8-24 UNS", "UNS", 1),
        ("0.3-25 BSW special", "0.3-25 BSW special", "special", 1),
        ("1-3/32-30 BSF special", "1-3/32-30 BSF special", "special", 1),
        ("3/8-24 special", "3/8-24 UNF", "UNF", 1),
    ],
)
def test_every_way_to_say_a_thread_ends_in_the_settled_one(typed, designation, series, starts):
    thread = parse(typed)
    assert (thread.designation, thread.series, thread.starts) == (designation, series, starts)
    assert thread.lead_mm == starts * thread.pitch_mm
    assert parse(designation) == thread


NO_SERIES = r" is in no series that is known here\. The nearest are "
WHOLE_NUMBER_OF_TIMES = (
    r" mm a whole number of times\. Type the lead and behind the P the pitch: Tr40x14P7, M16x"
)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        # Only threads of the form that was said are named, nearest first; a bar is turned already.
        ("M47", rf"^M47{NO_SERIES}M48x5, M48x4 and M48x3\. Type the pitch behind it, such as M10x1\.$"),
        ("M47x1.5", rf"^M47x1\.5{NO_SERIES}M48x1\.5, M45x1\.5 and M50x1\.5\. If .* add the word special\.$"),
        ("M0", rf"^M0{NO_SERIES}M1x0\.25, M1x0\.2 and M1\.1x0\.25\. Type the pitch"),
        ("M10x1.05", rf"^M10x1\.05{NO_SERIES}M10x1, M10x1\.25 and M11x1\. If it is meant as it stands"),
        ("Tr20x3.3", rf"^Tr20x3\.3{NO_SERIES}Tr20x4, Tr22x3 and Tr20x2\. If it is meant as it stands"),
        ("Tr0x2", rf"^Tr0x2{NO_SERIES}Tr9x2, Tr10x2 and Tr11x2\. If"),
        (
            "Tr20x9P3",
            rf"^Tr20x9P3{NO_SERIES}Tr22x3, .* Of several starts type the lead and behind the P the pi",
        ),
        (
            "Tr20x3",
            rf"^Tr20x3{NO_SERIES}Tr22x3, Tr20x4 and Tr20x2\. If .* add the word special\.$",
        ),
        ("1.375-24 BSW", rf"^1\.375-24 BSW{NO_SERIES}1-3/8-8 BSF, 1-1/4-9 BSF and 1-1/2-8 BSF\. If it is"),
        ("1/0-20 UNC", rf"^1/0-20 UNC{NO_SERIES}1/4-20 UNC, 7/16-20 UNF and 1/2-20 UNF\. If it is meant"),
        (
            "1/4-20-1/0 UNS",
            rf"{NO_SERIES}1/4-20 UNC, 1/4-28 UNF and 1/4-32 UNEF\. If .* type UNS for the ser",
        ),
        (
            "1.375-24",
            r"^1\.375-24: the cycle form .* is 1\.37-24 BSC\. 1\.375 in is the same fit in the ISO form",
        ),
        ("1.375-24 cycle", r"^1\.375-24 cycle: .*, as ISO 6696 has it: type 1\.375-24 UNS for that\.$"),
        # What could be two threads names both.
        ("1/4-20 thread", r" known here\. Did you mean 1/4-20 UNC or 1/4-20 BSW\?$"),
        ("M10 fine", r"does not say which fine pitch: type one of M10x1\.25, M10x1, M10x0\.75\.$"),
        ("1/4 Whitworth", r"^1/4 Whitworth does not say which: type 1/4-20 BSW or 1/4-26 BSF\.$"),
        ("1/4", r"^1/4 does not say which: type 1/4-20 UNC or 1/4-28 UNF or 1/4-32 UNEF\.$"),
        ("1 UNC", r"^1 UNC could be #1-64 UNC or 1-8 UNC: type the one that is meant\.$"),
        (
            "26 tpi",
            r"^26 tpi does not say the form .* such as 26 tpi cycle or 26 tpi BSF; 26 tpi is not 1 mm\.$",
        ),
        ("G1/2-13", r"^G1/2-13: G of 1/2 in has 14 threads to the inch\. Type G1/2\.$"),
        ("17 BA", r"^17 BA: the BA threads are numbered from 0 BA \(6 mm\) to 16 BA \(0\.79 mm\)\.$"),
        # What cannot be cut.
        ("M16xPh3P2", rf"^A lead of 3 mm does not hold a pitch of 2{WHOLE_NUMBER_OF_TIMES}"),
        ("Tr40x14P0", rf"^A lead of 14 mm does not hold a pitch of 0{WHOLE_NUMBER_OF_TIMES}"),
        ("M30xPh25P1", r"^M30xPh25P1 would have 25 starts; there are at most 24\.$"),
        ("module 0", r"^module 0 has a pitch of 0 mm; threads have from 0\.05 to 60 mm\.$"),
        ("0 DP", r"^0 DP has a pitch of 0 mm; threads have from 0\.05 to 60 mm\.$"),
        ("20-1/0 tpi cycle", r"^20-1/0 tpi cycle has a pitch of 0 mm; threads have from 0\.05 to 60 mm\.$"),
        ("Tr100x70 special", r"^Tr100x70 special has a pitch of 70 mm; threads have from 0\.05 to 60 mm\.$"),
        (
            "1/4-2 UNS",
            r"^1/4-2 UNS would be cut 7\.79 mm deep into 6\.35 mm: too coarse a pitch for its diameter\.",
        ),
        # Classes of another form.
        ("M10-2A", r"^M10-2A: 2A is no class of .* ISO metric form\. Type 6g for a screw, 6H for a nut\.$"),
        (
            "1/4-20-6g",
            r"6g is no class of tolerance of the Unified form\. Type 2A for a screw, 2B for a nut\.$",
        ),
        ("Tr40x7-2A", r"2A is no class of .* the trapezoidal form\. Type 7e for a screw, 7H for a nut\.$"),
        ("4 BA free", r"^4 BA free: free is no class of tolerance of the BA form\. Type normal\.$"),
        ("R1/2-A", r"^R1/2-A: threads of the Whitworth form have no class that is known here\.$"),
    ],
)
def test_a_slip_in_a_designation_is_told_as_what_it_is(typed, told):
    with pytest.raises(RangeError, match=told):
        parse(typed)


@pytest.mark.parametrize(
    ("form", "largest", "refused"),
    # Three times the depth of crest and root together stands for the thinnest bar: of M it is 1.84 pitches.
    [
        ("M10x{} special", "5.43", "5.44"),
        ("Tr20x{} special", "13.33", "13.34"),
        ("M10x{} special", "0.05", "0.049"),
    ],
)
def test_a_special_thread_is_cut_as_coarse_as_its_bar_bears_and_no_coarser(form, largest, refused):
    assert parse(form.format(largest)).pitch_mm == Fraction(largest)
    with pytest.raises(RangeError, match=r"too coarse a pitch|has a pitch of 0\.049"):
        parse(form.format(refused))


def test_every_listed_size_says_where_it_comes_from_and_the_preferred_ones_that_they_are():
    assert all("read" in size.source or "memory" in size.source for size in standard_sizes())
    remarks = {size.size: size.remark for size in standard_sizes("metric coarse")}
    assert remarks["10"].startswith("first choice")
