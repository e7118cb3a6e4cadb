"""What the bench tests of the spindle's motor come to, as far as they were made: constants, doubts, words."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from machinelab.errors import MachinelabError, RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import t95
from machinelab.spindle.back_emf import (
    BackEmfComparison,
    GeneratorTest,
    back_emf_at_load_v_s_per_rad,
    compare_back_emf,
    generator_test,
)
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import RAD_S_PER_RPM
from machinelab.spindle.motor_bench import (
    LockedShaft,
    OhmmeterReadings,
    RunningTest,
    locked_shaft,
    ohmmeter,
    running_test,
)
from machinelab.spindle.motor_no_load import no_load_torque_nm
from machinelab.workbook.measured import value_with_uncertainty

LEAST_LIGHT_RUNS = 3


@dataclass(frozen=True)
class BenchTest:
    """One test: its name, what the figures of a line are, a line that would do, and a line of help."""

    label: str
    columns: tuple[str, ...]
    example: str
    help: str


TESTS = {
    "ohmmeter": BenchTest(
        "Ohmmeter at the brushes",
        ("ohms",),
        "11.2",
        "Ten readings or more at different angles of the shaft. It only shows how bad the contact is.",
    ),
    "locked": BenchTest(
        "Shaft held still",
        ("volts", "amperes", "angle in degrees"),
        "3.82 1.5 45",
        "Six angles, three currents each, then with the leads exchanged: both with a minus sign.",
    ),
    "generator": BenchTest(
        "Turned by a drill",
        ("rpm of the motor", "volts"),
        "1000 30.2",
        "Five speeds, terminals open; the other way round with a minus sign before both.",
    ),
    "light": BenchTest(
        "Running light",
        ("rpm of the motor", "volts", "amperes"),
        "2000 62.8 0.41",
        "Belt off, settled, at three speeds or more.",
    ),
    "loaded": BenchTest(
        "Running with a load",
        ("rpm of the motor", "volts", "amperes"),
        "1900 63.1 4.2",
        "Belt on, while it cuts, at two voltages or more. Not needed, but it proves the others.",
    ),
}


@dataclass(frozen=True)
class LightRuns:
    """Back EMF from running light, and what the motor takes to do so.

    Parameters
    ----------
    back_emf : Estimate [V s/rad]
        Mean over the runs.
    no_load_torque_nm : float [N m]
        Mean friction and iron loss over the runs.
    """

    back_emf: Estimate
    no_load_torque_nm: float


@dataclass(frozen=True)
class MotorTests:
    """What was found by each test; None where it was not made, words where it cannot be used."""

    tables: Mapping[str, np.ndarray]
    ohmmeter: OhmmeterReadings | None = None
    locked: LockedShaft | None = None
    generator: GeneratorTest | None = None
    light: LightRuns | None = None
    running: RunningTest | None = None
    problems: Mapping[str, str] = field(default_factory=dict)

    @property
    def resistance(self) -> Estimate | None:
        """The armature's resistance by the best test that was made."""
        return next((test.resistance for test in (self.locked, self.running) if test), None)

    @property
    def brush_drop(self) -> Estimate | None:
        """The brush drop by the best test that was made."""
        return next((test.brush_drop for test in (self.locked, self.running) if test), None)

    @property
    def back_emf(self) -> Estimate | None:
        """The back EMF by the best test that was made."""
        return next((test.back_emf for test in (self.generator, self.light, self.running) if test), None)

    @property
    def comparison(self) -> BackEmfComparison | None:
        """Whether two ways to the back EMF agree; None until there are two."""
        found = [test.back_emf.value for test in (self.generator, self.light) if test]
        return compare_back_emf(found[0], other_back_emf_v_s_per_rad=found[1]) if len(found) == 2 else None

    @property
    def difference_percent(self) -> Estimate | None:
        """How far the two ways are apart, in per cent, with the doubt of both."""
        if self.comparison is None:
            return None
        shares = (
            one.expanded_uncertainty / one.value for one in (self.generator.back_emf, self.light.back_emf)
        )
        return Estimate.symmetric(100 * self.comparison.difference_share, 100 * float(np.hypot(*shares)))

    def applied_to(self, train: DriveTrain) -> DriveTrain:
        """The drive with the constants that were measured in place of those of the machine file."""
        measured = {
            "armature_resistance_ohm": self.resistance,
            "brush_drop_v": self.brush_drop,
            "back_emf_v_s_per_rad": self.back_emf,
        }
        known = {name: max(one.value, 0.0) for name, one in measured.items() if one is not None}
        if self.light:
            known["no_load_torque_nm"] = self.light.no_load_torque_nm
        return replace(train, **known)

    def told(self) -> list[str]:
        """What the tests say, line by line."""
        return [
            *self._figures(),
            *(f"Please look: {TESTS[name].label}: {said}" for name, said in self.problems.items()),
        ]

    def _figures(self):
        if self.ohmmeter:
            found = self.ohmmeter
            yield (
                f"Ohmmeter: middle {found.median_ohm:.3g} ohm, scatter {100 * found.scatter_share:.0f} % of "
                f"it: {found.meaning}"
            )
        if self.locked:
            yield (
                f"Shaft held still: {_shown(self.locked.resistance, 'ohm')} and "
                f"{_shown(self.locked.brush_drop, 'V')} at the brushes."
            )
            yield from self.locked.warnings
        if self.generator:
            yield f"Turned by a drill: {_shown(self.generator.back_emf, 'V s/rad')}."
            yield from self.generator.warnings
        if self.light:
            yield (
                f"Running light: {_shown(self.light.back_emf, 'V s/rad')}, and "
                f"{self.light.no_load_torque_nm:.3f} N m for its own friction."
            )
        if self.comparison:
            yield f"Back EMF: {self.comparison.meaning}"
        if self.running:
            yield (
                f"Running with a load: {_shown(self.running.back_emf, 'V s/rad')}, "
                f"{_shown(self.running.resistance, 'ohm')}, {_shown(self.running.brush_drop, 'V')}."
            )


