"""Whatever is typed ends, quickly, in a value or in our own error; whatever is shown can be typed again."""

import time
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from machinelab import tables, units
from machinelab.controls.conductors import awg_area_mm2
from machinelab.errors import UnitError
from machinelab.tables import trade_units

KINDS = tuple(trade_units.kinds())
LONGEST_WAIT_S = 0.05

spellings = st.sampled_from(
    sorted({spelling for kind in trade_units.kinds().values() for unit in trade_units.units_of(kind)
            for spelling in (unit.symbol, *unit.spellings)})
)  # fmt: skip
number_like = st.text("0123456789.,/-+eE ½¼\u00a0'\"^*()%", max_size=20)
typed_texts = st.one_of(
    st.text(max_size=30),
    st.text(st.characters(), max_size=120),
    st.builds("{}{}{}".format, number_like, st.sampled_from(["", " ", "  ", "\t"]), spellings),
    st.builds(
        "{} {} {} {}".format,
        number_like,
        spellings,
        st.sampled_from(["in", "per", "·", "and", "/"]),
        number_like,
    ),
)


@pytest.fixture(scope="module", autouse=True)
def _registry_is_built():
    units.number("1 in", "mm")


def answer_to(text, field):
    """What a box says to a text: a reading, or words."""
    try:
        return units.read(text, field)
    except UnitError as problem:
        return str(problem)


def seconds_for(text, field):
    """The processor's time that one reading takes."""
    started = time.process_time()
    answer_to(text, field)
    return time.process_time() - started


@settings(max_examples=600, deadline=None)
@given(text=typed_texts, kind=st.sampled_from(KINDS))
@example(text="9**9**9**9**9 mm", kind="length")
@example(text="1e999999999 mm", kind="length")
@example(text="1e-999999999 mm", kind="length")
@example(text="9" * 10_000, kind="length")
@example(text="1" * 95 + " mm", kind="length")
@example(text="-" * 99, kind="length")
@example(text="1/" * 49, kind="length")
@example(text="nan mm", kind="length")
@example(text="inf V", kind="voltage")
@example(text="1e30 tpi", kind="lead")
@example(text="0/1 tpi", kind="lead")
@example(text="1 mm in 0 mm", kind="slope")
@example(text="3.175 mm · 0 tpi", kind="lead")
@example(text="\ud800 mm", kind="length")
@example(text="²³ mm", kind="length")
@example(text="٣ mm", kind="length")
def test_any_text_ends_quickly_in_a_value_or_in_our_own_error(text, kind):
    field = units.Field(name="Any box", kind=kind)
    # A busy computer may hold up one try; a text that hangs the reader is slow every time.
    assert any(seconds_for(text, field) < LONGEST_WAIT_S for _ in range(3))
    answer = answer_to(text, field)
    if isinstance(answer, str):
        assert answer.startswith("Any box: ")
        assert len(answer) < 700
    else:
        assert isinstance(answer.value, Fraction)
        assert answer.shown


@pytest.mark.parametrize("typed", [None, 8, 8.0, True, b"8 mm", ["8 mm"], {}, float("nan")])
def test_what_is_no_text_at_all_is_refused_in_our_own_words(typed):
    with pytest.raises(UnitError):
        units.read(typed, units.Field(name="Any box", kind="length"))


@settings(deadline=None)
@given(
    kind=st.sampled_from(KINDS),
    value=st.floats(min_value=1e-6, max_value=1e9)
    | st.fractions(min_value=Fraction(1, 1000), max_value=10_000),
)
def test_what_is_shown_can_be_typed_again(kind, value):
    unit = trade_units.kinds()[kind].unit
    shown = units.show(value, unit, kind=kind)
    if trade_units.kinds()[kind].whole:
        value = round(value)
        shown = units.show(value, unit, kind=kind)
    again = units.read(shown, units.Field(name="Any box", kind=kind)).number
    assert again == pytest.approx(float(value), rel=1e-4)


@settings(deadline=None)
@given(value=st.decimals(min_value=0, max_value=10_000, places=4), unit=st.sampled_from(["mm", "in", "thou"]))
def test_a_typed_decimal_is_taken_exactly(value, unit):
    one = units.exact(f"1 {unit}", "mm")
    assert units.exact(f"{value} {unit}", "mm") == Fraction(value) * one


@settings(deadline=None)
@given(whole=st.integers(0, 99), over=st.integers(1, 127), under=st.integers(2, 128))
def test_all_ways_of_writing_a_mixed_fraction_agree(whole, over, under):
    if over >= under:
        over, under = under - 1, under
    expected = Fraction(254, 10) * (whole + Fraction(over, under))
    for text in (
        f"{whole}-{over}/{under} in",
        f'{whole} {over}/{under}"',
        f"{whole} - {over} / {under} inches",
    ):
        assert units.exact(text, "mm") == expected


@given(text=typed_texts)
@settings(deadline=None)
def test_the_readers_without_a_field_know_no_other_error(text):
    for unit in ("mm", "rpm", "tpi", "ppm", "count"):
        try:
            units.exact(text, unit)
        except UnitError:
            continue


@pytest.mark.parametrize("typed", ["12 AWG", "12awg", "AWG 12", "12 ga", "gauge 12", "12 AWG · 3.31 mm²"])
def test_a_wire_may_be_typed_by_its_gauge(typed):
    assert units.exact(typed, "mm^2") == Fraction("3.31")


def test_the_gauges_that_may_be_typed_are_those_of_the_law_of_the_gauge():
    """Thirty-nine equal ratios from 0.005 in to 0.46 in: ASTM B258, from memory, to three figures."""
    for row in tables.read("wire_gauges"):
        computed = float(awg_area_mm2(int(row["gauge"])))
        assert float(row["area_mm2"]) == float(f"{computed:.3g}"), row["gauge"]


@pytest.mark.parametrize("typed", ["45 AWG", "12.5 AWG", "-12 AWG", "AWG", "12 AWG 3"])
def test_a_gauge_that_is_none_is_refused_in_words(typed):
    with pytest.raises(UnitError):
        units.exact(typed, "mm^2")


def test_a_gauge_is_no_length():
    with pytest.raises(UnitError, match="unit that is not known"):
        units.exact("12 AWG", "mm")
