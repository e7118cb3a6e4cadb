"""How many small faults, put into the physics by a machine, the tests find: a seeded sample of each room.

    pip install mutmut
    python tests/mutation/run.py --sample 60 --seed 1
    python tests/mutation/run.py --only "machinelab.spindle.brake.*"

The house as it stands is copied into a folder of its own; mutmut writes every mutant there and learns which
test runs which function. Then so many mutants of each room are tried, each in a fresh process, with the tests
that run its function. It needs a system that can fork, ten minutes for writing and learning, and a few
seconds for each mutant that is tried. Run again, it keeps what is written and learned, and takes up what
has changed.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
from fnmatch import fnmatchcase
from pathlib import Path

import pandas as pd
from scipy.stats import binomtest
from trial import KILLED, NO_TEST, SURVIVED, TOO_LONG, fates, load_libraries, pass_unharmed
from words import words_only

HOUSE = Path(__file__).resolve().parents[2]
SURVIVORS = Path(__file__).with_name("survivors.csv")
ROOMS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls")
# What tries the physics itself; the pages' tests would find more, and take hours.
BEHAVIOUR = (
    *("awkward_runs", "box_course", "box_wiring", "brake_inertia", "braked_fit", "coastdown_fit"),
    *("control_box", "drive_chain"),
    *("electrics", "first_box", "meter_fits", "motor_bench", "panel_mistakes", "panel_reading", "ranges"),
    *(
        "run_down_check",
        "smallest_boxes",
        "sound_log",
        "thread_plan",
        "thread_in_the_machine_file",
        "threading_card",
        "worked",
    ),
)
# Properties of files, words and verdicts, which run no physics, or of the tests themselves.
OF_OTHER_ROOMS = (
    *("every_module_has_properties", "machine_file_fuzz", "record_fuzz", "share_escaping"),
    *("share_round_trip", "speed_log_fuzz", "typed_text", "verdict_rule"),
)
# They count how often an interval holds the truth, or when a search gives up, for ten seconds and more.
TOO_SLOW = (
    "test_brake_inertia.py::test_even_off_a_slow_display_the_interval_holds_the_truth"
    "_where_the_braked_run_alone_does_not",
    "test_braked_fit.py::test_the_intervals_hold_the_truth_in_at_least_93_of_100_runs",
    "test_braked_fit.py::test_both_runs_in_one_fit_keep_the_promise_of_95_in_100_where_certain_drags_break_it",
    "test_control_box.py::test_a_box_with_many_free_switches_gives_up_within_bounds",
)
TESTS = [
    *("tests/outside", "tests/properties", *(f"machinelab/{room}" for room in ROOMS)),
    *(f"tests/behaviour/test_{subject}.py" for subject in BEHAVIOUR),
    *(f"--ignore=tests/properties/test_{subject}.py" for subject in OF_OTHER_ROOMS),
    *(f"--deselect=tests/behaviour/{test}" for test in TOO_SLOW),
    # A mutant keeps the example of its original, which would only be run for each once more.
    *("-k", "not mutmut", "-p", "no:xdist", "-m", "not browser and not bench"),
]
CONFIG = f"""
[tool.mutmut]
source_paths = ["machinelab/"]
only_mutate = {[f"machinelab/{room}/*" for room in ROOMS]}
pytest_add_cli_args_test_selection = {TESTS}
also_copy = ["notebooks", "README.md", "DEVELOPERS.md", "constraints.txt", "environment.yml", ".gitignore"]
"""


def main() -> int:
    """Try a sample, print each room's share with its 95 % interval, and name what survived."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sample", type=int, default=60, help="mutants of each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="+", choices=ROOMS, default=ROOMS, metavar="ROOM")
    parser.add_argument("--only", nargs="+", metavar="PATTERN", help="try all mutants so named, no sample")
    parser.add_argument("--at", type=Path, default=HOUSE / "build" / "mutated", help="folder of the copy")
    parser.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--as-written", action="store_true", help="leave the copy as it is")
    asked = parser.parse_args()
    tree = asked.at.resolve()
    if not asked.as_written:
        bring_up_to_date(tree)
        write_mutants(tree, asked.cores)
    chosen = choose(tree, asked)
    report(tree, tried(tree, chosen, asked.cores))
    return 0


