"""Change gears: the same thread by toothed wheels, which proves the electronic ratio by another way."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise, permutations, product
from math import prod

from machinelab.errors import RangeError
from machinelab.ranges import exact_positive, exact_ratio, whole

# Common practice, no source: a stud pair clears the neighbouring shaft when the two wheels that mesh
# have together more than so many teeth beyond the next driver.
STUD_CLEARANCE_TEETH = 15
MOST_PAIRS = 3


@dataclass(frozen=True)
class GearTrain:
    """Pairs of change gears from the spindle to the screw, each a driver and the gear it drives.

    Parameters
    ----------
    wheels : tuple of (int, int) [tooth]
        (driver, driven) of each pair; the driven gear of one and the driver of the next share a stud.
    """

    wheels: tuple[tuple[int, int], ...]

    @property
    def ratio(self) -> Fraction:
        """Turns of the screw for one turn of the spindle."""
        return prod((Fraction(driver, driven) for driver, driven in self.wheels), start=Fraction(1))

    @property
    def meshes(self) -> bool:
        """Whether each driver on a stud clears the shaft before it: a + b > c + 15 (common practice)."""
        return all(sum(before) > after[0] + STUD_CLEARANCE_TEETH for before, after in pairwise(self.wheels))

    @property
    def clears_next_shaft(self) -> bool:
        """Whether each driven gear on a stud clears the shaft after it: c + d > b + 15 (derived here)."""
        return all(sum(after) > before[1] + STUD_CLEARANCE_TEETH for before, after in pairwise(self.wheels))

    def __str__(self) -> str:
        return " × ".join(f"{driver}/{driven}" for driver, driven in self.wheels)


def train_ratio(thread_lead_mm, screw_lead_mm):
    """Turns of the leadscrew for one turn of the spindle.

    Formula
    -------
    train_ratio = thread_lead_mm / screw_lead_mm

    Parameters
    ----------
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread, negative for a left hand.
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.

    Returns
    -------
    Fraction [turn/turn]
        Product of the drivers over product of the driven gears.

    Range
    -----
    The thread's lead may be negative but not zero; the screw's is above zero.

    Raises
    ------
    RangeError
        If a lead is a rounded decimal or out of range.

    Examples
    --------
    A thread of 3 mm lead on a screw of 6 threads to the inch:

    >>> train_ratio(3, Fraction(127, 30))
    Fraction(90, 127)

    Source
    ------
    Drivers over driven equals lead of thread over lead of screw: Turning and Boring (Jones, 1914).
    """
    return exact_ratio("thread_lead_mm", thread_lead_mm) / exact_positive("screw_lead_mm", screw_lead_mm)


def geared_train_ratio(ratio, counts_per_spindle_turn, steps_per_screw_turn):
    """Turns of the leadscrew for one turn of the spindle that an electronic ratio gives.

    Compared with `train_ratio` it shows whether the two ratios, of teeth and of steps, cut the same thread.

    Formula
    -------
    geared_train_ratio = ratio * counts_per_spindle_turn / steps_per_screw_turn

    Parameters
    ----------
    ratio : Fraction or int [1]
        Steps for each encoder count.
    counts_per_spindle_turn : Fraction or int [count]
        Encoder counts in one turn of the spindle.
    steps_per_screw_turn : Fraction or int [step]
        Step pulses for one turn of the screw.

    Returns
    -------
    Fraction [turn/turn]
        Must equal the train's product of drivers over driven.

    Range
    -----
    The ratio is not zero; the others are above zero.

    Raises
    ------
    RangeError
        If an input is a rounded decimal or out of range.

    Examples
    --------
    >>> geared_train_ratio(Fraction(48, 127), 4000, 3200)
    Fraction(60, 127)

    Source
    ------
    Derived here: steps for one turn of the spindle over steps for one turn of the screw.
    """
    counts = exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)
    return exact_ratio("ratio", ratio) * counts / exact_positive("steps_per_screw_turn", steps_per_screw_turn)


def driven_teeth(driver_teeth, train_ratio):
    """Teeth that a single driven gear would need; a fraction means that one pair cannot do it.

    Formula
    -------
    driven_teeth = driver_teeth / train_ratio

    Parameters
    ----------
    driver_teeth : int [tooth]
        Teeth of the driver.
    train_ratio : Fraction or int [turn/turn]
        See `train_ratio`.

    Returns
    -------
    Fraction [tooth]
        Teeth of the gear on the screw; buildable only when its denominator is one.

    Range
    -----
    Both above zero; the hand of the thread is made by an idler, not by teeth.

    Raises
    ------
    RangeError
        If an input is not above zero or not exact.

    Examples
    --------
    A screw of 1.8 tpi, a thread of 2.3 tpi and a driver of 20 teeth: no single gear will do.

    >>> driven_teeth(20, Fraction(18, 23))
    Fraction(230, 9)

    Source
    ------
    Rule of three of a 19th-century workshop treatise on construction tools, selection of screwing wheels.
    """
    return whole("driver_teeth", driver_teeth) / exact_positive("train_ratio", train_ratio)


def change_gears(ratio, gears, pairs=2):
    """Every train of owned gears that gives a ratio exactly, those with the fewest wheels first.

    Each gear in the list is one wheel on the shelf: it is used at most once; list two alike twice. An empty
    answer means that no exact train exists. The sign of the ratio plays no part: an idler makes the hand.

    Formula
    -------
    none: a search through the owned gears; each train's product of driver over driven equals the ratio.

    Parameters
    ----------
    ratio : Fraction or int [1]
        Turns of the screw for one turn of the spindle, see `train_ratio`.
    gears : list of int [tooth]
        Teeth of the wheels on the shelf.
    pairs : int [1]
        The most pairs in a train: 1, 2 or 3.

    Returns
    -------
    list of GearTrain
        Trains a/b × c/d that mesh: a + b > c + 15, with b and c on one stud. Of those with as many pairs,
        the trains whose driven gears also clear the next shaft come first.

    Range
    -----
    Gears of at least 8 teeth, one to three pairs.

    Raises
    ------
    RangeError
        If the ratio is zero or not exact, a gear is not a whole number of teeth, or there are too many pairs.

    Examples
    --------
    >>> for train in change_gears(Fraction(18, 23), [20, 24, 36, 40, 46, 60]):
    ...     print(train)
    36/46
    60/40 × 24/46
    60/46 × 24/40

    Source
    ------
    The products: Turning and Boring (Jones, 1914). The meshing rule: common practice, no source.
    """
    wanted = abs(exact_ratio("ratio", ratio))
    shelf = sorted(whole("gears", gear, at_least=8) for gear in gears)
    if whole("pairs", pairs) > MOST_PAIRS:
        raise RangeError(f"pairs is {pairs}; a train of more than {MOST_PAIRS} pairs is not searched.")
    found = (train for count in range(1, pairs + 1) for train in _trains(wanted, shelf, count))
    return sorted(
        (train for train in found if train.meshes),
        key=lambda train: (len(train.wheels), not train.clears_next_shaft, train.wheels),
    )


def _trains(wanted: Fraction, shelf: list[int], count: int) -> Iterator[GearTrain]:
    """Yield each train of exactly so many pairs once, whether it meshes or not."""
    owned = Counter(shelf)
    choices = sorted(set(combinations(shelf, count)))
    by_product: dict[int, list[tuple[int, ...]]] = {}
    for choice in choices:
        by_product.setdefault(prod(choice), []).append(choice)
    for drivers in choices:
        needed = prod(drivers) / wanted
        for driven in by_product.get(needed.numerator, ()) if needed.denominator == 1 else ():
            if Counter(drivers + driven) <= owned:
                orders = product(sorted(set(permutations(drivers))), sorted(set(permutations(driven))))
                yield from (GearTrain(tuple(zip(*order, strict=True))) for order in orders)
