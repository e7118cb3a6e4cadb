"""One mutant tried: the tests that run its function, in a process that has not run a line of ours before."""

import contextlib
import importlib
import json
import os
import re
import signal
import sys
import time
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

# Loaded once, since they take longer than most tests; each trial is forked from here and begins with them.
LIBRARIES = (
    *("hypothesis", "matplotlib.pyplot", "numpy", "pandas", "pint", "pydantic", "sympy"),
    *("scipy.integrate", "scipy.optimize", "scipy.signal", "scipy.sparse.csgraph", "scipy.stats"),
)
# As learned while mutmut counts each call, which makes a test some three times as long.
LONGEST_TEST_S = 10.0
MOST_TESTS_S = 20.0
FEW_TESTS = 3
KILLED, SURVIVED, TOO_LONG, NO_TEST = "killed", "survived", "took too long", "no test"
# By the exit code of pytest, where 2 is an error while collecting, 3 one of its own and 4 a test that was
# learned and is no longer there; or by the signal.
_FATES = {0: SURVIVED, 1: KILLED, 2: KILLED, 3: KILLED, 4: NO_TEST, -signal.SIGKILL: TOO_LONG}
# A test that takes a shared result sees a mutant although another test was the first to ask for it.
_SHARED = re.compile(r"^@cache|^@lru_cache|scope=\"(module|session)\"", re.MULTILINE)
_EACH_ITS_OWN = {"tests/properties/test_formulas.py"}


def load_libraries() -> None:
    """Load what the tests need from others, and nothing of the house."""
    for library in LIBRARIES:
        importlib.import_module(library)


def fates(tree: Path, mutants: Iterable[str], cores: int) -> Iterator[tuple[str, str]]:
    """Try mutants, so many at once, and yield each with what became of it, as it ends.

    The processes are forked from the one thread that there is: what another thread holds locked stays locked.
    """
    running: dict[int, tuple[str, float]] = {}
    for mutant in mutants:
        planned = tests_of(tree, mutant)
        if not planned:
            yield mutant, NO_TEST
            continue
        while len(running) >= cores:
            yield from _ended(running)
        limit_s = 30 + 5 * sum(planned.values())
        running[_start(tree / "mutants", mutant, planned)] = mutant, time.monotonic() + limit_s
    while running:
        yield from _ended(running)


def pass_unharmed(tree: Path, mutants: Iterable[str]) -> bool:
    """Whether the quick tests of these mutants pass where there is no mutant: else each would seem killed."""
    tests = {test for mutant in mutants for test, seconds in tests_of(tree, mutant).items() if seconds < 0.1}
    child = _start(tree / "mutants", "", sorted(tests))
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def tests_of(tree: Path, mutant: str) -> dict[str, float]:
    """Return the tests that run a mutant's function with their seconds, the quick ones first.

    Where tests of a file share results, all tests of that file are taken.
    """
    running, seconds = _learned(tree)
    direct = _tests_that_see(running, re.sub(r"__mutmut_\d+$", "", mutant))
    files = {test.split("::")[0] for test in direct}
    sharing = {file for file in files - _EACH_ITS_OWN if _SHARED.search((tree / file).read_text("utf-8"))}
    tests = {*direct, *(test for test in seconds if test.split("::")[0] in sharing)}
    planned, total = {}, 0.0
    for test in sorted(tests, key=lambda test: (seconds[test], test)):
        total += seconds[test]
        if seconds[test] > LONGEST_TEST_S or total > MOST_TESTS_S:
            break
        planned[test] = seconds[test]
    return planned


def _tests_that_see(running: dict[str, list[str]], function: str) -> set[str]:
    """The tests that run a function, and all of its module where they are few.

    What runs while its module is loaded is put down to the test that came first, whatever that one tries.
    """
    direct = set(running.get(function, ()))
    if not 0 < len(direct) <= FEW_TESTS:
        return direct
    beside = f"{function.rpartition('.')[0]}."
    return direct.union(*(tests for name, tests in running.items() if name.startswith(beside)))


@cache
def _learned(tree: Path) -> tuple[dict[str, list[str]], dict[str, float]]:
    found = json.loads((tree / "mutants" / "mutmut-stats.json").read_text(encoding="utf-8"))
    return found["tests_by_mangled_function_name"], found["duration_by_test"]


def _start(folder: Path, mutant: str, tests: Iterable[str]) -> int:
    child = os.fork()
    if child == 0:
        os._exit(_run(folder, mutant, tests))
    return child


def _ended(running: dict[int, tuple[str, float]]) -> Iterator[tuple[str, str]]:
    """Take the trials that have ended out of the running ones, and end those that are over their time."""
    time.sleep(0.02)
    for child, (mutant, end) in list(running.items()):
        ended, status = os.waitpid(child, os.WNOHANG)
        if not ended and time.monotonic() > end:
            os.killpg(child, signal.SIGKILL)
            ended, status = os.waitpid(child, 0)
        if ended:
            del running[child]
            yield mutant, _FATES[os.waitstatus_to_exitcode(status)]


def _run(folder: Path, mutant: str, tests: Iterable[str]) -> int:
    os.setpgid(0, 0)
    os.chdir(folder)
    sys.path.insert(0, str(folder))
    os.environ |= {
        "MUTANT_UNDER_TEST": mutant,
        "PY_IGNORE_IMPORTMISMATCH": "1",
        "PYTHONPATH": str(folder),
        "CI": "true",
        "HYPOTHESIS_PROFILE": "unshrunk",
    }
    loaded_before = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    quiet = ["-x", "-q", "--rootdir=.", "--tb=native", "-p", "no:xdist", "-p", "no:cacheprovider"]
    with open(os.devnull, "w") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
        with contextlib.suppress(SystemExit):
            return int(pytest.main([*quiet, *loaded_before, *tests]))
    return 3
