"""A braked spindle as it really is, and the log that a controller writes of it from its encoder.

Speed, angle and the heat in every part are integrated together by a general ODE solver, piece by piece, so
that nothing here leans on the closed forms of the library. All machines and numbers are invented.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from simulate.coast_log import RPM, Display, Truth, displayed

SPEED, ANGLE, RESISTOR, ARMATURE, BRUSHES, FRICTION = range(6)


@dataclass(frozen=True)
class BrakedTruth:
    """A spindle with a resistor brake; the free spindle's drags, start and time stand in ``free``."""

    free: Truth
    spindle_emf_v_s: float
    armature_ohm: float
    resistor_ohm: float
    brush_v: float
    inertia_kg_m2: float
    contact_delay_s: float = 0.0

    def rates(self, state, closed):
        """Change of speed, angle and the four heats; the contact is open or closed."""
        speed = state[SPEED]
        loop = self.armature_ohm + self.resistor_ohm
        current = max(self.spindle_emf_v_s * speed - self.brush_v, 0.0) / loop if closed else 0.0
        drag = self.free.deceleration(speed)
        return [
            -drag - self.spindle_emf_v_s * current / self.inertia_kg_m2,
            speed,
            current**2 * self.resistor_ohm,
            current**2 * self.armature_ohm,
            current * self.brush_v,
            self.inertia_kg_m2 * drag * speed,
        ]

    def stop(self, from_rpm):
        """Time and final state of a stop, by adaptive integration from the drive's letting go."""
        pieces = self._pieces(from_rpm)
        return pieces[-1].t[-1], pieces[-1].y[:, -1]

    def run(self):
        """Speed [rpm] and turns as functions of the time on the log's clock."""
        pieces = self._pieces(self.free.start_rpm)
        start = self.free.start_rpm * RPM

        def state(time_s):
            after = time_s - self.free.start_s
            if after <= 0:
                return start, start * after
            piece = next((one for one in pieces if after < one.t[-1]), None)
            if piece is None:
                return 0.0, pieces[-1].y[ANGLE, -1]
            return tuple(piece.sol(after)[[SPEED, ANGLE]])

        return (
            lambda times: np.array([state(time)[0] for time in times]) / RPM,
            lambda times: np.array([state(time)[1] for time in times]) / (2 * np.pi),
        )

    def _pieces(self, from_rpm):
        def standstill(time, state):
            return state[SPEED]

        def brushes(time, state):
            return self.spindle_emf_v_s * state[SPEED] - self.brush_v

        standstill.terminal = brushes.terminal = True
        state, clock, pieces = np.array([from_rpm * RPM, 0, 0, 0, 0, 0], float), 0.0, []
        stages = [(False, self.contact_delay_s, standstill), (True, 1e4, brushes), (True, 1e4, standstill)]
        for closed, lasting, event in stages:
            if lasting == 0.0 or (event is brushes and brushes(clock, state) <= 1e-9):
                continue
            piece = solve_ivp(
                lambda _, now, closed=closed: self.rates(now, closed),
                (clock, clock + lasting),
                state,
                events=event,
                dense_output=True,
                rtol=1e-11,
                atol=1e-12,
            )
            pieces.append(piece)
            state, clock = piece.y[:, -1], piece.t[-1]
        return pieces


def write_braked_log(
    truth: BrakedTruth, seed, *, counts_per_turn=2700, gate_s=0.02, rows_lost=0.01, after_s=1.5
):
    """Return (time_s, speed_rpm): encoder counts over each gate, told at its end, a few rows lost."""
    rng = np.random.default_rng(seed)
    stop_s, _ = truth.stop(truth.free.start_rpm)
    ends = np.arange(1, int((truth.free.start_s + stop_s + after_s) / gate_s)) * gate_s
    _, turns = truth.run()
    counts = np.floor(counts_per_turn * turns(np.concatenate([[0.0], ends])) + rng.random())
    speed = np.diff(counts) * 60 / (counts_per_turn * gate_s)
    kept = rng.random(ends.size) >= rows_lost
    return np.round(ends[kept], 3), speed[kept]


def write_displayed_log(truth: BrakedTruth, display: Display, seed, *, after_s=5.0):
    """Return (time_s, speed_rpm) as a logger beside a display that lags and holds would have written."""
    stop_s, _ = truth.stop(truth.free.start_rpm)
    fine = np.arange(0, truth.free.start_s + stop_s + after_s, 0.005)
    speed, _ = truth.run()
    return displayed(fine, speed(fine), display, seed)
