"""Reading a control box from what its owner typed: a panel, or every mistake of the file at once."""

from collections.abc import Callable, Iterable, Mapping

from machinelab.controls.panel import Contact, Load, Motor, Panel, Relay, Switch
from machinelab.controls.panel_mistakes import Mistakes
from machinelab.controls.panel_rules import read_rules
from machinelab.controls.rung import Rung, is_name, read_rung
from machinelab.errors import PanelError

__all__ = ["read_panel"]

MOST = {"switch": 16, "contact": 64, "relay": 24, "load": 12, "motor": 6}
MOST_POSITIONS = 6
TABLES = (*MOST, "sensor", "rules")
LOAD_KINDS = ("supply", "motion", "lamp")


def read_panel(described: Mapping, line_of: Callable[[str], int | None] = lambda place: None) -> Panel:
    """The control box that a person described, or every mistake of the description at once.

    Formula
    -------
    none: a description is read, not calculated.

    Parameters
    ----------
    described : mapping
        Tables ``switch``, ``contact``, ``relay``, ``load``, ``motor``, ``sensor``, ``rules``.
    line_of : callable
        Gives the line of the file in which a place such as ``relay.KB.coil`` stands, or None.

    Returns
    -------
    Panel
        What is wired, with every rung read.

    Raises
    ------
    PanelError
        Listing every mistake with its line, what stands there and what to write.

    Examples
    --------
    >>> panel = read_panel(
    ...     {
    ...         "switch": {"main": {"pos": ["off", "on"]}},
    ...         "contact": {"S1": {"of": "main", "closed": ["on"]}},
    ...         "load": {"lamp": {"on": "S1", "kind": "lamp"}},
    ...     }
    ... )
    >>> panel.loads[0].on.carries({"S1"})
    True

    Source
    ------
    Derived here: the format is our own.
    """
    mistakes = Mistakes(line_of)
    if not isinstance(described, Mapping):
        raise PanelError(
            "A control box is described in tables: [switch.main], [contact], [relay.K1] and so on."
        )
    mistakes.unknown("", described, TABLES)
    tables = {name: _table(mistakes, described, name) for name in TABLES}
    too_many = [(name, most) for name, most in MOST.items() if len(tables[name]) > most]
    for name, most in too_many:
        mistakes.add(
            name,
            f"{len(tables[name])} of [{name}] are more than can be followed through all their states; "
            f"at most {most}. Leave out what no rung for stopping, starting or braking needs.",
        )
    if too_many:
        mistakes.raise_if_any()
    panel = _Reader(mistakes, tables).panel()
    mistakes.raise_if_any()
    return panel


def _table(mistakes: Mistakes, described: Mapping, name: str) -> dict[str, Mapping]:
    found = described.get(name, {})
    if not isinstance(found, Mapping):
        mistakes.add(name, f"[{name}] is a table of named things, for instance [{name}.first].")
        return {}
    if name == "rules":
        return dict(found)
    good = {}
    for key, value in found.items():
        if isinstance(value, Mapping):
            good[key] = value
        else:
            mistakes.add(f"{name}.{key}", f"{key} wants a table of its own, for instance [{name}.{key}].")
    return good


