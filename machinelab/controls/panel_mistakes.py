"""The list of mistakes in a description, gathered while it is read and told all at once."""

from collections.abc import Callable, Collection, Iterable, Mapping

from machinelab.controls.rung import nearest
from machinelab.errors import PanelError

__all__: list[str] = []

MOST_TOLD = 25
LONGEST_QUOTE = 60


class Mistakes:
    """What is wrong with a description, and the questions that find it.

    Parameters
    ----------
    line_of : callable
        Gives the line of the file in which a place such as ``relay.KB.coil`` stands, or None.
    """

    def __init__(self, line_of: Callable[[str], int | None]):
        self.line_of = line_of
        self.found: list[tuple[str, str]] = []

    def add(self, place: str, words: str) -> None:
        """Put one more on the list."""
        self.found.append((place, words))

    def raise_if_any(self) -> None:
        """Tell all of them, in the order of the file."""
        if not self.found:
            return
        lines = [(self.line_of(place), place, words) for place, words in self.found]
        lines.sort(key=lambda one: one[0] or 0)
        told = [
            f"- {f'line {line}, ' if line else ''}{place or 'file'}: {words}" for line, place, words in lines
        ]
        more = len(told) - MOST_TOLD
        if more > 0:
            told = [*told[:MOST_TOLD], f"- and {more} more."]
        count = len(lines)
        head = "One mistake" if count == 1 else f"{count} mistakes"
        raise PanelError("\n".join([f"{head} in the description of the control box:", *told]))

    def unknown(self, place: str, said: Iterable[str], allowed: Collection[str]) -> None:
        """Find words that are not known at a place."""
        for key in said:
            if key not in allowed:
                where = f"{place}.{key}" if place else str(key)
                self.add(
                    where, f"{_quoted(key)} is not known here.{nearest(str(key), allowed) or _list(allowed)}"
                )

    def texts(self, place: str, said: Mapping, key: str) -> tuple[str, ...]:
        """Take a list of names; empty when there is none or it cannot be read."""
        value = said.get(key, [])
        value = [value] if isinstance(value, str) else value
        if isinstance(value, list | tuple) and all(isinstance(one, str) and one for one in value):
            return tuple(value)
        self.add(f"{place}.{key}", f'`{key}` is a list of names in quotes, for instance {key} = ["a", "b"].')
        return ()

    def one_of(
        self,
        place: str,
        said: Mapping,
        key: str,
        allowed: Collection[str],
        usual: str | None,
        needed: bool = False,
    ) -> str | None:
        """Take one of the names allowed, or the usual one when nothing is said."""
        if key not in said:
            if needed:
                self.add(place, f"`{key}` is missing.{_list(allowed)}")
            return usual
        value = said[key]
        if isinstance(value, str) and value in allowed:
            return value
        self.not_one_of(f"{place}.{key}", value, allowed, key)
        return usual

    def not_one_of(self, place: str, value: object, allowed: Collection[str], what: str) -> None:
        """Say that a name is none of those allowed."""
        hint = nearest(str(value), allowed) or _list(allowed)
        self.add(place, f"{_quoted(value)} is no {what} here.{hint}")

    def flag(self, place: str, said: Mapping, key: str, usual: bool) -> bool:
        """Take yes or no."""
        value = said.get(key, usual)
        if isinstance(value, bool):
            return value
        self.add(
            f"{place}.{key}", f"`{key}` is true or false, without quotes; {_quoted(value)} stands there."
        )
        return usual

    def number(self, place: str, said: Mapping, key: str, most: float = 1e6) -> float | None:
        """Take a number from zero up; None when nothing is said."""
        value = said.get(key)
        if value is None:
            return None
        if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= most:
            return float(value)
        self.add(
            f"{place}.{key}",
            f"`{key}` is a plain number from 0 to {most:g}, its unit is in its name; "
            f"{_quoted(value)} stands there.",
        )
        return None

    def span(self, place: str, said: Mapping, key: str, most: float) -> tuple[float, float] | None:
        """Take a lowest and a highest figure, or one figure for both; None when nothing is said."""
        value = said.get(key)
        if value is None:
            return None
        low, high = value if isinstance(value, list | tuple) and len(value) == 2 else (value, value)
        good = all(isinstance(one, int | float) and not isinstance(one, bool) for one in (low, high))
        if good and 0 <= low <= high <= most:
            return float(low), float(high)
        self.add(
            f"{place}.{key}",
            f"`{key}` is a lowest and a highest figure from 0 to {most:g}, as [10, 20]; "
            f"{_quoted(value)} stands there.",
        )
        return None


def _quoted(value: object) -> str:
    text = str(value) if isinstance(value, str) else repr(value)
    return f"{text[:LONGEST_QUOTE]}{'...' if len(text) > LONGEST_QUOTE else ''}"


def _list(allowed: Collection[str]) -> str:
    return (
        f" Known: {', '.join(list(allowed)[:MOST_TOLD])}."
        if allowed
        else " There is none to choose from yet."
    )
