"""No check of the spindle's drive is kept for show: each one in the data files is named by a test."""

import ast
import json
from pathlib import Path

import pytest

HERE = Path(__file__).parent
FILES = ("brake", "coastdown", "cutting", "meter", "motor_and_pulleys")
ROWS = [(file, row) for file in FILES for row in json.loads((HERE / "data" / f"{file}.json").read_text())]
# The checks that were handed over from outside; whatever else stands in the files came later.
HANDED_OVER = 58


def words_of(tests):
    """Every string that the code of the tests uses; what only their descriptions say does not count."""
    for file in tests:
        tree = ast.parse(file.read_text(encoding="utf-8"))
        said = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        yield from (
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said
        )


TESTED = set(words_of(file for file in HERE.glob("test_*.py") if file != Path(__file__)))


def is_tested(name):
    """A check is named by a test outright, or is one of NIST's sets, all of which are fitted."""
    prefix, _, data_set = name.partition("B-nist-")
    return name in TESTED or (not prefix and (HERE / "data" / "nist_strd" / f"{data_set}.dat").is_file())


@pytest.mark.parametrize(("file", "row"), ROWS, ids=[f"{file} {row['id']}" for file, row in ROWS])
def test_every_check_is_named_by_a_test_and_names_its_source(file, row):
    assert is_tested(row["id"])
    assert row["source"]


def test_a_check_without_a_test_is_noticed():
    assert not is_tested("B-coast-3")
    assert not is_tested("B-nist-Nelson")


def test_all_checks_that_were_handed_over_are_here():
    names = {row["id"] for _, row in ROWS}
    later = {"C-energy-2", "C-stops", "D-rpm", "D-turntable", "E-turn-4"}
    assert len(names - later) == HANDED_OVER
