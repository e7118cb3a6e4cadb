"""How a formula and its figures are written: plain text with the trade's signs, bare keys, a page, or LaTeX.

Each `Lettering` writes the same things in its own hand: a symbol, a number with its unit, a whole expression.
"""

import ast
import cmath
import html
import math
import re
import unicodedata
from fractions import Fraction
from numbers import Complex, Integral, Rational, Real
from types import MappingProxyType

import numpy as np

from machinelab.tables import nomenclature
from machinelab.worked.handbook import algebra

FIGURES = 6
MOST_SHOWN = 8
LONGEST_FRACTION = 10**7
PURE_NUMBER = ("", "1", "turn/turn")

_SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_PLURALS = {word: word + "s" for word in ("count", "step", "turn", "line", "edge")} | {"tooth": "teeth"}
_UNIT_SIGNS = {"um": "µm", "ohm": "Ω", "degC": "°C", "deg": "°"}
_LATEX_UNITS = {"um": r"\mu m", "ohm": r"\Omega", "degC": r"{}^{\circ}C", "deg": r"^{\circ}", "%": r"\%"}
# What matplotlib's typesetter does not know, in words that it does; a formula with two branches on one line.
_LATEX_IN_ONE_LINE = {
    r"\bmod": r"\,\mathrm{mod}\,",
    r"\begin{cases} ": "",
    r" & \text{for}\: ": r"\;\mathrm{if}\;",
    r" \\": r",\;\mathrm{otherwise}\;",
    r" & \text{otherwise} \end{cases}": "",
}
_KEYS = {
    "×": "x",
    "·": "*",
    "−": "-",
    "⁻": "-",
    "√": "sqrt",
    "…": "...",
    "Ω": "ohm",
    "µ": "u",
    "°": " deg",
    "≤": "<=",
    "≥": ">=",
    "≠": "!=",
    "≈": "~=",
    "±": "+/-",
}
_UNIT_PART = re.compile(r"(?P<name>.*?\D)\^?(?P<power>-?\d*)")


