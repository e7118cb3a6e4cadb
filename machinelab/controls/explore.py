"""Every state that a control box can reach, and the shortest way to every broken rule."""

from collections.abc import Mapping
from dataclasses import dataclass

from machinelab.controls.fault import Fault
from machinelab.controls.findings import Broken, broken_rules
from machinelab.controls.panel import Panel
from machinelab.controls.rules import NOTES, RULES, not_asked
from machinelab.controls.search import MOST_STATES, Search
from machinelab.controls.settling import can_start, settling
from machinelab.errors import PanelError

__all__ = ["Findings", "explore"]

OPERATORS = ("patient", "in a hurry")
KEPT, BROKEN, NOT_FINISHED, NOT_ASKED = "kept", "broken", "not finished", "not asked"


@dataclass(frozen=True)
class Findings:
    """What a search through all states of a control box has found.

    Parameters
    ----------
    panel : Panel
        The box that was searched.
    fault : Fault or None
        The single fault that could happen at any time, if one was tried.
    broken : mapping
        For each broken rule the shortest way to it.
    states : int [state]
        States met.
    settled_states : int [state]
        Those of them in which the box is at rest.
    finished : bool
        Whether every state that can be reached was met. If not, nothing counts as kept.
    not_asked : mapping
        For each rule that could not be held against this box the reason.
    slowest_stop_s : float [s]
        Latest moment after the mushroom at which a motor may still be on its drive while relays move.
    starts_again : bool
        Whether anything can still be started after the power was off; with a fault: with the fault in it.
    """

    panel: Panel
    fault: Fault | None
    broken: Mapping[str, Broken]
    states: int
    settled_states: int
    finished: bool
    not_asked: Mapping[str, str]
    slowest_stop_s: float
    starts_again: bool

    def verdict(self, rule: str) -> str:
        """How a rule stands: broken, kept, not asked, or not finished."""
        if rule in self.broken:
            return BROKEN
        if rule in self.not_asked:
            return NOT_ASKED
        return KEPT if self.finished else NOT_FINISHED

    @property
    def breaches(self) -> tuple[str, ...]:
        """The broken rules without mere notes, in the order of the list."""
        return tuple(rule for rule in RULES if rule in self.broken and rule not in NOTES)

    @property
    def coverage(self) -> str:
        """One line on what was looked at."""
        box = self.panel
        fault = f"with the fault: {self.fault.words}" if self.fault else "no fault"
        states = f"{self.states:,}".replace(",", " ")
        return (
            f"{states} states, {len(box.switches_that_matter)} switches, {len(box.relays)} relays, "
            f"delays as typed, {fault}{'' if self.finished else '; NOT FINISHED'}"
        )


def explore(panel, *, operator="patient", fault=None, most_states=MOST_STATES, keep_on=None) -> Findings:
    """Search every state that a control box can reach, and hold all rules against every change.

    A patient operator acts when the relays have come to rest; one in a hurry may act once more before.
    The chuck's run-down, charged capacitors and slow timers are not timed but put in every possible order.

    Formula
    -------
    none: a search through states, not a formula.

    Parameters
    ----------
    panel : Panel
        What is wired.
    operator : str
        ``"patient"`` or ``"in a hurry"``.
    fault : Fault or None
        A single fault that may happen whenever the box is at rest; it stays.
    most_states : int [state]
        Where the search gives up.
    keep_on : callable
        Is told the number of states now and then; the search stops when it answers False.

    Returns
    -------
    Findings
        Broken rules with the shortest way to each, and what was looked at.

    Range
    -----
    When the search gives up or is stopped, no rule counts as kept.

    Raises
    ------
    PanelError
        If there is no such operator.

    Examples
    --------
    >>> from machinelab.controls.panel_reading import read_panel
    >>> described = {
    ...     "switch": {"mains": {"pos": ["off", "on"]}, "dir": {"pos": ["off", "fwd"]}},
    ...     "contact": {"S1": {"of": "mains", "closed": ["on"]}, "D": {"of": "dir", "closed": ["fwd"]}},
    ...     "load": {"drive": {"on": "S1"}},
    ...     "motor": {"lathe": {"source": "drive", "fwd": "D"}},
    ...     "rules": {"start_actions": ["dir:fwd"]},
    ... }
    >>> found = explore(read_panel(described))
    >>> found.states, found.breaches
    (7, ('R4', 'R7'))

    Source
    ------
    Derived here: breadth-first search over states whose time runs in whole ticks.
    """
    if operator not in OPERATORS:
        raise PanelError(f"There is no operator called {operator!r}: {' or '.join(OPERATORS)}.")
    limits = {"in_a_hurry": operator == OPERATORS[1], "most_states": most_states, "keep_on": keep_on}
    whole = Search(panel, **limits).from_rest()
    return findings(whole, whole) if fault is None else with_fault(whole, fault)


def with_fault(whole: Search, fault: Fault) -> Findings:
    """Search on from a finished search of the sound box, with one fault that may happen at any time."""
    faulty = Search(
        whole.panel,
        fault=fault,
        in_a_hurry=whole.courses.in_a_hurry,
        most_states=whole.most_states,
        keep_on=whole.keep_on,
    )
    return findings(faulty.from_states_of(whole), whole)


def findings(search: Search, whole: Search) -> Findings:
    """What a search has found; ``whole`` is the search of the sound box that it began from."""
    settled = [key for key in search.before if search.shown(key).settled]
    comes_to_rest = settling(search.wiring)
    return Findings(
        panel=search.panel,
        fault=search.fault,
        broken=broken_rules(search, whole, comes_to_rest),
        states=len(search.before),
        settled_states=len(settled),
        finished=search.finished,
        not_asked=not_asked(search.panel, search.courses.not_stated),
        slowest_stop_s=comes_to_rest.slowest_stop_s,
        starts_again=can_start(
            search.wiring, {search.number(key) for key in settled if not search.shown(key).powered}
        ),
    )
