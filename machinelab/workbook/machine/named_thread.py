"""What the designation of a thread says, beside the lines of the machine file that may say it as well."""

from collections.abc import Mapping
from functools import lru_cache

from machinelab.errors import MachinelabError
from machinelab.threads.form import Thread, parse
from machinelab.threads.profile import WORM
from machinelab.units import show

# A pitch that was typed rounded is another thread; only the pi of a worm is rounded by itself.
SAME_PITCH = 1e-9


@lru_cache(maxsize=256)
def named_thread(designation: str) -> Thread | None:
    """The thread that a designation means; None where it is in the owner's own words."""
    try:
        return parse(designation)
    except MachinelabError:
        return None


def with_what_it_is_called(said: Mapping) -> dict:
    """The lines of a thread as typed, those that are missing filled in from its designation.

    Examples
    --------
    >>> with_what_it_is_called({"designation": "5/16 x 26 cycle LH"})["pitch"]
    '26 tpi'
    """
    typed = {key: value for key, value in said.items() if value is not None}
    named = _named(typed)
    return {**_lines_of(named), **typed} if named else typed


def contradiction(thread) -> str:
    """What designation and lines of a thread say differently of it, in words; empty where they agree."""
    named = thread.named
    if named is None:
        return ""
    if abs(thread.pitch_mm / named.pitch_mm - 1) > SAME_PITCH:
        asked, typed = (show(one.pitch_mm, "mm", kind="lead") for one in (named, thread))
        return _told(thread, "pitch", asked, typed)
    nominal = named.nominal_diameter_mm
    # A blank may be turned smaller or measured, by a share of the pitch; half of it is another size.
    if nominal is not None and abs(thread.diameter_mm - float(nominal)) > float(named.pitch_mm) / 2:
        asked, typed = (show(float(one), "mm", kind="length") for one in (nominal, thread.diameter_mm))
        return _told(thread, "diameter", asked, typed)
    if thread.starts not in (None, named.starts):
        return _told(thread, "starts", str(named.starts), str(thread.starts))
    if named.hand == "left" and thread.hand != "left":
        return _told(thread, "hand", "left", "right")
    return ""


def _told(thread, line: str, asked: str, typed: str) -> str:
    return (
        f"the designation {thread.designation} means {line} {asked}, but the line {line} says {typed}. "
        f"Put one of them right, or take the line {line} out: the designation is enough."
    )


def _named(said: Mapping) -> Thread | None:
    designation = said.get("designation")
    return named_thread(designation) if isinstance(designation, str) else None


def _lines_of(thread: Thread) -> dict[str, object]:
    """The lines that would say the same, as they may be typed; what is usual is left unsaid."""
    lines: dict[str, object] = {"pitch": _pitch(thread)}
    if thread.nominal_diameter_mm is not None:
        lines["diameter"] = f"{float(thread.nominal_diameter_mm):.12g} mm"
    if thread.starts > 1:
        lines["starts"] = thread.starts
    if thread.hand == "left":
        lines["hand"] = "left"
    return lines


def _pitch(thread: Thread) -> str:
    """The pitch in the unit that it is exact in."""
    if thread.form is WORM:
        kind, number = thread.designation.split()[:2]
        return f"{number} module" if kind == "module" else f"{kind} DP"
    millimetres = f"{float(thread.pitch_mm):.10g}"
    if thread.tpi.denominator > thread.pitch_mm.denominator:
        return f"{millimetres} mm"
    return f"{float(thread.tpi):.10g} tpi"
