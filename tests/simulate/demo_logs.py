"""Write the logs of the demo machine; everything in them is invented.

Run it from the top of the house to write the files again::

    python tests/simulate/demo_logs.py
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE / "tests"))

from simulate.brake_log import BrakedTruth, write_braked_log  # noqa: E402 - found by the line above
from simulate.coast_log import Display, Truth, write_log  # noqa: E402
from simulate.meter_log import write_step_log  # noqa: E402
from simulate.pulse_log import write_pulses  # noqa: E402

LOGS = HOUSE / "notebooks" / "machines" / "demo" / "logs"
SEED = 1927

# With the 160 mm chuck, belt on, drive switched off at the selector.
SPINDLE = Truth(start_rpm=1196.0, coulomb_rad_s2=3.1, viscous_per_s=0.021, windage_per_rad=9e-5, start_s=6.4)
# The resistor brake of the machine file, with a contact that closes far later than its data sheet says.
BRAKE = BrakedTruth(
    replace(SPINDLE, start_s=5.1),
    spindle_emf_v_s=0.864,
    armature_ohm=1.2,
    resistor_ohm=12.0,
    brush_v=2.0,
    inertia_kg_m2=0.045,
    contact_delay_s=0.17,
)
# A plain steel disc on a stub in the chuck, 200 mm across, 8.88 kg by the scales; friction repeats to 1 %.
DISC_KG_M2 = 8.88 * 0.2**2 / 8
LOADED = BRAKE.inertia_kg_m2 / (BRAKE.inertia_kg_m2 + DISC_KG_M2) * 1.01
WITH_DISC = replace(
    SPINDLE,
    start_rpm=902.0,
    coulomb_rad_s2=LOADED * SPINDLE.coulomb_rad_s2,
    viscous_per_s=LOADED * SPINDLE.viscous_per_s,
    windage_per_rad=LOADED * SPINDLE.windage_per_rad,
)
METER = Display(lag_s=0.8, hold_s=0.25, resolution_rpm=1.0, noise_rpm=0.4, cutoff_rpm=10.0)


def coast_table() -> str:
    """A logger that writes semicolons and decimal commas beside a display that lags and holds."""
    time_s, speed_rpm = write_log(SPINDLE, METER, SEED)
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, speed_rpm, strict=True)]
    head = [
        "# invented: demo machine, free run-down, chuck on, no work, belt on",
        "# drive switched off by hand a few seconds after the log starts",
        "time [s];spindle speed [rpm]",
    ]
    return "\n".join(head + rows) + "\n"


def disc_table() -> str:
    """The same logger, with a disc of known inertia in the chuck."""
    time_s, speed_rpm = write_log(WITH_DISC, METER, SEED + 5)
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, speed_rpm, strict=True)]
    head = [
        "# invented: demo machine, free run-down with a steel disc of 200 mm and 8.88 kg in the chuck",
        "time [s];spindle speed [rpm]",
    ]
    return "\n".join(head + rows) + "\n"


def film_table() -> str:
    """Readings that a person took from a film of the display, two seconds apart."""
    time_s, speed_rpm = write_log(SPINDLE, METER, SEED + 1)
    coasting = np.arange(SPINDLE.start_s + 2.5, SPINDLE.start_s + 24, 2.0)
    picked = np.searchsorted(time_s, coasting)
    start = time_s[picked[0]]
    rows = [f"{time_s[i] - start:.1f} {speed_rpm[i]:.0f}" for i in picked]
    return "\n".join(["# invented: read from a film of the display", "time_s rpm", *rows]) + "\n"


def pulse_table() -> str:
    """One stamp for each turn, in seconds, from a pickup and a timer."""
    stamps = write_pulses(SPINDLE, SEED + 2)
    head = ["# invented: one magnet on the spindle, stamps in seconds", "pulse [s]"]
    return "\n".join([*head, *(f"{stamp:.6f}" for stamp in stamps)]) + "\n"


def braked_table() -> str:
    """What the controller writes of a braked stop: encoder counts over each gate, made into a speed."""
    time_s, speed_rpm = write_braked_log(BRAKE, SEED + 3)
    head = [
        "# invented: demo machine, braked stop, chuck on, no work, belt on; speed from the encoder",
        "# drive switched off at the selector; the brake comes in by its relay",
        "time [s],speed [rpm]",
    ]
    rows = [f"{t:.3f},{n:.1f}" for t, n in zip(time_s, speed_rpm, strict=True)]
    return "\n".join(head + rows) + "\n"


def step_table() -> str:
    """The display while its pickup is moved from a spinning wheel to a standing one."""
    time_s, shown_rpm = write_step_log(SEED + 4)
    head = [
        "# invented: pickup moved from a wheel at 1000 rpm to a standing one",
        "time [s];shown [rpm]",
    ]
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, shown_rpm, strict=True)]
    return "\n".join(head + rows) + "\n"


FILES = {
    "braked_run_down.csv": braked_table,
    "disc_run_down.csv": disc_table,
    "free_run_down.csv": coast_table,
    "free_run_down_film.txt": film_table,
    "free_run_down_pulses.csv": pulse_table,
    "meter_step.csv": step_table,
}

if __name__ == "__main__":
    LOGS.mkdir(parents=True, exist_ok=True)
    for name, table in FILES.items():
        (LOGS / name).write_text(table(), encoding="utf-8", newline="\n")
