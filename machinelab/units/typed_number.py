"""A number as a workshop writes it, taken strictly from the front of a short text.

``1-1/4``, ``1 1/4``, ``1½``, ``-0.5``, ``.5``, ``1e-3`` and ``10 000`` are read; the text after the number is
handed back untouched, for ``units`` to look up. Nothing is evaluated and nothing is guessed.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from machinelab.errors import UnitError

LONGEST_TEXT = 100
LARGEST_POWER = 30
_SAME_SIGN = {
    **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\u2014", "-"),
    **dict.fromkeys("\u2044\u2215", "/"),
    **dict.fromkeys("\u201c\u201d\u2033", '"'),
    **dict.fromkeys("\u2018\u2019\u2032", "'"),
}
_NUMBER = re.compile(
    r"""(?P<sign>[-+]?)\s*(?:
        (?P<whole>\d+)(?:\s*-\s*|\s+)(?P<over>\d+)\s*/\s*(?P<under>\d+)
      | (?P<top>\d+)\s*/\s*(?P<bottom>\d+)
      | (?P<decimal>(?:\d{1,3}(?:[ ]\d{3})+(?!\d)|\d+)(?:\.\d*)?|\.\d+)(?:[eE](?P<power>[-+]?\d+))?
    )""",
    re.VERBOSE | re.ASCII,
)


@dataclass(frozen=True)
class TypedNumber:
    """A number with the figures it was typed in, and the text that follows it."""

    value: Fraction
    figures: str
    rest: str

    @property
    def is_fraction(self) -> bool:
        """Whether it was typed with a fraction stroke."""
        return "/" in self.figures


def tidy(text: str) -> str:
    """Bring the many ways of writing a blank, a minus, a stroke or ``½`` to the plain one.

    Raises
    ------
    UnitError
        When nothing was typed, or more than a quantity can need.

    Examples
    --------
    >>> tidy("1½\u00a0in")
    '1 1/2 in'
    """
    if not isinstance(text, str):
        raise UnitError(
            f"{in_short(str(text))} must be written as text with its unit, between quotation marks."
        )
    if len(text) > LONGEST_TEXT:
        raise UnitError(f"{in_short(text)} is {len(text)} characters long; a quantity needs a few.")
    plain = " ".join("".join(map(_plain_sign, text)).split())
    if not plain:
        raise UnitError("nothing is typed.")
    return plain


def take_number(text: str) -> TypedNumber:
    """Take the number from the front of a tidy text.

    Raises
    ------
    UnitError
        When there is no number there, or one that could mean two things.

    Examples
    --------
    >>> take_number("1-1/4 in")
    TypedNumber(value=Fraction(5, 4), figures='1-1/4', rest='in')
    """
    found = _NUMBER.match(text)
    comma = re.match(r"[-+]?\s*(\d*),(\d+)", text, re.ASCII)
    if comma:
        raise UnitError(_about_comma(text, *comma.groups()))
    if not found:
        raise UnitError(f"{in_short(text)} does not begin with a number.")
    return TypedNumber(_value(found), found[0].strip(), text[found.end() :].strip())


def in_short(text: str) -> str:
    """Repeat what was typed so that it can be printed: unprintable signs marked, long text cut."""
    printable = "".join(sign if sign.isprintable() else "?" for sign in text[:41])
    return printable if len(text) <= 40 else f"{printable[:37]}..."


def _plain_sign(sign: str) -> str:
    if unicodedata.decomposition(sign).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", sign).replace("\u2044", "/")
    if sign.isspace():
        return " "
    if unicodedata.category(sign) == "Nd":
        return str(unicodedata.decimal(sign))
    return _SAME_SIGN.get(sign, sign)


def _value(found: re.Match) -> Fraction:
    part = found.groupdict()
    if part["whole"]:
        value = int(part["whole"]) + _proper_fraction(found[0], int(part["over"]), int(part["under"]))
    elif part["top"]:
        value = _divided(found[0], int(part["top"]), int(part["bottom"]))
    else:
        value = Fraction(part["decimal"].replace(" ", "")) * _power_of_ten(found[0], part["power"])
    return -value if part["sign"] == "-" else value


def _proper_fraction(figures: str, over: int, under: int) -> Fraction:
    fraction = _divided(figures, over, under)
    if fraction >= 1:
        raise UnitError(
            f"in {figures} the fraction must be less than one. Write 1-1/4 for one and a quarter."
        )
    return fraction


def _divided(figures: str, over: int, under: int) -> Fraction:
    if under == 0:
        raise UnitError(
            f"{figures} has a 0 under the stroke; nothing can be divided by 0. Write 1/2, for instance."
        )
    return Fraction(over, under)


def _power_of_ten(figures: str, power: str | None) -> Fraction:
    if not power:
        return Fraction(1)
    if len(power) > 4 or abs(int(power)) > LARGEST_POWER:
        raise UnitError(f"{in_short(figures)} is beyond any measure in a workshop.")
    return Fraction(10) ** int(power)


def _about_comma(text: str, before: str, after: str) -> str:
    rest = text[re.match(r"[-+]?\s*[\d,]*", text, re.ASCII).end() :].strip()
    decimal = f"{before or 0}.{after} {rest}".strip()
    told = f"{in_short(text)} has a comma, which some read as a decimal point and others skip."
    if len(after) != 3:
        return f"{told} Write it with a point: {in_short(decimal)}."
    return f"{told} Write {in_short(decimal)} or {in_short(f'{before}{after} {rest}'.strip())}."
