"""Basic sizes: the diameters that a thread has before any tolerance."""

from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.leadscrew.lead import INCH_MM
from machinelab.threads.profile import NPT
from machinelab.threads.thread import Thread

__all__ = ["BasicSizes", "basic_sizes"]


@dataclass(frozen=True)
class BasicSizes:
    """The diameters of a thread without tolerance.

    Parameters
    ----------
    major_diameter_mm : float [mm]
        Outside diameter of the screw.
    pitch_diameter_mm : float [mm]
        Where land and groove are equally wide.
    minor_diameter_mm : float [mm]
        Bore of the nut before it is threaded.
    root_diameter_mm : float [mm]
        Diameter of the screw at the bottom of its groove.
    nut_major_diameter_mm : float [mm]
        Diameter of the nut at the bottom of its groove.

    Source
    ------
    See `basic_sizes`.
    """

    major_diameter_mm: float
    pitch_diameter_mm: float
    minor_diameter_mm: float
    root_diameter_mm: float
    nut_major_diameter_mm: float


def basic_sizes(thread: Thread) -> BasicSizes:
    """The diameters of a thread before any tolerance.

    Depths go by the pitch, never by the lead, whatever the number of starts.

    Formula
    -------
    none: shares of the form times the pitch, taken twice from the diameter; see `machinelab.threads.profile`

    Parameters
    ----------
    thread : Thread
        The thread.

    Returns
    -------
    BasicSizes
        Diameters. Of NPT at the small end of the screw, of other taper threads at the gauge plane.

    Raises
    ------
    RangeError
        If the designation does not say the diameter.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> round(basic_sizes(parse("M10")).pitch_diameter_mm, 3)
    9.026

    Source
    ------
    ISO 724, ISO 2904, BS 84, ASME B1.1, B1.5 and B1.20.1, from memory.
    """
    if thread.nominal_diameter_mm is None:
        raise RangeError(
            f"{thread.designation} does not say the diameter. Type it in front, such as 5/16 x 26 cycle; "
            "the diameters of a worm come from its gear."
        )
    form, pitch = thread.form, float(thread.pitch_mm)
    major, play = float(thread.nominal_diameter_mm), form.play_for_mm(pitch)
    if form is NPT:
        major = _small_end_mm(major, pitch) + 2 * form.crest_height * pitch
    effective = major - 2 * form.crest_height * pitch
    return BasicSizes(
        major_diameter_mm=major,
        pitch_diameter_mm=effective,
        minor_diameter_mm=effective - 2 * form.nut_crest_height * pitch,
        root_diameter_mm=effective - 2 * form.root_depth * pitch - 2 * play,
        nut_major_diameter_mm=major + 2 * play,
    )


def _small_end_mm(pipe_mm: float, pitch_mm: float) -> float:
    """Pitch diameter at the small end, ASME B1.20.1 from memory: D - (0.05 D + 1.1) P, in inches."""
    inch = float(INCH_MM)
    return pipe_mm - (0.05 * pipe_mm / inch + 1.1) * pitch_mm
