"""Every single fault of a control box, one after the other: what is lost with it, and whether it shows."""

from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any

from machinelab.controls.explore import findings, with_fault
from machinelab.controls.fault import Fault, every_fault
from machinelab.controls.findings import Broken
from machinelab.controls.panel import Panel
from machinelab.controls.rules import NOTES, RULES
from machinelab.controls.search import Search

__all__: list[str] = []

# What must hold with any single fault; the other rules are listed as kept or lost.
MUST_HOLD = ("R2", "R2t", "R2c")


@dataclass(frozen=True)
class FaultResult:
    """What one fault does: the rules lost with it that the sound box keeps, and whether it shows by itself.

    ``shows`` is true when nothing can be started any more after the power was off. ``possible`` is false for
    a fault that can never begin, such as a weld of a contact that never closes.
    """

    fault: Fault
    lost: tuple[str, ...]
    ways: dict[str, Broken]
    states: int
    finished: bool
    shows: bool
    possible: bool


def try_fault(whole: Search, sound: frozenset[str], fault: Fault) -> FaultResult:
    """Try one fault from every settled state of the sound box, which itself breaks the rules in ``sound``."""
    found = with_fault(whole, fault)
    lost = tuple(rule for rule in RULES if rule in found.broken and rule not in NOTES and rule not in sound)
    return FaultResult(
        fault=fault,
        lost=lost,
        ways={rule: found.broken[rule] for rule in lost},
        states=found.states,
        finished=found.finished,
        shows=found.states > 0 and not found.starts_again,
        possible=found.states > 0,
    )


def sweep(panel: Panel, workers: int = 2) -> Iterator[tuple[int, int, FaultResult]]:
    """Try every single fault; yields how many are done, of how many, and the result, as they come.

    Parameters
    ----------
    panel : Panel
        What is wired.
    workers : int
        Processes that share the work; with 1 it is done in this one.
    """
    faults = every_fault(panel)
    if workers <= 1:
        _begin(panel)
        for done, fault in enumerate(faults, start=1):
            yield done, len(faults), _try(fault)
        return
    context = get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_begin, initargs=(panel,)) as pool:
        waiting: list[Future[FaultResult]] = [pool.submit(_try, fault) for fault in faults]
        try:
            for done, future in enumerate(as_completed(waiting), start=1):
                yield done, len(faults), future.result()
        finally:
            for future in waiting:
                future.cancel()


# The search of the sound box that every fault of a worker begins from; it is made once in each process.
_begun: dict[str, Any] = {}


def _begin(panel: Panel) -> None:
    whole = Search(panel).from_rest()
    _begun.update(whole=whole, sound=frozenset(findings(whole, whole).broken))


def _try(fault: Fault) -> FaultResult:
    return try_fault(_begun["whole"], _begun["sound"], fault)


def in_order(panel: Panel, results) -> tuple[FaultResult, ...]:
    """Results in the order of the panel's parts, whatever order they came in."""
    order = {fault: n for n, fault in enumerate(every_fault(panel))}
    return tuple(sorted(results, key=lambda result: order[result.fault]))


def verdict_on_faults(results: tuple[FaultResult, ...], tried_all: bool) -> str:
    """Whether every single fault leaves the stop whole: kept, broken or not finished."""
    if any(rule in result.lost for result in results for rule in MUST_HOLD):
        return "broken"
    return "kept" if tried_all and all(result.finished for result in results) else "not finished"