class Lettering:
    """Plain text with the signs of the trade: Greek letters, raised powers, a dot for times."""

    signs = MappingProxyType(
        {" * ": " · ", " % ": " mod ", " == ": " = ", " - ": " − "}
        | {" <= ": " ≤ ", " >= ": " ≥ ", " != ": " ≠ "}
    )
    fences = MappingProxyType({"abs": "||", "floor": "⌊⌋", "ceil": "⌈⌉"})
    root, pi, nearly = "√", "π", "≈"

    def words(self, text: str) -> str:
        """Write running text."""
        return text

    def symbol(self, name: str) -> str:
        """Write the sign of a named quantity; a step on the way without a sign is written out."""
        known = nomenclature().get(name)
        return self.letter(known.symbol if known and known.symbol else _spelt(name))

    def letter(self, symbol: str) -> str:
        """Write a sign that may carry an index after an underscore."""
        return symbol

    def number(self, value) -> str:
        """Write a number to six figures, an exact one exactly."""
        if isinstance(value, Integral):
            return str(int(value))
        if isinstance(value, Rational):
            return self.fraction(str(value.numerator), str(value.denominator))
        if not isinstance(value, Real):
            return f"{self.number(value.imag)} i" if abs(value.real) < 1e-12 * abs(value) else f"{value:.6g}"
        if not math.isfinite(value):
            return self.words("not known" if math.isnan(value) else "endless" if value > 0 else "-endless")
        mantissa, _, exponent = f"{float(value):.{FIGURES}g}".partition("e")
        return self.power_of_ten(mantissa, int(exponent)) if exponent else mantissa

    def fraction(self, top: str, bottom: str) -> str:
        """Write a fraction of whole numbers."""
        return f"{top}/{bottom}"

    def power_of_ten(self, mantissa: str, exponent: int) -> str:
        """Write a number too large or too small for plain digits."""
        raised = "10" + str(exponent).translate(_SUPERSCRIPTS)
        return raised if mantissa == "1" else f"{mantissa}×{raised}"

    def unit(self, unit: str, *, many: bool = True) -> str:
        """Write a unit with the space before it; a pure number has none."""
        if unit in PURE_NUMBER:
            return ""
        written = _PLURALS.get(unit, unit) if many else unit
        written = re.sub(r"[^ /]+", lambda part: self.unit_sign(part[0]), written.removeprefix("1"))
        return written if unit == "deg" else self.beside(written.replace(" ", self.unit_times))

    unit_times = "·"

    def beside(self, unit: str) -> str:
        """Put the space before a unit."""
        return " " + unit

    def unit_sign(self, part: str) -> str:
        """Write one unit of a compound one."""
        unit = _UNIT_PART.fullmatch(part)
        return _UNIT_SIGNS.get(unit["name"], unit["name"]) + unit["power"].translate(_SUPERSCRIPTS)

    def quantity(self, value, unit: str) -> str:
        """Write a value with its unit; an exact length as a decimal where that is exact too."""
        if isinstance(value, bool | np.bool_):
            return self.words("yes" if value else "no")
        if value is None:
            return self.words("not given")
        if isinstance(value, np.ndarray | list | tuple):
            return self.several(value, unit)
        if not isinstance(value, Complex):
            return self.words(str(value))
        if isinstance(value, Rational):
            as_decimal = _is_long(value) or (unit not in PURE_NUMBER and _terminates(value))
            value = int(value) if value.denominator == 1 else float(value) if as_decimal else value
        return self.number(value) + (self.unit(unit, many=value != 1) if cmath.isfinite(value) else "")

    def several(self, values, unit: str) -> str:
        """Write a list of values: all of a short one, the ends of a long one."""
        values = values.ravel().tolist() if isinstance(values, np.ndarray) else values
        if len(values) > MOST_SHOWN:
            first, last = self.quantity(values[0], ""), self.quantity(values[-1], unit)
            return f"{first} … {last} ({len(values)} {self.words('values')})"
        return ", ".join(self.quantity(value, "") for value in values) + self.unit(unit) if values else "none"

    def placed(self, value, unit: str) -> str:
        """Write a value with its unit to stand inside a formula."""
        text = self.quantity(value, unit)
        apart = isinstance(value, Complex) and (not isinstance(value, Real) or value < 0)
        apart |= not self.fractions_stand and "/" in text.removesuffix(self.unit(unit))
        return self.apart(text) if apart or self.times_ten in text else text

    fractions_stand, times_ten = False, "×"

    def apart(self, text: str) -> str:
        """Put brackets around what must be read as one."""
        return f"({text})"

    def result(self, value, unit: str) -> str:
        """Write a result; a fraction as a decimal too."""
        if isinstance(value, Rational) and value.denominator != 1 and not _is_long(value):
            sign = "=" if _terminates(value) else self.nearly
            return f"{self.number(value)} {sign} {self.number(float(value))}{self.unit(unit)}"
        return self.quantity(value, unit)

    def expression(self, expression: ast.expr, written: dict[str, str]) -> str:
        """Write an expression with each name replaced by what is written for it."""
        if isinstance(expression, ast.IfExp):
            parts = (expression.body, expression.test, expression.orelse)
            return "{} if {}, otherwise {}".format(*(self.expression(part, written) for part in parts))
        text = ast.unparse(_Written(self, written).visit(_copied(expression)))
        for keyed, sign in self.signs.items():
            text = text.replace(keyed, sign)
        return re.sub(r"\b(\d+) / (\d+)\b", r"\1/\2", text)

    def power(self, base: str, exponent: str) -> str:
        """Write a power of something that stands by itself."""
        if re.fullmatch(r"-?\d+", exponent):
            return base + exponent.translate(_SUPERSCRIPTS)
        return f"{base}^({exponent})" if " " in exponent else f"{base}^{exponent}"

    def call(self, name: str, arguments: list[str]) -> str:
        """Write a function of something."""
        inside = re.sub(r"^\(([^()]*)\)$", r"\1", ", ".join(arguments))
        if name in self.fences:
            left, right = self.fences[name]
            return left + inside + right
        if name == "sqrt" and self.root:
            return self.root + (inside if re.fullmatch(r"\w+", inside) else f"({inside})")
        return f"{name}({inside})"


class _Ascii(Lettering):
    """The keys of a keyboard and nothing else."""

    signs = MappingProxyType({" % ": " mod ", " == ": " = "})
    fences = MappingProxyType({})
    root, pi, nearly = "", "pi", "~="
    unit_times = " "

    def letter(self, symbol: str) -> str:
        return to_ascii(symbol)

    def power_of_ten(self, mantissa: str, exponent: int) -> str:
        return f"{mantissa}e{exponent}"

    def unit_sign(self, part: str) -> str:
        return " deg" if part == "deg" else part

    def power(self, base: str, exponent: str) -> str:
        return f"{base}^({exponent})" if " " in exponent else f"{base}^{exponent}"


class _Html(Lettering):
    """A piece of a page: indices lowered, powers raised, no script needed."""

    signs = MappingProxyType(Lettering.signs | {" < ": " &lt; ", " > ": " &gt; "})

    def words(self, text: str) -> str:
        return html.escape(text, quote=False)

    def letter(self, symbol: str) -> str:
        base, _, index = symbol.partition("_")
        lowered = f"<sub>{self.words(index)}</sub>" if index else ""
        return f"<i>{self.words(base)}</i>{lowered}"

    def power(self, base: str, exponent: str) -> str:
        return f"{base}<sup>{exponent}</sup>"


