"""The core of every fit here against certified results: NIST's reference data sets for nonlinear regression.

Readings, model, both starting points and certified values are read from NIST's own files (data/nist_strd). A
scale beyond every residual makes all readings count alike, so that the robust fit is plain least squares.
"""

import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import sympy
from inspection.source import CERTIFIED, READ, Source

from machinelab.errors import LogError
from machinelab.spindle import robust_fit as engine
from machinelab.spindle.robust_fit import RobustFit, robust_fit

ROOM = "spindle"
CERTIFIED_BY_NIST = Source(
    CERTIFIED,
    "NIST StRD, nonlinear regression (files of the institute, data/nist_strd)",
    READ,
    "digits that count",
)

DATA = Path(__file__).parent / "data"
SETS = sorted(file.stem for file in (DATA / "nist_strd").glob("*.dat"))
ROWS = {
    row["inputs"]["set"]: row
    for row in json.loads((DATA / "coastdown.json").read_text())
    if row["id"].startswith("B-nist-")
}
FEWEST_DIGITS, FEWEST_DIGITS_OF_DEVIATION = 6, 4
FAR_BEYOND_EVERY_RESIDUAL = 1e6


@dataclass(frozen=True)
class Certified:
    """One data set as its file states it."""

    starts: np.ndarray
    parameters: np.ndarray
    deviations: np.ndarray
    sum_of_squares: float
    x: np.ndarray
    y: np.ndarray
    model: sympy.Expr

    @property
    def names(self) -> list[str]:
        """The parameters as the files call them."""
        return [f"b{place + 1}" for place in range(self.parameters.size)]

    def predict(self):
        """Prediction and derivatives of the printed model, None where it gives no number."""
        names = sympy.symbols(self.names)
        terms = [self.model, *(sympy.diff(self.model, name) for name in names)]
        evaluated = sympy.lambdify([sympy.Symbol("x"), names], terms)

        def predict(parameters):
            with np.errstate(all="ignore"):
                each = evaluated(self.x, parameters)
                told = np.array([np.broadcast_to(term, self.x.shape) for term in each])
            return (told[0], told[1:].T) if np.isfinite(told).all() else (None, None)

        return predict


@cache
def certified(name) -> Certified:
    text = (DATA / "nist_strd" / f"{name}.dat").read_text(encoding="ascii")
    table = np.array([line.split() for line in re.findall(r"^ +b\d+ =(.*)$", text, re.MULTILINE)], float)
    first, last = map(int, re.search(r"Data +\(lines (\d+) to +(\d+)\)", text).groups())
    y, x = np.array([line.split() for line in text.splitlines()[first - 1 : last]], float).T
    printed = re.search(r"^ +y +=(.*?)\+ +e *$", text, re.MULTILINE | re.DOTALL)[1]
    model = sympy.sympify(" ".join(printed.split()).translate(str.maketrans("[]", "()")))
    squares = float(re.search(r"Residual Sum of Squares: +(\S+)", text)[1])
    return Certified(table[:, :2].T, table[:, 2], table[:, 3], squares, x, y, model)


@cache
def fitted(name, start) -> RobustFit:
    wanted = certified(name)
    scale = FAR_BEYOND_EVERY_RESIDUAL * float(np.ptp(wanted.y))
    return robust_fit(wanted.predict(), wanted.starts[start], wanted.y, smallest_scale=scale)


def digits(found, wanted):
    """How many leading digits agree, of the figure that agrees worst: minus the log of the relative error."""
    return -np.log10(np.max(np.abs(found / wanted - 1)) + 1e-15)


@pytest.mark.parametrize("start", [0, 1], ids=["far start", "near start"])
@pytest.mark.parametrize("name", SETS)
def test_parameters_agree_with_the_certified_ones_to_six_digits(compare, name, start):
    found, wanted = fitted(name, start), certified(name)
    assert digits(found.parameters, wanted.parameters) >= FEWEST_DIGITS
    near = {"rel": 10.0**-FEWEST_DIGITS, "abs": 0.0}
    told = f"{name}: from start {start + 1}"
    compare(told, found.parameters, wanted.parameters, CERTIFIED_BY_NIST, each=wanted.names, **near)
    compare(
        f"{name}: sum of squares from start {start + 1}",
        np.sum(found.residuals**2),
        wanted.sum_of_squares,
        CERTIFIED_BY_NIST,
        rel=1e-9,
    )


@pytest.mark.parametrize("start", [0, 1], ids=["far start", "near start"])
@pytest.mark.parametrize("name", SETS)
def test_standard_deviations_agree_with_the_certified_ones_to_four_digits(compare, name, start):
    """NIST takes readings for independent; ours widen where neighbours err alike, which is undone here."""
    found, wanted = fitted(name, start), certified(name)
    deviations = np.sqrt(np.diag(found.covariance) / found.neighbours)
    assert digits(deviations, wanted.deviations) >= FEWEST_DIGITS_OF_DEVIATION
    near = {"rel": 10.0**-FEWEST_DIGITS_OF_DEVIATION, "abs": 0.0}
    told = f"{name}: standard deviation from start {start + 1}"
    compare(told, deviations, wanted.deviations, CERTIFIED_BY_NIST, each=wanted.names, **near)


@pytest.mark.parametrize("name", ROWS)
def test_the_files_certify_what_was_noted_from_them_elsewhere(name):
    row, file = ROWS[name], certified(name)
    assert file.y.size == row["inputs"]["n_obs"]
    assert file.parameters == pytest.approx(row["expected"]["b"], rel=1e-12)
    assert file.sum_of_squares == pytest.approx(row["expected"]["rss"], rel=1e-12)


def test_there_are_sets_of_every_difficulty_and_each_noted_one_among_them():
    assert len(SETS) == 11
    assert set(ROWS) <= set(SETS)


def test_a_search_that_is_cut_off_is_refused_and_not_handed_on_as_a_fit(monkeypatch):
    monkeypatch.setattr(engine, "_MOST_TRIALS", 20)
    wanted = certified("Bennett5")
    with pytest.raises(LogError, match="did not come to an end"):
        robust_fit(wanted.predict(), wanted.starts[0], wanted.y, smallest_scale=1.0)
