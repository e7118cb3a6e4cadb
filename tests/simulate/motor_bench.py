"""Bench readings of the demo machine's motor; everything in them is invented.

Run it from the top of the house to see the lines that stand in the demo's ``readings.toml``::

    python tests/simulate/motor_bench.py
"""

import numpy as np

SEED = 1934
RAD_S = np.pi / 30

# What the invented motor really has, cold; the machine file only says what its plate would.
ARMATURE_OHM, BRUSH_V, BACK_EMF = 1.23, 1.9, 0.2865
ANGLE_SD_OHM, METER_V, METER_SHARE = 0.03, 0.02, 0.004
CURRENTS = (0.6, 1.5, 3.0, -0.6, -1.5, -3.0)
ANGLES = (0, 50, 100, 150, 200, 250, 300, 350)
DRILL_RPM = (400, 800, 1200, 1600, 2000, -400, -1000, -1600)
LIGHT_RPM = (500, 1000, 1500, 2000, 3000, 4000)
LOADED = ((900, 2.5), (900, 5.0), (1900, 3.0), (1900, 5.5), (2900, 4.0), (2900, 6.0))


def friction_nm(rpm):
    """Friction and iron loss of the motor."""
    share = np.abs(rpm) / 4000
    return 0.085 + 0.030 * share + 0.012 * share**2


def circuit_v(rpm, amperes, chance):
    """Volts at the brushes as a meter reads them."""
    drop = BRUSH_V * np.sign(amperes) if amperes else 0.0
    true = BACK_EMF * RAD_S * rpm + ARMATURE_OHM * amperes + drop
    return true * (1 + chance.normal(0, METER_SHARE)) + chance.normal(0, METER_V)


def ohmmeter(chance) -> str:
    """A few milliamperes do not break through the film: what it shows is mostly contact."""
    readings = ARMATURE_OHM + chance.gamma(3.0, 1.1, 12)
    return " ".join(f"{reading:.1f}" for reading in readings).replace(" ", "\n")


def locked(chance) -> str:
    """The shaft held at eight angles, six currents each."""
    rows = []
    for angle in ANGLES:
        off = chance.normal(0, ANGLE_SD_OHM)
        for amperes in CURRENTS:
            volts = circuit_v(0, amperes, chance) + off * amperes
            rows.append(f"{volts:.2f} {amperes:.2f} {angle}")
    return "\n".join(rows)


def generator(chance) -> str:
    """Turned by a drill, terminals open."""
    return "\n".join(f"{rpm} {circuit_v(rpm, 0, chance):.2f}" for rpm in DRILL_RPM)


def light(chance) -> str:
    """Belt off, settled."""
    return "\n".join(_row(rpm, friction_nm(rpm) / BACK_EMF, chance) for rpm in LIGHT_RPM)


def loaded(chance) -> str:
    """Belt on, while it cuts."""
    return "\n".join(_row(rpm, amperes, chance) for rpm, amperes in LOADED)


def _row(rpm, amperes, chance) -> str:
    return f"{rpm} {circuit_v(rpm, amperes, chance):.1f} {amperes:.2f}"


def tables() -> dict[str, str]:
    """Each test's readings, as a person would type them."""
    chance = np.random.default_rng(SEED)
    kinds = (ohmmeter, locked, generator, light, loaded)
    return {kind.__name__: kind(chance) for kind in kinds}


if __name__ == "__main__":
    for name, text in tables().items():
        print(f'{name} = """\n{text}\n"""')
