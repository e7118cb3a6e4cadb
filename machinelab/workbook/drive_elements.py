"""Every part of this machine that turns or beats and could print its marks on the work."""

from math import pi

from machinelab.accuracy.marks import SCREW, SPINDLE, TIME, DriveElement, harmonics
from machinelab.workbook.machine import Machine

# Belts stretch, creep and are measured roughly; common practice, no source.
BELT_SHARE = 0.01
FRICTION_BELTS = ("ribbed", "V", "flat", "round")
# The mains keeps its frequency to about two parts in a thousand, from memory.
MAINS_SHARE = 0.002
# Twice a turn comes from ovals and from couplings out of line.
HIGHEST = 2
GROOVE = "groove of the feed itself"
FULL_STEPS_PER_CYCLE = 4


def drive_elements(machine: Machine) -> list[DriveElement]:
    """List the candidates that the machine file knows enough about, with their second harmonics."""
    found = [*_of_the_spindle(machine), *_of_the_screw(machine), *_of_the_mains(machine)]
    return [child for one in found for child in (harmonics(one, HIGHEST) if _has_harmonics(one) else [one])]


def _of_the_spindle(machine: Machine):
    yield DriveElement(GROOVE, SPINDLE, 1.0)
    drive, ratio = machine.spindle_drive, machine.motor_turns_per_spindle_turn
    slips = drive.belt in FRICTION_BELTS
    if ratio is not None:
        share = BELT_SHARE if slips else 0.0
        yield DriveElement("spindle motor", SPINDLE, float(ratio), share)
        if machine.motor.commutator_bars:
            bars = machine.motor.commutator_bars
            yield DriveElement(
                "commutator bars of the spindle motor", SPINDLE, float(ratio) * bars, share, 0.5
            )
    if slips and drive.belt_length_mm and drive.spindle_pulley_mm:
        turns = pi * float(drive.spindle_pulley_mm) / drive.belt_length_mm
        yield DriveElement("seam or lump of the spindle belt", SPINDLE, turns, BELT_SHARE)
    encoder = machine.encoder_turns_per_spindle_turn
    if encoder is not None and encoder != 1:
        yield DriveElement("encoder and its pulley", SPINDLE, float(encoder))


def _of_the_screw(machine: Machine):
    if machine.leadscrew.lead_mm is None:
        return
    yield DriveElement("leadscrew", SCREW, 1.0)
    stepper, ratio = machine.stepper, machine.motor_turns_per_screw_turn
    if stepper.screw_teeth:
        yield DriveElement("stepper", SCREW, float(ratio))
        yield DriveElement(
            "teeth of the belt or gears on the leadscrew", SCREW, float(stepper.screw_teeth), 0, 0.5
        )
    if stepper.full_steps and ratio:
        cycles = float(ratio) * stepper.full_steps / FULL_STEPS_PER_CYCLE
        yield DriveElement("current cycle of the stepper", SCREW, cycles, 0, 0.5)


def _of_the_mains(machine: Machine):
    mains = machine.mains.frequency_hz
    if mains:
        yield DriveElement("mains", TIME, mains, MAINS_SHARE, 0.5)
        yield DriveElement("mains, rectified", TIME, 2 * mains, MAINS_SHARE, 0.5)


def _has_harmonics(element: DriveElement) -> bool:
    return element.locked_to != TIME and element.prior == 1.0 and element.name != GROOVE
