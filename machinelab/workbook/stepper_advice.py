"""What the stepper's figures mean: what to be wary of, what each change would buy, what to change first."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from machinelab.leadscrew.stepper_rate import stepper_speed_rpm
from machinelab.leadscrew.stepper_stiffness import lag_travel_um, microstep_torque_share, rotor_lag_deg
from machinelab.leadscrew.stepper_torque import in_phase_corner_rpm
from machinelab.leadscrew.stepper_winding import peak_of_rms_a, usual_supply_v
from machinelab.workbook.machine import Machine
from machinelab.workbook.panels.stepper import StepperView, view_as_built
from machinelab.workbook.stepper_built import CONTROLLER, DRIVER, StepperNumbers
from machinelab.workbook.stepper_numbers import (
    CHANNEL,
    COUNTER,
    FELL_OUT,
    PRUDENT_SHARE,
    STEPPER,
    TORQUE,
    fastest_with_nm,
)
from machinelab.workbook.stepper_tables import up_to
from machinelab.workbook.torque_words import torque_words

SMOOTH_MICROSTEPS = 8
# A change that buys less than this share is not worth a spanner.
WORTH_SHARE = 1.05
# A maker's glossary, read in an excerpt.
MOST_DRIVEN = 10
GEARING_STEP = Fraction(3, 2)


@dataclass(frozen=True)
class Change:
    """One change to the drive and the thread on it."""

    words: str
    view: StepperView

    @property
    def row(self) -> tuple[str, str, str, str]:
        """For the table: what, torque in hand, highest speed, what sets it."""
        highest = self.view.highest
        return self.words, f"{self.view.margin:.2g} times", up_to(highest.speed_rpm), highest.limit


def both_readings(machine: Machine, view: StepperView) -> list[tuple[str, str, str, str]]:
    """What the driver's current gives when it is meant as a peak, and when it is meant as rms."""
    set_a = machine.stepper.driver_current_a or machine.stepper.rated_current_a
    said = machine.stepper.driver_current_is
    rows = []
    for words, peak_a in (("peak", set_a), ("rms", float(peak_of_rms_a(set_a)))):
        numbers = replace(view.numbers, phase_current_a=peak_a)
        margin = float(numbers.available_nm(view.stepper_rpm)) / view.load_nm
        mark = "as the machine file has it" if said == words else ""
        share = numbers.standstill_nm / numbers.holding_torque_nm
        rows.append(
            (f"{set_a:g} A {words}", f"{100 * share:.0f} % of the plate", f"{margin:.2g} times", mark)
        )
    return rows


