"""A spindle whose drive comes on again while it runs down; invented."""

import numpy as np
from scipy.integrate import solve_ivp
from simulate.coast_log import RPM, Truth


def coast_from(truth: Truth, start_rpm, times):
    """Speed [rpm] at times after the drive let go, by adaptive integration; before that the start speed."""

    def slow(time, speed):
        return -truth.deceleration(speed) if speed[0] > 0 else np.zeros(1)

    run = solve_ivp(
        slow,
        (0, max(np.max(times), 1.0)),
        [start_rpm * RPM],
        t_eval=np.unique(times[times > 0]),
        max_step=0.05,
    )
    return np.interp(times, [0.0, *run.t], [start_rpm, *np.maximum(run.y[0], 0) / RPM])


def driven_again(truth: Truth, *, after_s, up_to_rpm, lasts_s, coasts_again, climb_rpm_s=250.0):
    """Return (time_s, speed_rpm) of the spindle: a coast, the drive on again, and maybe a second coast."""
    on_s = truth.start_s + after_s
    off_s = on_s + lasts_s
    end_s = off_s + (truth.stop(up_to_rpm)[0] + 4 if coasts_again else 0)
    time_s = np.arange(0, end_s, 0.005)
    speed = coast_from(truth, truth.start_rpm, time_s - truth.start_s)
    caught = np.interp(on_s, time_s, speed)
    way = np.sign(up_to_rpm - caught)
    driven = caught + way * np.minimum(climb_rpm_s * (time_s - on_s), abs(up_to_rpm - caught))
    speed = np.where(time_s > on_s, driven, speed)
    if coasts_again:
        speed = np.where(time_s > off_s, coast_from(truth, up_to_rpm, time_s - off_s), speed)
    return time_s, speed
