"""What single faults were found to do, kept beside the description of exactly the box that was searched."""

import json
from pathlib import Path

from machinelab.controls.fault import Fault
from machinelab.controls.faults import FaultResult
from machinelab.workbook.machine.folders import is_read_only, told_in_words
from machinelab.workbook.panel_file import content_hash
from machinelab.workbook.whole_file import write_whole

FOLDER = "out"


def keep_faults(folder: Path | None, results: tuple[FaultResult, ...]) -> None:
    """Keep results in the machine's folder; the demo and a machine without a folder keep none."""
    if folder is None or is_read_only(folder):
        return
    rows = [
        {
            "kind": one.fault.kind,
            "part": one.fault.part,
            "lost": list(one.lost),
            "states": one.states,
            "finished": one.finished,
            "shows": one.shows,
            "possible": one.possible,
        }
        for one in results
    ]
    file = _file(folder)
    with told_in_words(folder):
        file.parent.mkdir(exist_ok=True)
        write_whole(file, json.dumps(rows, indent=1) + "\n", check=json.loads)


def kept_faults(folder: Path | None) -> tuple[FaultResult, ...]:
    """The results kept for the description as it stands now, without their ways; empty when none are."""
    if folder is None or not _file(folder).is_file():
        return ()
    try:
        rows = json.loads(_file(folder).read_text(encoding="utf-8"))
        return tuple(
            FaultResult(
                fault=Fault(str(row["kind"]), str(row["part"])),
                lost=tuple(map(str, row["lost"])),
                ways={},
                states=int(row["states"]),
                finished=bool(row["finished"]),
                shows=bool(row["shows"]),
                possible=bool(row["possible"]),
            )
            for row in rows
        )
    except (OSError, ValueError, KeyError, TypeError):
        # A file that was torn or changed by hand counts for nothing: the search can be made again.
        return ()


def _file(folder: Path) -> Path:
    return folder / FOLDER / f"faults_{content_hash(folder)[:16]}.json"
