"""Turning the stepper's shaft by hand: whether the carriage moves as far as the machine file says."""

from dataclasses import dataclass
from fractions import Fraction

from machinelab.units import show
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.verdict import agrees


@dataclass(frozen=True)
class HandTurn:
    """A travel measured for so many turns of the stepper, beside what the machine file makes of them.

    Parameters
    ----------
    turns : Fraction [turn]
        Turns of the stepper's shaft.
    travel_mm, doubt_mm : Fraction [mm]
        Travel of the carriage and its U, k = 2.
    screw_lead_mm : Fraction or None [mm]
        Lead of the leadscrew as the machine file has it.
    motor_turns_per_screw_turn : Fraction or None [turn/turn]
        Turns of the stepper for one of the leadscrew as the machine file has them.
    """

    turns: Fraction
    travel_mm: Fraction
    doubt_mm: Fraction
    screw_lead_mm: Fraction | None
    motor_turns_per_screw_turn: Fraction | None

    @property
    def expected_mm(self) -> Fraction | None:
        """Travel that the machine file foretells; None while it says too little."""
        if self.screw_lead_mm is None or self.motor_turns_per_screw_turn is None:
            return None
        return self.turns * self.screw_lead_mm / self.motor_turns_per_screw_turn

    @property
    def agrees(self) -> bool | None:
        """Whether the machine does what its file says; None while the file says too little."""
        return None if self.expected_mm is None else self._agreement.agrees

    @property
    def told(self) -> str:
        """What was measured, in a sentence."""
        measured = value_with_uncertainty(float(self.travel_mm), float(self.doubt_mm), "mm")
        return f"{float(self.turns):g} turns of the stepper moved the carriage {measured}."

    @property
    def meaning(self) -> str:
        """What it says about the machine file, and what to look at if they differ."""
        if self.expected_mm is None:
            return "The machine file does not say yet how far that should be: lead, or gearing, is missing."
        if self.agrees:
            return f"{self._agreement.sentence} Lead and gearing are as the machine file has them."
        lead = self.travel_mm / self.turns * self.motor_turns_per_screw_turn
        gearing = self.turns * self.screw_lead_mm / self.travel_mm
        return (
            f"{self._agreement.sentence} {self._mistake}If the gearing is right, the leadscrew has a lead of "
            f"about {show(lead, 'mm', kind='lead')}; if the lead is right, the stepper turns about "
            f"{float(gearing):.3g} times for one turn of the screw."
        )

    @property
    def _agreement(self):
        return agrees(
            float(self.travel_mm),
            uncertainty=float(self.doubt_mm),
            predicted=round(float(self.expected_mm), 4),
            predicted_uncertainty=0,
            unit="mm",
        )

    @property
    def _mistake(self) -> str:
        """The usual mistake that would give just this travel, in words; empty when it is none of them."""
        gearing, turn = self.motor_turns_per_screw_turn, 1 / self.turns
        mistakes = (
            (1 + turn, "a turn too many was counted on the machine, or one too few in the sheet"),
            (1 - turn, "a turn too few was made on the machine, or one too many put in the sheet"),
            (gearing**2, "the two wheels are given the wrong way round"),
            (gearing, "the gearing is left out: the stepper sits on the screw"),
            (1 / gearing, "the gearing is there twice"),
        )
        for share, words in mistakes:
            if abs(self.travel_mm - share * self.expected_mm) <= self.doubt_mm:
                return f"It looks as if {words}. "
        return ""


def hand_turn(
    *,
    turns: Fraction,
    travel_mm: Fraction,
    doubt_mm: Fraction,
    screw_lead_mm: Fraction | None,
    motor_turns_per_screw_turn: Fraction | None,
) -> HandTurn:
    """Put a measured travel beside what the machine file foretells."""
    return HandTurn(turns, travel_mm, doubt_mm, screw_lead_mm, motor_turns_per_screw_turn)