def changes(view: StepperView, other_limits_rpm: Mapping[str, float]) -> tuple[Change, ...]:
    """The thread on the drive as built, and with each change that is open to it."""

    def with_(numbers: StepperNumbers) -> StepperView:
        return view_as_built(numbers, other_limits_rpm, view.work, view.speed_rpm)

    numbers = view.numbers
    found = [("as built", numbers)]
    if numbers.phase_current_a < 0.99 * numbers.full_current_a:
        words = f"{numbers.full_current_a:.1f} A peak, what the motor's plate allows"
        found.append((words, replace(numbers, phase_current_a=numbers.full_current_a)))
    usual_v = round(float(usual_supply_v(numbers.inductance_h)))
    if usual_v > numbers.driver_supply_v:
        found.append((f"{usual_v} V for the driver", replace(numbers, driver_supply_v=float(usual_v))))
    for gearing in (
        numbers.motor_turns_per_screw_turn * GEARING_STEP,
        numbers.motor_turns_per_screw_turn / GEARING_STEP,
    ):
        words = f"{float(gearing):.3g} turns of the stepper for one of the screw"
        found.append(
            (words, replace(numbers, motor_turns_per_screw_turn=gearing, heard_resonance_hz=math.nan))
        )
    if numbers.microsteps > SMOOTH_MICROSTEPS:
        found.append(
            (f"{numbers.microsteps // 2} microsteps", replace(numbers, microsteps=numbers.microsteps // 2))
        )
    return tuple(Change(words, with_(one)) for words, one in found)


def what_to_be_wary_of(machine: Machine, views: Sequence[StepperView]) -> list[str]:
    """Things to know about this drive, whatever thread is cut."""
    numbers = views[0].numbers
    return [
        *_in_bands(views),
        *_resolution(numbers),
        *_inertia(numbers),
        *_acceleration(views),
        *_power_feed(machine, numbers),
        _standing_still(numbers),
        "The way back counts, too: a spindle that turns back faster asks as many pulses more, and a step "
        "lost on the way back is as lost as one in the cut.",
    ]


def _in_bands(views: Sequence[StepperView]) -> Iterator[str]:
    for view in views:
        if view.in_band:
            yield (
                f"**{view.work.name}** at {view.speed_rpm:.0f} rpm lies where the stepper "
                f"{view.in_band.why}: keep out of {view.in_band.band.lowest_rpm:.0f} to "
                f"{view.in_band.band.highest_rpm:.0f} rpm."
            )


def _resolution(numbers: StepperNumbers) -> Iterator[str]:
    musters_nm = numbers.standstill_nm * float(microstep_torque_share(numbers.microsteps))
    idle_nm = float(numbers.load_nm(0.0)) + numbers.detent_torque_nm
    if idle_nm >= numbers.standstill_nm:
        return
    lag = rotor_lag_deg(idle_nm, peak_torque_nm=numbers.standstill_nm, full_steps=numbers.full_steps)
    travel_um = lag_travel_um(
        lag,
        screw_travel_mm=float(numbers.screw_lead_mm),
        motor_turns_per_screw_turn=numbers.motor_turns_per_screw_turn,
    )
    step_um = 1000 * float(numbers.screw_lead_mm / numbers.steps_per_screw_turn)
    word = "at the first one" if musters_nm >= idle_nm else "only after several"
    yield (
        f"One microstep musters {torque_words(musters_nm)}, and {torque_words(idle_nm)} are needed before "
        f"anything moves: it moves {word}. One step is {step_um:.2g} µm at the carriage, which stands "
        f"{float(travel_um):.1g} µm behind before it moves at all."
    )


def _inertia(numbers: StepperNumbers) -> Iterator[str]:
    driven = numbers.inertia_kg_m2 / numbers.rotor_inertia_kg_m2 - 1
    if math.isnan(driven):
        return
    verdict = (
        "holds the maker's rule of ten at the most" if driven <= MOST_DRIVEN else "breaks the rule of ten"
    )
    yield (
        f"What it drives has **{driven:.2g}** times the inertia of its own rotor, which {verdict}. Weight on "
        "the screw counts, a large pulley most of all; the carriage's hardly does."
    )


def _acceleration(views: Sequence[StepperView]) -> Iterator[str]:
    bound = [(_spindle_gain_rpm_s(view), view.work.name) for view in views]
    gain, name = min((one for one in bound if not math.isnan(one[0])), default=(math.nan, ""))
    if not math.isnan(gain):
        yield (
            f"The spindle may gain or lose up to {float(f'{gain:.2g}'):.0f} rpm each second in {name}, the "
            "hardest of the list, on half of the torque that is left. A stepper that starts from rest "
            "together with the spindle needs no ramp."
        )


def _spindle_gain_rpm_s(view: StepperView) -> float:
    left_nm = max(view.here_nm - view.load_nm, 0.0)
    stepper_turns = view.stepper_rpm / view.speed_rpm
    gain_rad_s2 = PRUDENT_SHARE * left_nm / view.numbers.inertia_kg_m2 / stepper_turns
    return gain_rad_s2 * 30 / np.pi


def _power_feed(machine: Machine, numbers: StepperNumbers) -> Iterator[str]:
    fastest = machine.feed.fastest_mm_min
    if fastest is None:
        return
    turning = float(
        stepper_speed_rpm(1.0, 1, numbers.screw_lead_mm, numbers.motor_turns_per_screw_turn) * fastest
    )
    stall_rpm = fastest_with_nm(numbers, float(numbers.load_nm(0.0)))
    word = "well below" if turning <= PRUDENT_SHARE * stall_rpm else "**more than**"
    yield (
        f"The power feed at its fastest turns the stepper at {turning:.0f} rpm, {word} half of the "
        f"{stall_rpm:.0f} rpm at which it would stall without a cut."
    )


def _standing_still(numbers: StepperNumbers) -> str:
    if numbers.holds_itself:
        return (
            "The screw holds by itself: without current the carriage stays where it is. Vibration can still "
            "creep it, and the thread's place is lost with the current."
        )
    return (
        "**The screw does not hold by itself**: without current the carriage can be pushed along the bed, "
        "and a cut that loses its power lets it run. Have a stop or a brake for it."
    )


def what_to_change(view: StepperView, tried: Sequence[Change]) -> list[str]:
    """The order in which to change things for the thread that is worst off."""
    numbers, name = view.numbers, view.work.name
    if view.margin >= numbers.torque_margin and not view.too_fast and not view.in_band:
        lines = [
            f"Every thread on the list can be cut at {view.speed_rpm:.0f} rpm with the torque in hand that "
            f"you want; {name} has the least, {view.margin:.2g} times."
        ]
    else:
        lines = [f"{view.headline} Change things in this order:", *_order(view, tried)]
    by_torque = view.highest.limit == TORQUE
    gains = [
        one
        for one in tried[1:]
        if one.view.highest.speed_rpm > WORTH_SHARE * view.highest.speed_rpm
        and one.view.margin > min(view.margin, numbers.torque_margin)
    ]
    if by_torque and gains:
        best = max(gains, key=lambda one: one.view.highest.speed_rpm)
        lines.append(
            f"Of the changes tried below, {best.words} raises the highest speed of {name} most, from "
            f"{view.highest.speed_rpm:.0f} to {best.view.highest.speed_rpm:.0f} rpm."
        )
    return lines


def _order(view: StepperView, tried: Sequence[Change]) -> Iterator[str]:
    numbers = view.numbers
    short = view.margin < numbers.torque_margin
    if short:
        yield "Settle whether the driver's current is peak or rms, and set what the motor's plate allows."
    corner = float(in_phase_corner_rpm(**numbers.driven))
    if short and view.stepper_rpm > corner:
        yield (
            f"The stepper turns at {view.stepper_rpm:.0f} rpm, above its corner at {corner:.0f} rpm: give "
            "the driver more volts, or gear the stepper to turn less often. A motor with more holding torque "
            "mostly has more inductance, too, and gains little up there."
        )
    elif short:
        yield (
            "The stepper turns slowly enough for its whole torque: let it turn more often for one turn of "
            "the screw, or fit a stronger motor. More volts buy nothing here."
        )
    if view.in_band:
        yield (
            "Take another spindle speed, the cheapest cure of all. Where that is not open: a damper on the "
            "free end of the stepper's shaft, more microsteps below the corner or more volts above it, then "
            "another gearing."
        )
    yield from (_of_limit(words) for words in view.too_fast if words in _CURES)


def _of_limit(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}: {_CURES[words]}"


_CURES = {
    CONTROLLER: "halve the microsteps, but not below 8, or let the stepper turn less often.",
    DRIVER: "shorten the cable and feed its input properly, then halve the microsteps, but not below 8.",
    CHANNEL: "see the page *04 spindle encoder and RPM meter*.",
    COUNTER: "see the page *04 spindle encoder and RPM meter*.",
    TORQUE: "see above; a smaller depth of cut asks less.",
    STEPPER: "let it turn less often for one turn of the screw.",
    FELL_OUT: "find out why it fell out of step there before anything else is changed.",
}
