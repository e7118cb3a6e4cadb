"""Every single fault that is tried: a contact welds or stays open, a coil, an armature, a wire."""

from dataclasses import dataclass

from machinelab.controls.panel import Panel, Relay

__all__: list[str] = []

WELDED, OPEN = "welded", "never closes"
COIL_DEAD, COIL_FED = "coil never fed", "coil always fed"
STUCK_IN, STUCK_OUT = "armature sticks pulled in", "armature sticks released"
WIRE_OPEN = "wire broken"


@dataclass(frozen=True)
class Fault:
    """One fault of one part."""

    kind: str
    part: str

    @property
    def words(self) -> str:
        """The fault in words."""
        return f"{self.part} {self.kind}" if self.kind != WIRE_OPEN else f"wire to {self.part} broken"

    @property
    def welds(self) -> str | None:
        """The contact that stays closed."""
        return self.part if self.kind == WELDED else None

    @property
    def opens(self) -> str | None:
        """The contact that stays open."""
        return self.part if self.kind == OPEN else None

    @property
    def coil(self) -> str | None:
        """The relay whose coil no longer follows its rung."""
        return self.part if self.kind in (COIL_DEAD, COIL_FED) else None

    @property
    def dead_load(self) -> str | None:
        """The load that gets nothing any more."""
        return self.part if self.kind == WIRE_OPEN else None

    def sticks(self, relay: Relay) -> bool:
        """Whether the armature of this relay moves no more."""
        return self.kind in (STUCK_IN, STUCK_OUT) and self.part == relay.name

    def can_happen(self, closed: frozenset[str], pulled_in: frozenset[str]) -> bool:
        """Whether it can begin now: a contact welds only while closed, an armature sticks where it is."""
        if self.kind == WELDED:
            return self.part in closed
        if self.kind == STUCK_IN:
            return self.part in pulled_in
        return self.kind != STUCK_OUT or self.part not in pulled_in


def every_fault(panel: Panel) -> tuple[Fault, ...]:
    """Every single fault of a panel."""
    contacts = [contact.name for contact in panel.contacts]
    contacts += [name for relay in panel.relays for name in relay.contacts]
    return (
        *(Fault(kind, name) for name in contacts for kind in (WELDED, OPEN)),
        *(Fault(kind, relay.name) for relay in panel.relays for kind in (COIL_DEAD, COIL_FED)),
        *(Fault(kind, relay.name) for relay in panel.relays for kind in (STUCK_IN, STUCK_OUT)),
        *(Fault(WIRE_OPEN, load.name) for load in panel.loads),
    )
