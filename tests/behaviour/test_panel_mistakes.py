"""What is wrong with the description of a control box is told at once, in words, and quickly."""

import copy
import time
import tomllib
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machinelab.controls.panel_reading import read_panel
from machinelab.controls.rung import DEEPEST_RUNG, read_rung
from machinelab.errors import PanelError

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

DATA = Path(__file__).resolve().parents[1] / "outside" / "data"
AS_FOUND = tomllib.loads((DATA / "panel_as_found.toml").read_text())
CONTACTS = {"ES1", "K1", "S1"}


@pytest.mark.parametrize(
    ("rung", "words"),
    [
        ("ES1 & K1", "Write the word: ES1 and K1"),
        ("ES1 || K1", "Write the word: ES1 or K1"),
        ("!ES1", "Write the word: not ES1"),
        ("K1 = ES1", "only what stands right of the equals sign: ES1"),
        ("ESI and K1", "ESI is no contact of this panel. Nearest: ES1 (letter I or figure 1?)."),
        ("ES1 and", "a name is missing at the end"),
        ("ES1 K1", "side by side"),
        ("ES1 (K1)", "side by side"),
        ("ES1 AND K1", "Column 5: write and in small letters"),
        ("ES1 if K1 else S1", "if cannot be a contact"),
        ("ES1 and 1", "1 is not read here"),
        ("ES1.closed", ". is not read here"),
        ("ES1 < K1", "< is not read here"),
        ("", "A rung is text in quotes"),
        (7, "A rung is text in quotes"),
        ("__import__('os')", "is not read here"),
        ("ES1 and " * 80 + "K1", "500 are allowed"),
        ("not " * (DEEPEST_RUNG + 1) + "ES1", "nested more than"),
    ],
)
def test_a_rung_that_cannot_be_read_says_what_to_write(rung, words):
    with pytest.raises(PanelError) as told:
        read_rung(rung, CONTACTS)
    assert words in str(told.value)


@pytest.mark.parametrize(
    "hostile",
    [
        "(" * 10_000,
        "not " * 2_500,
        "ES1 and " * 1_250,
        "9" * 10_000,
        "[" * 490,
        "(" * 250 + ")" * 250,
        "\x00ES1",
    ],
)
def test_a_hostile_rung_ends_in_a_message_at_once(hostile):
    begun = time.process_time()
    with pytest.raises(PanelError):
        read_rung(hostile, CONTACTS)
    assert time.process_time() - begun < 0.2


@given(st.text(alphabet="ESK1 ()andornot&=.,'\n\t_0µ", max_size=60))
def test_whatever_is_typed_as_a_rung_is_read_or_refused_in_words(text):
    try:
        rung = read_rung(text, CONTACTS)
    except PanelError:
        return
    assert rung.names <= CONTACTS


def test_every_mistake_of_a_description_is_told_at_once_with_its_place():
    box = copy.deepcopy(AS_FOUND)
    box["switch"]["guard"]["init"] = "closed"
    box["contact"]["G1"] = {"of": "gaurd", "closed": ["shut"]}
    box["relay"]["K9"] = {"coil": "MAINS and K8_a"}
    box["load"]["drive"]["kind"] = "motor"
    box["motor"]["mill"]["source"] = "driver"
    box["rules"]["start_actions"] = ["dir:forward"]
    box["lamps"] = {}
    with pytest.raises(PanelError) as told:
        read_panel(box, line_of={"relay.K9.coil": 41}.get)
    words = str(told.value)
    for said in (
        "switch.guard.init: closed is no init here",
        "contact.G1.of: gaurd is no of here. Nearest: guard.",
        "line 41, relay.K9.coil: Column 11: K8_a is no contact",
        "K9 has no contacts, so it does nothing",
        "load.drive.kind: motor is no kind here",
        "motor.mill.source: driver is no source here. Nearest: drive.",
        "rules.start_actions: forward is no position of dir here",
        "lamps: lamps is not known here",
    ):
        assert said in words


@pytest.mark.parametrize("count", [17, 30, 5_000])
def test_more_switches_than_can_be_followed_are_refused_at_once(count):
    box = {"switch": {f"s{n}": {"pos": ["off", "on"]} for n in range(count)}}
    with pytest.raises(PanelError, match=f"{count} of \\[switch\\] are more than can be followed"):
        read_panel(box)


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@given(
    st.sampled_from(["switch", "contact", "relay", "load", "motor", "sensor", "rules"]),
    st.sampled_from(
        ["pos", "init", "of", "closed", "coil", "no", "pickup_ms", "on", "source", "fwd", "gap_ms", "rpm"]
    ),
    ANYTHING,
)
def test_whatever_stands_in_a_table_is_read_or_refused_in_words(table, key, value):
    box = copy.deepcopy(AS_FOUND)
    if table == "rules":
        box["rules"][key] = value
    else:
        box.setdefault(table, {})["X"] = {key: value}
    with suppress(PanelError):
        assert read_panel(box).loads
