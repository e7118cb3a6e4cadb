"""One comparison with the world outside: it asserts, and it writes its line on the inspection sheet."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from numbers import Real

import numpy as np
import pytest
from inspection.sheet import Row
from inspection.source import Source, by_hand, source_of

EXACT = "exact"


@dataclass(frozen=True)
class Closeness:
    """How near two figures must be, as ``pytest.approx`` takes it; without either, they must be equal."""

    rel: float | None = None
    abs: float | None = None

    @property
    def is_exact(self) -> bool:
        """Tell whether nothing but equality will do."""
        return self.rel is None and self.abs is None

    def about(self, wanted):
        """Return what a figure may be compared with."""
        return wanted if self.is_exact else pytest.approx(wanted, rel=self.rel, abs=self.abs)

    def width(self, wanted) -> float:
        """Return how far off a figure may be, in its own unit."""
        return 0.0 if self.is_exact else float(self.about(float(wanted)).tolerance)


@dataclass
class Comparison:
    """What one test compares with sources; every call asserts and writes a line, or several."""

    room: str
    test: str
    told: str = ""
    rows: list[Row] = field(default_factory=list)

    @property
    def by_hand(self) -> Source:
        """A figure that the test's own description derives."""
        return by_hand(self.told)

    def __call__(self, what, ours, published, source: Source, *, rel=None, abs=None, each=(), **told):  # noqa: A002
        """Compare one figure, or several of a kind with a line for each, named by ``each``.

        Without a tolerance the two must be equal, and several are one line. ``unit`` is the figures' unit,
        ``why`` says what makes a tolerance wider than the printed digits, ``table`` gathers the lines of a
        long table on the page.
        """
        closeness = Closeness(rel, abs)
        pairs = list(_pairs(ours, published, closeness))
        names = each if len(each) else range(1, len(pairs) + 1)
        for name, (found, wanted) in zip(names, pairs, strict=True):
            line = what if len(pairs) == 1 else f"{what}: {name}"
            self._write(line, found, wanted, source, closeness, **told)

    def row(self, row: dict, ours, *, place=None, each=(), unit="", **told):
        """Compare with a row of the kept checks, or with one place of it, by the tolerance that it names."""
        published, allowed = row["expected"], row["tolerance"]
        if place is not None:
            published = published[place]
            allowed = allowed[place] if isinstance(allowed, list) else allowed
        what = row["what"] if place is None or not each else f"{row['what']}: {each}"
        self(
            what,
            ours,
            published,
            source_of(row),
            abs=allowed or None,
            each=() if place is not None else each,
            unit=unit,
            **told,
        )

    def worst(self, what, ours, published, source: Source, *, rel=None, abs=None, **told):  # noqa: A002
        """Compare many figures at once and write the one that lies furthest off for its tolerance."""
        closeness = Closeness(rel, abs)
        pairs = list(_pairs(ours, published, closeness))
        found, wanted = max(pairs, key=lambda pair: _share(*pair, closeness))
        self._write(what, found, wanted, source, closeness, values=len(pairs), **told)

    def _write(self, what, found, wanted, source, closeness, *, unit="", why="", table="", values=1):
        agrees = bool(found == closeness.about(wanted))
        width = closeness.width(wanted)
        row = Row(
            room=self.room,
            what=what,
            kind=source.kind,
            source=source.text,
            seen=source.seen,
            published=shown(wanted),
            ours=shown(found),
            unit=unit,
            difference=_difference(found, wanted),
            tolerance=EXACT if closeness.is_exact else f"{width:.3g}",
            reason=(why or source.accuracy) if width > printed_step(shown(wanted)) else "",
            values=max(values, len(wanted) if isinstance(wanted, (list, tuple)) else 1),
            passed="yes" if agrees else "no",
            table=table,
            test=self.test,
        )
        self.rows.append(row)
        assert agrees, f"{what}: {row.ours} and not {row.published} +/- {row.tolerance} ({source.text})"


def shown(value) -> str:
    """Return a figure as the sheet writes it: exact as it stands, others to ten figures."""
    if isinstance(value, (list, tuple)):
        return ", ".join(map(shown, value))
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (Fraction, int, str)) or not isinstance(value, Real):
        return str(value)
    return f"{float(value):.10g}"


def printed_step(figure: str) -> float:
    """Return what the last printed digit of a figure stands for: a source may round there, or cut."""
    mantissa, _, exponent = figure.lower().partition("e")
    if not mantissa.lstrip("-").replace(".", "").isdigit():
        return 0.0
    decimals = len(mantissa.partition(".")[2])
    return 1.000001 * 10.0 ** (int(exponent or 0) - decimals)


def _pairs(ours, published, closeness: Closeness) -> Iterator[tuple]:
    """Put one beside the other, number by number; what must be equal is one pair."""
    if np.ndim(published) == 0 and np.size(ours) > 1 and not closeness.is_exact:
        yield from ((found, published) for found in np.ravel(ours))
    elif isinstance(published, (str, bool, Fraction)) or np.ndim(published) == 0:
        yield (ours.item() if isinstance(ours, np.ndarray) and ours.size == 1 else ours), published
    elif closeness.is_exact:
        yield list(ours), list(published)
    else:
        yield from zip(np.ravel(ours), np.ravel(published), strict=True)


def _share(found, wanted, closeness: Closeness) -> float:
    off, width = abs(float(found) - float(wanted)), closeness.width(wanted)
    return off / width if width else float(off > 0)


def _difference(found, wanted) -> str:
    figures = [one for one in (found, wanted) if isinstance(one, Real) and not isinstance(one, bool)]
    if len(figures) < 2:
        return ""
    off = float(found - wanted)
    return "0" if off == 0 else f"{off:+.2g}"
