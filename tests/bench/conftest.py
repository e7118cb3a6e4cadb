"""One table of all that was measured, beside the run before it, and kept as JSON for the next."""

import json
import platform
from datetime import UTC, datetime
from pathlib import Path

import numpy
import pandas as pd
import pytest
from bench.figures import Figure, Figures, as_table

HOUSE = Path(__file__).resolve().parents[2]
# Kept out of the repository: what one computer needs says little about another.
LATEST = HOUSE / ".benchmarks" / "latest.json"
PREVIOUS = LATEST.with_name("previous.json")


@pytest.fixture(scope="session")
def figures(request) -> Figures:
    """Takes every figure that is measured in this run."""
    return request.config.stash.setdefault(FIGURES, Figures())


FIGURES = pytest.StashKey[Figures]()


def pytest_sessionfinish(session):
    """Keep this run's figures as JSON; the run before stays beside it to be compared."""
    figures = session.config.stash.get(FIGURES, None)
    if not figures or not figures.rows:
        return
    LATEST.parent.mkdir(exist_ok=True)
    if LATEST.exists():
        LATEST.replace(PREVIOUS)
    run = {
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        "python": platform.python_version(),
        "numpy": numpy.__version__,
        "figures": figures.as_json(),
    }
    LATEST.write_text(json.dumps(run, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def pytest_terminal_summary(terminalreporter, config):
    """Print the table behind everything else."""
    figures = config.stash.get(FIGURES, None)
    if not figures or not figures.rows:
        return
    terminalreporter.section("what was measured")
    with pd.option_context("display.width", 200, "display.max_colwidth", 70, "display.max_rows", None):
        terminalreporter.write_line(as_table(figures.rows, _before()).to_string(index=False))
    terminalreporter.write_line(f"kept in {LATEST.relative_to(HOUSE)}; the run before in {PREVIOUS.name}")


def _before() -> tuple[Figure, ...]:
    """The figures of the run before, or none when there was none that can be read."""
    try:
        return Figures.from_json(json.loads(PREVIOUS.read_text(encoding="utf-8"))["figures"])
    except (OSError, ValueError, KeyError, TypeError):
        return ()
