"""Times and speeds of a log that holds pulse stamps or encoder counts instead of speeds."""

import numpy as np

from machinelab.errors import LogError

# A part of the fits: what the room offers are those.
__all__: list[str] = []


def speeds_of(log):
    """Times [s] and speeds [rpm] of a log of any kind, each speed dated to the middle of its interval.

    Parameters
    ----------
    log : object
        With ``time_s`` and ``speed_rpm``, or ``pulse_s``, or ``time_s`` and ``count``; pulses and counts
        need ``marks_per_turn``.

    Returns
    -------
    time_s, speed_rpm : arrays of shape (readings,) [s, rpm]
        Mean speeds between neighbouring stamps.

    Raises
    ------
    LogError
        If the log does not say how many marks or counts a turn has.
    """
    if getattr(log, "speed_rpm", None) is not None:
        return log.time_s, log.speed_rpm
    if not getattr(log, "marks_per_turn", None):
        raise LogError(
            "This log holds counts or pulses. Give how many of them make one turn of the spindle, for "
            "instance 2700 for an encoder (page 04 works it out from lines and teeth)."
        )
    stamped = getattr(log, "pulse_s", None) is not None
    time_s = np.asarray(log.pulse_s if stamped else log.time_s, float)
    passed = np.ones(time_s.size - 1) if stamped else np.abs(np.diff(np.asarray(log.count, float)))
    lasted = np.diff(time_s)
    return time_s[:-1] + lasted / 2, passed * 60 / (float(log.marks_per_turn) * lasted)