def motor_tests(tables: Mapping[str, np.ndarray], train: DriveTrain | None) -> MotorTests:
    """Work out each test whose readings are there.

    Parameters
    ----------
    tables : mapping of name to array
        The readings, by the names of ``TESTS``; what is missing was not measured.
    train : DriveTrain or None
        The machine as built, as far as it is known: its resistance and brush drop serve where they were not
        measured.
    """
    found, problems = {}, {}

    def attempt(name: str, into: str, work_out) -> None:
        if name in tables:
            try:
                found[into] = work_out(tables[name])
            except MachinelabError as slip:
                problems[name] = str(slip)

    attempt("ohmmeter", "ohmmeter", lambda rows: ohmmeter(rows[:, 0]))
    attempt("locked", "locked", lambda rows: locked_shaft(rows[:, 0], rows[:, 1], angle_deg=rows[:, 2]))
    attempt("generator", "generator", lambda rows: generator_test(rows[:, 0], voltage_v=rows[:, 1]))
    attempt("light", "light", partial(_light_runs, locked=found.get("locked"), train=train))
    attempt("loaded", "running", partial(_with_light_ones, tables.get("light")))
    return MotorTests(tables, **found, problems=problems)


def _light_runs(rows: np.ndarray, *, locked: LockedShaft | None, train: DriveTrain | None) -> LightRuns:
    if len(rows) < LEAST_LIGHT_RUNS:
        raise RangeError(
            f"There are {len(rows)} runs; take at least {LEAST_LIGHT_RUNS}, at different speeds."
        )
    if locked is None and train is None:
        raise RangeError("The armature's resistance is not known yet; hold the shaft still first.")
    rpm, volts, amperes = np.abs(rows).T
    resistance = locked.resistance.value if locked else train.armature_resistance_ohm
    drop = locked.brush_drop if locked else Estimate.symmetric(train.brush_drop_v, 0.0)
    each = back_emf_at_load_v_s_per_rad(
        rpm, voltage_v=volts, current_a=amperes, armature_resistance_ohm=resistance, brush_drop_v=drop.value
    )
    mean = float(np.mean(each))
    scatter = t95(len(each) - 1) * float(np.std(each, ddof=1)) / np.sqrt(len(each))
    by_drop = drop.expanded_uncertainty * float(np.mean(1 / (RAD_S_PER_RPM * rpm)))
    friction = no_load_torque_nm(amperes, back_emf_v_s_per_rad=mean)
    return LightRuns(Estimate.symmetric(mean, float(np.hypot(scatter, by_drop))), float(np.mean(friction)))


def _with_light_ones(light: np.ndarray | None, loaded: np.ndarray) -> RunningTest:
    rows = loaded if light is None else np.vstack([light, loaded])
    return running_test(rows[:, 0], voltage_v=rows[:, 1], current_a=rows[:, 2])


def _shown(estimate: Estimate, unit: str) -> str:
    if estimate.expanded_uncertainty <= 0:
        return f"{estimate.value:.4g} {unit}"
    return value_with_uncertainty(estimate.value, estimate.expanded_uncertainty, unit)
