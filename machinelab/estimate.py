"""A measured or fitted quantity that carries its own doubt."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """A best value with the interval that should hold the truth 95 times in 100.

    Parameters
    ----------
    value : float
        Best value, in the unit that the attribute holding it is named after.
    interval : tuple of two floats
        Lower and upper end of the 95 % interval, same unit.
    """

    value: float
    interval: tuple[float, float]

    @property
    def expanded_uncertainty(self) -> float:
        """Half the width of the interval: the U of an inspection sheet, k about 2."""
        return (self.interval[1] - self.interval[0]) / 2

    @classmethod
    def symmetric(cls, value: float, half_width: float) -> "Estimate":
        """Return the estimate ``value`` plus or minus ``half_width``."""
        return cls(value, (value - half_width, value + half_width))

    def __str__(self) -> str:
        low, high = self.interval
        return f"{self.value:.6g} ({low:.6g} to {high:.6g})"
