"""Thread forms: the angle between the flanks, and how far crest and root stand from the pitch line.

A thread is a size, a pitch and a form. Everything here is a share of the pitch; only the play at crest and
root of lead screws goes by steps of pitch, in millimetres.
"""

from dataclasses import dataclass
from math import cos, pi, radians, sin, sqrt, tan

__all__ = [
    "ACME",
    "BA",
    "CYCLE",
    "FORMS",
    "METRIC",
    "NPT",
    "TRAPEZOIDAL",
    "UNIFIED",
    "WHITWORTH",
    "WORM",
    "ThreadForm",
]


@dataclass(frozen=True)
class ThreadForm:
    """The shape of a groove, in shares of the pitch.

    Parameters
    ----------
    name : str
        What the trade calls it.
    included_angle_deg : float [deg]
        Whole angle between the flanks.
    crest_height : float [1]
        From the pitch line out to the screw's crest, on the radius.
    nut_crest_height : float [1]
        From the pitch line in to the nut's crest.
    root_depth : float [1]
        From the pitch line in to the screw's root, without play.
    crest_radius, root_radius : float [1, 1]
        Rounding of the screw's crest and root; zero where they are flat.
    play_mm : tuple of (float, float) [mm]
        Play at crest and root of a lead screw: (largest pitch it goes for, play); empty without.

    Source
    ------
    See each form.
    """

    name: str
    included_angle_deg: float
    crest_height: float
    nut_crest_height: float
    root_depth: float
    crest_radius: float = 0.0
    root_radius: float = 0.0
    play_mm: tuple[tuple[float, float], ...] = ()

    @property
    def half_angle_rad(self) -> float:
        """From a flank to the plane across the thread."""
        return radians(self.included_angle_deg) / 2

    @property
    def sharp_height(self) -> float:
        """Height of the triangle that the flanks would make without any flat or rounding."""
        return 1 / (2 * tan(self.half_angle_rad))

    @property
    def flank_height(self) -> float:
        """From the pitch line out to where the straight flank ends."""
        return min(self.crest_height, self._straight(self.crest_radius))

    @property
    def flank_depth(self) -> float:
        """From the pitch line in to where the straight flank ends."""
        return min(self.root_depth, self._straight(self.root_radius))

    def play_for_mm(self, pitch_mm: float) -> float:
        """Play at crest and root for a pitch."""
        steps = (play for largest, play in self.play_mm if pitch_mm <= largest)
        return next(steps, self.play_mm[-1][1] if self.play_mm else 0.0)

    def _straight(self, radius: float) -> float:
        """From the pitch line to where a rounding of the sharp corner begins."""
        return self.sharp_height / 2 - radius * cos(self.half_angle_rad) ** 2 / sin(self.half_angle_rad)


def _sixty_degrees(name: str) -> ThreadForm:
    """Crest flat of P/8, root of the design profile rounded with H/6: ISO 68-1, ASME B1.1."""
    height = sqrt(3) / 2
    return ThreadForm(
        name,
        included_angle_deg=60.0,
        crest_height=3 / 8 * height,
        nut_crest_height=height / 4,
        root_depth=height / 3,
        root_radius=height / 6,
    )


def _rounded(name: str, included_angle_deg: float, radius: float) -> ThreadForm:
    """A triangle whose corners are rounded alike at crest and root."""
    half = radians(included_angle_deg) / 2
    reach = 1 / (4 * tan(half)) - radius * (1 / sin(half) - 1)
    return ThreadForm(name, included_angle_deg, reach, reach, reach, radius, radius)


def _lead_screw(name: str, included_angle_deg: float, play_mm: tuple[tuple[float, float], ...]) -> ThreadForm:
    return ThreadForm(name, included_angle_deg, 0.25, 0.25, 0.25, play_mm=play_mm)


def _whitworth_radius() -> float:
    """BS 84: a sixth of the triangle is cut off at crest and root by the rounding."""
    half = radians(27.5)
    return 1 / (12 * tan(half)) / (1 / sin(half) - 1)


def _ba_radius() -> float:
    """BS 93: the roundings leave six tenths of the pitch between crest and root."""
    half = radians(23.75)
    return (1 / (2 * tan(half)) - 0.6) / (2 * (1 / sin(half) - 1))


# ISO 68-1 and ASME B1.1 (from memory).
METRIC = _sixty_degrees("ISO metric")
UNIFIED = _sixty_degrees("Unified")
# BS 84, from memory; a treatise on screw threads of the 1910s prints the same radius of 0.1373 pitches.
WHITWORTH = _rounded("Whitworth", 55.0, _whitworth_radius())
# Radius of a sixth of the pitch, from memory; the core diameters of a published table of cycle threads agree.
CYCLE = _rounded("cycle", 60.0, 1 / 6)
# BS 93: depth of 0.6 pitches, as in a public technical note (read), which prints a radius of 0.18083 with it.
BA = _rounded("BA", 47.5, _ba_radius())
# ISO 2904, plays from memory.
TRAPEZOIDAL = _lead_screw("trapezoidal", 30.0, ((1.5, 0.15), (5.0, 0.25), (12.0, 0.5), (44.0, 1.0)))
# ASME B1.5, from memory: 0.005 in for more than 10 threads to the inch, 0.010 in for 10 and fewer.
ACME = _lead_screw("Acme", 29.0, ((25.4 / 10.5, 0.127), (25.4, 0.254)))
# ASME B1.20.1, from memory: height of the thread 0.8 pitches, flats of 0.033 H at crest and root.
NPT = ThreadForm("American pipe", 60.0, 0.4, 0.4, 0.4)
# For gears of 20 degrees: crest one module, root 1.25 modules from the pitch line (textbooks, from memory).
WORM = ThreadForm("worm", 40.0, 1 / pi, 1 / pi, 1.25 / pi)

FORMS = (METRIC, UNIFIED, WHITWORTH, CYCLE, BA, TRAPEZOIDAL, ACME, NPT, WORM)
