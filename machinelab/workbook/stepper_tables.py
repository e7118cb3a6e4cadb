"""Every thread on the stepper side by side: torque in hand, highest speeds, and which one is worst off."""

from collections.abc import Sequence

import pandas as pd

from machinelab.workbook.panels.stepper import StepperView
from machinelab.workbook.stepper_numbers import HUNTS, SHAKES
from machinelab.workbook.torque_words import torque_words


def worst_of(views: Sequence[StepperView]) -> StepperView:
    """The thread that is too fast, short of torque, shaken, or has the least in hand, in this order."""
    return max(views, key=_trouble)


def torque_table(views: Sequence[StepperView], words: Sequence[str]) -> pd.DataFrame:
    """Every thread at one spindle speed: the stepper's speed, its pulses and torque, and a verdict's word."""
    rows = [
        (
            view.work.name,
            f"{view.stepper_rpm:.0f} rpm",
            f"{view.pulses_hz:.0f}",
            torque_words(view.here_nm),
            torque_words(view.load_nm),
            f"{view.margin:.2g} times",
            word,
        )
        for view, word in zip(views, words, strict=True)
    ]
    columns = ["thread", "stepper", "pulses each second", "has", "asked", "in hand", "by the calculation"]
    return _by_thread(rows, columns)


def speed_table(views: Sequence[StepperView]) -> pd.DataFrame:
    """Every thread: the highest speed, what sets it, and the speeds to keep out of."""
    rows = [
        (
            view.work.name,
            up_to(view.highest.speed_rpm),
            view.highest.limit,
            *(_kept_out(view, why) for why in (SHAKES, HUNTS)),
        )
        for view in views
    ]
    return _by_thread(rows, ["thread", "spindle up to", "set by", f"{SHAKES} at", f"{HUNTS} at"])


def up_to(speed_rpm: float) -> str:
    """The highest speed in words; a change that leaves no speed at all is told as such."""
    return f"{speed_rpm:.0f} rpm" if speed_rpm >= 1 else "no speed"


def _by_thread(rows, columns) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=columns).set_index("thread").rename_axis(None)


def _kept_out(view: StepperView, why: str) -> str:
    if not view.bands:
        return "not known"
    spans = sorted((one.band.lowest_rpm, one.band.highest_rpm) for one in view.bands if one.why == why)
    return ", ".join(f"{low:.0f} to {high:.0f} rpm" for low, high in spans) or "nowhere"


def _trouble(view: StepperView) -> tuple:
    short = view.margin < view.numbers.torque_margin
    return bool(view.too_fast), short, view.in_band is not None, -view.margin