def bring_up_to_date(tree: Path) -> None:
    """Copy the house as it stands; a file that is the same keeps its time, by which mutmut knows it."""
    listed = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    names = subprocess.run(listed, cwd=HOUSE, check=True, capture_output=True, text=True).stdout.splitlines()
    for name in names:
        source, copy = HOUSE / name, tree / name
        if not source.is_file():
            continue
        text = source.read_bytes() + (CONFIG.encode() if name == "pyproject.toml" else b"")
        if not copy.is_file() or copy.read_bytes() != text:
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(text)
    for copy in [*(tree / "tests").rglob("*.py"), *(tree / "machinelab").rglob("*.py")]:
        if str(copy.relative_to(tree)) not in names:
            copy.unlink()
    shutil.rmtree(tree / "mutants" / "tests", ignore_errors=True)


def write_mutants(tree: Path, cores: int) -> None:
    """Let mutmut write the mutants and learn which test runs which function; it tries none of them."""
    command = [sys.executable, "-m", "mutmut", "run", "--max-children", str(cores), "no.such.mutant"]
    environment = {**os.environ, "PYTHONPATH": str(tree), "CI": "true"}
    done = subprocess.run(command, cwd=tree, env=environment, check=False, capture_output=True, text=True)
    if "nothing matches" not in done.stderr:
        sys.exit(f"mutmut could not write the mutants or learn their tests:\n{done.stdout}\n{done.stderr}")


def choose(tree: Path, asked: argparse.Namespace) -> list[str]:
    """Return the mutants to try: all that are named, or so many of each room, drawn with equal chances."""
    if asked.only:
        every = [name for room in ROOMS for name in known(tree, room)]
        return [name for name in every if any(fnmatchcase(name, pattern) for pattern in asked.only)]
    chance = random.Random(asked.seed)
    drawn = {room: known(tree, room) for room in ROOMS}
    drawn = {room: chance.sample(names, min(asked.sample, len(names))) for room, names in drawn.items()}
    return [name for room in asked.rooms for name in drawn[room]]


def known(tree: Path, room: str) -> list[str]:
    """Every mutant of a room."""
    files = sorted((tree / "mutants" / "machinelab" / room).rglob("*.meta"))
    return sorted(
        name for file in files for name in json.loads(file.read_text(encoding="utf-8"))["exit_code_by_key"]
    )


def tried(tree: Path, mutants: list[str], cores: int) -> pd.DataFrame:
    """Try mutants, so many at once, and say of each what became of it and whether it is of words only."""
    load_libraries()
    if not pass_unharmed(tree, mutants):
        sys.exit("The tests fail where there is no mutant, so nothing can be learned from them.")
    rows = []
    for mutant, what in fates(tree, mutants, cores):
        rows.append((mutant, mutant.split(".")[1], what, words_only(tree, mutant)))
        print(f"{len(rows):5d} of {len(mutants)}  {what:14s} {mutant}", file=sys.stderr, flush=True)
    return pd.DataFrame(rows, columns=["mutant", "room", "fate", "words"])


def report(tree: Path, found: pd.DataFrame) -> None:
    """Print each room's mutants by what became of them, and the survivors that the list does not explain."""
    rooms = [(room, mutants) for room, mutants in found.groupby("room", sort=False)]
    table = [_row(room, len(known(tree, room)), mutants) for room, mutants in rooms]
    table.append(_row("all", sum(row["mutants"] for row in table), found))
    print(pd.DataFrame(table).to_string(index=False))
    explained = set(pd.read_csv(SURVIVORS)["mutant"]) if SURVIVORS.exists() else set()
    left = found[found["fate"].isin([SURVIVED, NO_TEST]) & ~found["mutant"].isin(explained)]
    for words, title in ((False, "survivors"), (True, "survivors that change words only")):
        print(f"\n{title}, not explained in {SURVIVORS.name}:")
        print(*left["mutant"][left["words"] == words], sep="\n")


def _row(room: str, mutants: int, found: pd.DataFrame) -> dict:
    fates = (KILLED, TOO_LONG, SURVIVED, NO_TEST)
    steering, words = found[~found["words"]], found[found["words"]]
    return {
        "room": room,
        "mutants": mutants,
        "tried": len(found),
        **{what: int((steering["fate"] == what).sum()) for what in fates},
        "words only": f"{_killed(words)} of {len(words)}",
        "found without words": _share(steering),
        "found of all": _share(found),
    }


def _killed(found: pd.DataFrame) -> int:
    return int(found["fate"].isin([KILLED, TOO_LONG]).sum())


def _share(found: pd.DataFrame) -> str:
    if found.empty:
        return "-"
    between = binomtest(_killed(found), len(found)).proportion_ci(0.95)
    return f"{_killed(found) / len(found):.1%} ({between.low:.1%} to {between.high:.1%})"


if __name__ == "__main__":
    sys.exit(main())