class _Reader:
    """Reads table after table; what is wrong goes to the list, and what comes of it is never handed out."""

    def __init__(self, mistakes: Mistakes, tables: Mapping[str, Mapping[str, Mapping]]):
        self.mistakes, self.tables = mistakes, tables
        self.owners: dict[str, str] = {}

    def panel(self) -> Panel:
        switches = tuple(self._switch(name, said) for name, said in self.tables["switch"].items())
        if not switches:
            self.mistakes.add("switch", "No switch is described; begin with the one that a hand moves first.")
        self.by_name = {switch.name: switch for switch in switches}
        contacts = tuple(self._contact(name, said) for name, said in self.tables["contact"].items())
        for name, said in self.tables["relay"].items():
            for side in ("no", "nc"):
                self._own_contacts(name, side, self.mistakes.texts(f"relay.{name}", said, side))
        relays = tuple(self._relay(name, said) for name, said in self.tables["relay"].items())
        loads = tuple(self._load(name, said) for name, said in self.tables["load"].items())
        motors = tuple(self._motor(name, said) for name, said in self.tables["motor"].items())
        if not loads:
            self.mistakes.add("load", "No load is described; name at least the drive, its rung under `on`.")
        rules = read_rules(self.mistakes, self.tables["rules"], switches, relays, motors)
        return Panel(switches, contacts, relays, loads, motors, rules, self._display(motors))

    def _switch(self, name: str, said: Mapping) -> Switch:
        place = f"switch.{name}"
        self.mistakes.unknown(place, said, ("pos", "init", "adjacent", "momentary", "latching"))
        positions = self.mistakes.texts(place, said, "pos") or ("off", "on")
        if not 2 <= len(positions) <= MOST_POSITIONS or len(set(positions)) < len(positions):
            self.mistakes.add(
                f"{place}.pos",
                f'`pos` lists 2 to {MOST_POSITIONS} different positions in order: ["off", "on"].',
            )
            positions = ("off", "on")
        rest = self.mistakes.one_of(place, said, "init", positions, positions[0])
        springs = self.mistakes.one_of(place, said, "momentary", positions, None)
        self.mistakes.flag(place, said, "latching", False)
        return Switch(name, positions, rest, self.mistakes.flag(place, said, "adjacent", True), springs)

    def _contact(self, name: str, said: Mapping) -> Contact:
        place = f"contact.{name}"
        self.mistakes.unknown(place, said, ("of", "closed", "dc_break_A", "dc_break_V"))
        self._own(name, place)
        switch = self.mistakes.one_of(place, said, "of", tuple(self.by_name), None, needed=True)
        positions = self.by_name[switch].positions if switch else ()
        closed = self.mistakes.texts(place, said, "closed")
        if not closed:
            self.mistakes.add(f"{place}.closed", f'{name} wants the positions in which it is closed: ["on"].')
        for position in closed if switch else ():
            if position not in positions:
                self.mistakes.not_one_of(f"{place}.closed", position, positions, f"position of {switch}")
        rated = [self.mistakes.number(place, said, key) for key in ("dc_break_A", "dc_break_V")]
        return Contact(name, switch, closed, None if None in rated else min(rated) > 0)

    def _own_contacts(self, relay: str, side: str, names: Iterable[str]) -> None:
        for name in names:
            self._own(name, f"relay.{relay}.{side}")

    def _own(self, name: str, place: str) -> None:
        if not is_name(name):
            self.mistakes.add(
                place,
                f"{name!r} cannot be the name of a contact: letters, figures and underscores only, as K1_a.",
            )
        if name in self.owners:
            self.mistakes.add(
                place, f"{name} stands already under {self.owners[name]}; every contact needs its own name."
            )
        self.owners.setdefault(name, place)

    def _rung(self, place: str, said: Mapping, key: str, *, needed: bool = True) -> Rung | None:
        if key not in said:
            if needed:
                self.mistakes.add(
                    place, f'`{key}` is missing: the rung that feeds it, as {key} = "S1 and K1_a".'
                )
            return None
        try:
            return read_rung(said[key], self.owners)
        except PanelError as problem:
            self.mistakes.add(f"{place}.{key}", str(problem))
            return None

    def _relay(self, name: str, said: Mapping) -> Relay:
        place, mistakes = f"relay.{name}", self.mistakes
        mistakes.unknown(
            place,
            said,
            (
                "coil",
                "no",
                "nc",
                "pickup_ms",
                "dropout_ms",
                "transfer_ms",
                "guided",
                "slow_drop_s",
                "dc_rated",
            ),
        )
        relay = Relay(
            name,
            self._rung(place, said, "coil"),
            mistakes.texts(place, said, "no"),
            mistakes.texts(place, said, "nc"),
            pickup_ms=mistakes.span(place, said, "pickup_ms", most=2000) or Relay.pickup_ms,
            dropout_ms=mistakes.span(place, said, "dropout_ms", most=2000) or Relay.dropout_ms,
            transfer_ms=mistakes.number(place, said, "transfer_ms", most=500) or 0.0,
            guided=mistakes.flag(place, said, "guided", False),
            slow_drop_s=mistakes.span(place, said, "slow_drop_s", most=86400),
            rated_for_dc=mistakes.texts(place, said, "dc_rated"),
        )
        if not relay.contacts:
            mistakes.add(place, f'{name} has no contacts, so it does nothing. Name them: no = ["{name}_a"].')
        for contact in relay.rated_for_dc:
            if contact not in relay.contacts:
                mistakes.not_one_of(f"{place}.dc_rated", contact, relay.contacts, f"contact of {name}")
        return relay

    def _load(self, name: str, said: Mapping) -> Load:
        place, mistakes = f"load.{name}", self.mistakes
        mistakes.unknown(place, said, ("on", "kind", "holds", "holds_s"))
        kind = mistakes.one_of(place, said, "kind", LOAD_KINDS, "supply")
        held_s = mistakes.number(place, said, "holds_s")
        holds = mistakes.flag(place, said, "holds", bool(held_s))
        return Load(name, self._rung(place, said, "on"), kind == "motion", holds)

    def _motor(self, name: str, said: Mapping) -> Motor:
        place, mistakes = f"motor.{name}", self.mistakes
        mistakes.unknown(place, said, ("source", "fwd", "rev", "brake", "run_down_s", "braked_s"))
        source = mistakes.one_of(place, said, "source", tuple(self.tables["load"]), None, needed=True)
        return Motor(
            name,
            source,
            self._rung(place, said, "fwd"),
            self._rung(place, said, "rev", needed=False),
            self._rung(place, said, "brake", needed=False),
            mistakes.span(place, said, "run_down_s", most=86400),
            mistakes.span(place, said, "braked_s", most=86400),
        )

    def _display(self, motors: tuple[Motor, ...]) -> dict[str, Rung]:
        self.mistakes.unknown("sensor", self.tables["sensor"], ("rpm",))
        said = self.tables["sensor"].get("rpm", {})
        self.mistakes.unknown("sensor.rpm", said, ("reads", "lag_s"))
        reads = said.get("reads", {})
        if not isinstance(reads, Mapping):
            self.mistakes.add("sensor.rpm.reads", '`reads` names a contact for each motor: {lathe = "M_L3"}.')
            return {}
        self.mistakes.unknown("sensor.rpm.reads", reads, [motor.name for motor in motors])
        read = {name: self._rung("sensor.rpm.reads", reads, name) for name in reads}
        return {name: rung for name, rung in read.items() if rung}