class _Latex(Lettering):
    """LaTeX, for whoever typesets; fractions stand upright."""

    nearly = r"\approx"
    unit_times = r"\,"
    fractions_stand, times_ten = True, r"\times"

    def words(self, text: str) -> str:
        escaped = re.sub(r"([_%&#$])", r"\\\1", text)
        return rf"\text{{{escaped}}}" if text else ""

    def symbol(self, name: str) -> str:
        known = nomenclature().get(name)
        return known.latex if known and known.latex else self.words(_spelt(name))

    def fraction(self, top: str, bottom: str) -> str:
        return rf"\frac{{{top}}}{{{bottom}}}"

    def power_of_ten(self, mantissa: str, exponent: int) -> str:
        raised = f"10^{{{exponent}}}"
        return raised if mantissa == "1" else rf"{mantissa} \times {raised}"

    def beside(self, unit: str) -> str:
        return rf"\,\mathrm{{{unit}}}"

    def unit_sign(self, part: str) -> str:
        unit = _UNIT_PART.fullmatch(part)
        raised = f"^{{{unit['power']}}}" if unit["power"] else ""
        return _LATEX_UNITS.get(unit["name"], unit["name"]) + raised

    def apart(self, text: str) -> str:
        return rf"\left({text}\right)"

    def expression(self, expression: ast.expr, written: dict[str, str]) -> str:
        import sympy

        named = _Named(self, written)
        expression = named.visit(_copied(expression))
        symbols = {name: sympy.Symbol(name) for name in named.shown}
        with sympy.evaluate(False):
            formula = algebra(expression, symbols)
        shown = {symbols[name]: text for name, text in named.shown.items()}
        text = sympy.latex(formula, order="none", symbol_names=shown, mul_symbol="dot")
        for unknown, plain in _LATEX_IN_ONE_LINE.items():
            text = text.replace(unknown, plain)
        return text


UNICODE, ASCII, HTML, LATEX = Lettering(), _Ascii(), _Html(), _Latex()


def to_ascii(text: str) -> str:
    """Write a text with nothing but the keys of a keyboard.

    Examples
    --------
    >>> to_ascii("60/40 × 24/46, 5 Ω, Δn ≤ ρ²")
    '60/40 x 24/46, 5 ohm, Delta_n <= rho^2'
    """
    text = re.sub(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda raised: "^" + raised[0], text)
    return "".join(_keys(sign, after) for sign, after in zip(text, text[1:] + " ", strict=False))


def _keys(sign: str, after: str) -> str:
    if sign.isascii():
        return sign
    if sign in _KEYS:
        return _KEYS[sign]
    name = unicodedata.name(sign, "")
    if name.startswith("GREEK"):
        letter = name.split()[3].lower()
        letter = letter.capitalize() if "CAPITAL" in name else letter
        return letter + ("_" if after.isalnum() else "")
    return unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode() or "?"


def _spelt(name: str) -> str:
    try:
        return unicodedata.lookup(f"GREEK SMALL LETTER {name}")
    except KeyError:
        return name.replace("_", " ")


def _terminates(value: Rational) -> bool:
    """Tell whether a fraction has an exact decimal of no more than six figures."""
    return Fraction(f"{float(value):.{FIGURES}g}") == value


def _is_long(value: Rational) -> bool:
    return max(abs(value.numerator), value.denominator) > LONGEST_FRACTION


def _copied(expression: ast.expr) -> ast.expr:
    return ast.parse(ast.unparse(expression), mode="eval").body


class _Written(ast.NodeTransformer):
    """Replaces names, powers and functions by what a `Lettering` writes for them."""

    def __init__(self, hand: Lettering, written: dict[str, str]):
        self.hand = hand
        self.written = written

    def visit_Name(self, node):
        return ast.Name(id=self.hand.pi if node.id == "pi" else self.written.get(node.id, node.id))

    def visit_Constant(self, node):
        value = node.value
        is_power_of_ten = isinstance(value, int) and value >= 10**5 and set(str(value)[1:]) == {"0"}
        return ast.Name(id=self.hand.number(float(value) if is_power_of_ten else value))

    def visit_BinOp(self, node):
        self.generic_visit(node)
        if not isinstance(node.op, ast.Pow):
            return node
        base, exponent = ast.unparse(node.left), ast.unparse(node.right)
        stands_alone = isinstance(node.left, ast.Name) and not re.search(r"[ /](?![^<]*>)", base)
        return ast.Name(id=self.hand.power(base if stands_alone else f"({base})", exponent))

    def visit_Call(self, node):
        arguments = [ast.unparse(self.visit(argument)) for argument in node.args]
        return ast.Name(id=self.hand.call(node.func.id, arguments))


class _Named(ast.NodeTransformer):
    """Gives a name to whatever the algebra library would write otherwise than it stands in the formula."""

    def __init__(self, hand: Lettering, written: dict[str, str]):
        self.hand = hand
        self.shown = dict(written)

    def visit_Constant(self, node):
        return self.as_name(repr(node.value)) if isinstance(node.value, float) else node

    def visit_BinOp(self, node):
        self.generic_visit(node)
        if isinstance(node.op, ast.Pow) and isinstance(node.left, ast.Name):
            text = self.shown.get(node.left.id, "")
            if r"\," in text or r"\text" in text:
                node.left = self.as_name(node.left.id + " ", self.hand.apart(text))
        return node

    def as_name(self, name: str, text: str = ""):
        self.shown[name] = text or name
        return ast.Name(id=name)
