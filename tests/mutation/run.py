"""How many small faults, put into the physics by a machine, the tests find: a seeded sample of each room.

    pip install mutmut
    python tests/mutation/run.py --sample 70 --seed 1

The house is cloned into a folder of its own; mutmut writes every mutant there and learns which test runs
which function. Then so many mutants of each room are tried with the tests that run their function. It needs
a system that can fork, some minutes for writing the mutants, and a second or two for each that is tried.
"""

import argparse
import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pandas as pd
from scipy.stats import binomtest

HOUSE = Path(__file__).resolve().parents[2]
SURVIVORS = Path(__file__).with_name("survivors.csv")
ROOMS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls")
# What tries the physics itself within a second; the pages' tests would find more, and take hours.
TESTS = [
    *("tests/outside", "tests/properties", *(f"machinelab/{room}" for room in ROOMS)),
    *(
        f"tests/behaviour/test_{subject}.py"
        for subject in (
            *("panel_mistakes", "control_box", "coastdown_fit", "meter_fits", "motor_bench"),
            *("ranges", "awkward_runs", "drive_chain", "first_box"),
        )
    ),
    *("-p", "no:xdist", "-m", "not browser and not bench and not slow"),
]
CONFIG = f"""
[tool.mutmut]
source_paths = ["machinelab/"]
only_mutate = {[f"machinelab/{room}/*" for room in ROOMS]}
pytest_add_cli_args_test_selection = {TESTS}
also_copy = ["notebooks", "README.md", "DEVELOPERS.md", "constraints.txt", "environment.yml", ".gitignore"]
"""
# Exit codes that mutmut 3 keeps for a mutant: of pytest, or of the process that was ended.
WORDS = {0: "survived", 1: "killed", 3: "killed", 5: "no test", 33: "no test"}
ENDED = "took too long"


def main() -> int:
    """Try a sample, print each room's share with its 95 % interval, and name what survived."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sample", type=int, default=70, help="mutants of each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--at", type=Path, default=Path("mutated"), help="where the house is cloned to")
    parser.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    tree = asked.at.resolve()
    if not tree.exists():
        subprocess.run(["git", "clone", "--quiet", HOUSE, tree], check=True)
        with (tree / "pyproject.toml").open("a", encoding="utf-8") as settings:
            settings.write(CONFIG)
        mutmut(tree, asked.cores, "no.such.mutant")
    chance = random.Random(asked.seed)
    chosen = {room: sample(tree, room, asked.sample, chance) for room in ROOMS}
    mutmut(tree, asked.cores, *(name for names in chosen.values() for name in names))
    print(report(tree, chosen))
    untried = sum(known(tree, room)[name] is None for room, names in chosen.items() for name in names)
    if untried:
        print(f"{untried} of the sample were not tried: mutmut ended before, see above.", file=sys.stderr)
    return 1 if untried else 0


def mutmut(tree: Path, cores: int, *names: str) -> None:
    """Let mutmut try the named mutants in the tree; it writes all of them first where it has not yet."""
    command = [sys.executable, "-m", "mutmut", "run", "--max-children", str(cores), *names]
    subprocess.run(command, cwd=tree, env={**os.environ, "PYTHONPATH": str(tree)}, check=False)


def known(tree: Path, room: str) -> dict[str, int | None]:
    """Every mutant of a room with its exit code, None while it was not tried."""
    found = {}
    for file in sorted((tree / "mutants" / "machinelab" / room).rglob("*.meta")):
        found |= json.loads(file.read_text(encoding="utf-8"))["exit_code_by_key"]
    return found


def sample(tree: Path, room: str, size: int, chance: random.Random) -> list[str]:
    """So many mutants of a room, drawn with equal chances."""
    names = sorted(known(tree, room))
    return chance.sample(names, min(size, len(names)))


def report(tree: Path, chosen: dict[str, list[str]]) -> str:
    """Each room's mutants by what became of them, and the survivors that the list does not explain."""
    rows, survivors = [], []
    for room, names in chosen.items():
        codes = known(tree, room)
        fate = pd.Series({name: WORDS.get(codes[name], ENDED) for name in names if codes[name] is not None})
        survivors += list(fate.index[fate.isin(["survived", "no test"])])
        rows.append(_row(room, len(codes), fate))
    rows.append(_row("all rooms", sum(row["mutants"] for row in rows), None, rows))
    explained = set(pd.read_csv(SURVIVORS)["mutant"]) if SURVIVORS.exists() else set()
    left = [name for name in survivors if name not in explained]
    return "\n".join(
        [pd.DataFrame(rows).to_string(index=False), "", "not explained in survivors.csv:", *left]
    )


def _row(room: str, mutants: int, fate: pd.Series | None, rows: list[dict] = ()) -> dict:
    counts = {
        word: int((fate == word).sum()) if fate is not None else sum(row[word] for row in rows)
        for word in ("killed", ENDED, "survived", "no test")
    }
    tried, found = sum(counts.values()), counts["killed"] + counts[ENDED]
    between = binomtest(found, tried).proportion_ci(0.95) if tried else (0.0, 1.0)
    share = f"{found / tried:.1%} ({between[0]:.1%} to {between[1]:.1%})" if tried else "-"
    return {"room": room, "mutants": mutants, "tried": tried, **counts, "found (95 %)": share}


if __name__ == "__main__":
    sys.exit(main())
