"""Spoilt input that looks for its own way: what reaches a new line of the code is kept and spoilt further.

Run by hand, since it never comes to an end by itself and needs a tool that only some systems have:

    pip install atheris
    python tests/fuzz/guided.py                                every door, two minutes each
    python tests/fuzz/guided.py --minutes 10 "a thread's name"   one door

It begins with the good ones of each door and what stands in ``spoil.NASTY``. A case that ends in anything but
being taken or refused in words ends that door's run with the case; it belongs into a test.
"""

import argparse
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

MOST_MB, LONGEST_CASE_BYTES = 2_000, 6_000


def main() -> int:
    """Try the doors one after another, each in a process of its own; return how many failed."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("doors", nargs="*", metavar="DOOR")
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        look_for_a_way(asked.doors[0], asked.minutes)
    failed = [name for name in asked.doors or every_name() if not ends_well(name, asked.minutes)]
    print("failed:", ", ".join(failed) or "none")
    return len(failed)


def every_name() -> list[str]:
    """The names of all doors."""
    from fuzz.doors import DOORS

    return [door.name for door in DOORS]


def ends_well(name: str, minutes: float) -> bool:
    """Try one door in a process of its own and print what the tool says in the end."""
    command = [sys.executable, __file__, "--one", "--minutes", str(minutes), name]
    done = subprocess.run(command, check=False, capture_output=True, text=True, errors="replace")
    told = [line for line in done.stderr.splitlines() if line.startswith(("Done", "stat::"))]
    print(f"{name}:", *told, sep="\n  ", flush=True)
    if done.returncode:
        print(done.stdout[-3000:], done.stderr[-3000:], flush=True)
    return done.returncode == 0


def look_for_a_way(name: str, minutes: float) -> None:
    """Hand in at one door until the time is up; the tool ends this process itself."""
    import atheris

    with atheris.instrument_imports(include=["machinelab"]):
        from fuzz.doors import DOORS
    from fuzz.hand_in import handed_in
    from fuzz.spoil import NASTY

    door = next(door for door in DOORS if door.name == name)
    folder = Path(tempfile.mkdtemp(prefix="guided-"))
    for number, content in enumerate([*door.good(), *NASTY]):
        (folder / f"good_{number}").write_bytes(content)
    warnings.simplefilter("error")
    limits = [
        *(f"-max_total_time={round(60 * minutes)}", f"-rss_limit_mb={MOST_MB}", "-print_final_stats=1"),
        *(f"-max_len={max(LONGEST_CASE_BYTES, *map(len, door.good()))}", f"-artifact_prefix={folder}/"),
    ]
    atheris.Setup([sys.argv[0], *limits, str(folder)], lambda content: handed_in(door, content) and None)
    atheris.Fuzz()


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    sys.exit(main())
