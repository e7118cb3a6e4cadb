"""Which joint makes an occasional scratch: suspects ranked by what the tests found, and what to test next."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.tables import read

__all__ = ["TESTS", "Ranking", "most_telling_test", "rank_suspects"]

TABLE = "scratch_suspects"
UNDECIDED_BELOW = 3.0
_SOFT = 0.3

# Each test as a question that is answered yes or no at the machine.
TESTS = {
    "turns loose": "With the motor's pulley held, does the chuck turn a little before it springs?",
    "nose moves": "Does a dial at the spindle nose move when a bar in the chuck is pushed and pulled?",
    "slide lock cures": "Does the play at the tool vanish when the slide's gib is locked?",
    "post moves": "Does the tool or its post move against its slide when it is pushed?",
    "carriage floats": "Does the carriage shift along the bed with the screw engaged?",
    "work shifts": "Does the work move in the jaws, more so the further it stands out?",
    "at load reversal": "Does the scratch come where the cut begins, ends or is interrupted?",
    "regular spacing": "Do the marks stand at a regular spacing?",
}


@dataclass(frozen=True)
class Ranking:
    """Suspects in the order of their probability.

    Parameters
    ----------
    suspects : tuple of str
        From the most to the least probable.
    probability : tuple of float [1]
        Of each, if it is one of them and only one.
    soft_probability : tuple of float [1]
        The same if every test told much less than assumed: how far the answer hangs on the judgement.
    decided : bool
        True when the first is at least three times as probable as the second, both ways.
    next_test : str or None
        The test that would tell the most, among those not done; None when all are.
    """

    suspects: tuple[str, ...]
    probability: tuple[float, ...]
    soft_probability: tuple[float, ...]
    decided: bool
    next_test: str | None


def rank_suspects(answers: Mapping[str, bool | None]) -> Ranking:
    """Rank what may have made a scratch by the answers to simple tests.

    Formula
    -------
    none: naive Bayes with equal priors over the table ``scratch_suspects``; a test not done counts for
    nothing

    Parameters
    ----------
    answers : mapping of str to bool or None
        For each test of `TESTS`: yes, no, or None for not done. Those that are left out are not done.

    Returns
    -------
    Ranking
        Suspects with probabilities, whether that decides it, and the next test.

    Range
    -----
    Any tests of the table; the table is judgement, so a softened one is computed beside it.

    Raises
    ------
    RangeError
        If a test is unknown.

    Examples
    --------
    >>> found = rank_suspects({"turns loose": True, "nose moves": False, "at load reversal": True})
    >>> found.suspects[0], found.decided
    ('lost motion between motor and spindle', True)

    Source
    ------
    Bayes' rule, textbook. The likelihoods are judgement, no source.
    """
    unknown = sorted(set(answers) - set(TESTS))
    if unknown:
        raise RangeError(f"There is no test {unknown[0]!r}; the tests are {', '.join(TESTS)}.")
    names, yes = _likelihoods()
    done = {test: said for test, said in answers.items() if said is not None}
    posterior = _posterior(yes, done)
    soft = _posterior(np.where(yes > 0.5, 1 - _SOFT, _SOFT), done)
    order = sorted(range(posterior.size), key=posterior.__getitem__, reverse=True)
    first, second = order[:2]
    decided = all(one[first] >= UNDECIDED_BELOW * one[second] for one in (posterior, soft))
    return Ranking(
        suspects=tuple(names[place] for place in order),
        probability=tuple(float(one) for one in posterior[order]),
        soft_probability=tuple(float(one) for one in soft[order]),
        decided=bool(decided),
        next_test=most_telling_test(answers),
    )


def most_telling_test(answers: Mapping[str, bool | None]) -> str | None:
    """The test, among those not done, whose answer is expected to tell the most.

    Formula
    -------
    none: largest expected fall of the entropy of the suspects' probabilities

    Parameters
    ----------
    answers : mapping of str to bool or None
        As for `rank_suspects`.

    Returns
    -------
    str or None
        Its name in `TESTS`; None when every test is done.

    Range
    -----
    Any answers.

    Examples
    --------
    >>> most_telling_test(dict.fromkeys(TESTS, False)) is None
    True

    Source
    ------
    Expected information, Shannon: textbook.
    """
    _, yes = _likelihoods()
    done = {test: said for test, said in answers.items() if said is not None}
    open_tests = [test for test in TESTS if test not in done]
    if not open_tests:
        return None
    now = _posterior(yes, done)

    def expected_entropy(test: str) -> float:
        chance = float(now @ yes[:, list(TESTS).index(test)])
        after = [
            (_posterior(yes, {**done, test: said}), share)
            for said, share in ((True, chance), (False, 1 - chance))
        ]
        return sum(share * _entropy(probability) for probability, share in after)

    return min(open_tests, key=expected_entropy)


def _likelihoods() -> tuple[list[str], np.ndarray]:
    rows = read(TABLE)
    names = list(dict.fromkeys(row["suspect"] for row in rows))
    share = {(row["suspect"], row["test"]): float(row["yes_share"]) for row in rows}
    return names, np.array([[share[name, test] for test in TESTS] for name in names])


def _posterior(yes: np.ndarray, done: Mapping[str, bool]) -> np.ndarray:
    """Probability of each suspect; a test tells by how often each would have answered so."""
    from scipy.special import softmax

    log_share = np.zeros(len(yes))
    for place, test in enumerate(TESTS):
        if test in done:
            log_share += np.log(yes[:, place] if done[test] else 1 - yes[:, place])
    return softmax(log_share)


def _entropy(probability: np.ndarray) -> float:
    from scipy.stats import entropy

    return float(entropy(probability))
