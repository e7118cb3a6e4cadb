"""Notebooks that do nothing but write into a record and are ended, again and again, at any moment.

Run as a program, so that it has no threads and may fork: ``record_writer.py FOLDER KILLS SEED`` prints what
the writers had been told was stored, a line each.
"""

import itertools
import os
import random
import select
import signal
import sys
import time
from dataclasses import dataclass
from typing import NoReturn

from machinelab.workbook.record import Record

LONGEST_LIFE_S = 0.04


@dataclass(frozen=True)
class Writer:
    """A process that writes, and the end of the pipe where it tells what was taken."""

    process: int
    heard: int


def killed_while_writing(folder: str, kills: int, seed: int) -> list[str]:
    """Let two processes write at once and kill one of them so many times; give every line acknowledged."""
    chance, acknowledged, writers = random.Random(seed), [], []
    for number in range(kills + 2):
        if len(writers) == 2:
            time.sleep(chance.uniform(0, LONGEST_LIFE_S))
            acknowledged += _ended(writers.pop(chance.randrange(2)))
        writers.append(_started(folder, f"writer {number}"))
        # Only a writer that has begun can be stopped in the midst of it.
        select.select([writers[-1].heard], [], [], 30)
    for writer in writers:
        acknowledged += _ended(writer)
    return acknowledged


def _started(folder: str, name: str) -> Writer:
    heard, said = os.pipe()
    process = os.fork()
    if not process:
        _write(folder, name, said)
    os.close(said)
    return Writer(process, heard)


def _write(folder: str, name: str, said: int) -> NoReturn:
    record = Record(folder)
    for number in itertools.count():
        line = record.add("05", f"{name} line {number}", value=5.0, uncertainty=0.1, unit="s")
        os.write(said, f"{line.quantity}\n".encode())


def _ended(writer: Writer) -> list[str]:
    os.kill(writer.process, signal.SIGKILL)
    os.waitpid(writer.process, 0)
    with os.fdopen(writer.heard, encoding="utf-8") as pipe:
        return pipe.read().splitlines()


if __name__ == "__main__":
    print(*killed_while_writing(sys.argv[1], int(sys.argv[2]), int(sys.argv[3])), sep="\n")
