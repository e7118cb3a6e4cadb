r"""A function's documentation read as the handbook entry that it is: formula, units and source.

The formula of a physics function is written once, in the ``Formula`` section of its docstring, as Python
expressions over the names of its parameters. `machinelab.worked` prints it, and the tests evaluate it with an
algebra library against what the function returns.

* One assignment a line, or over several lines in parentheses. The last line gives the result under the
  function's own name; lines before it may name steps on the way. A function that returns several figures
  gives each as ``result.field = ...``.
* ``a if condition else b`` says where a formula changes.
* A bare comparison, such as ``lag_s > 0``, is a condition under which the lines hold at all.
* ``none: reason`` stands for a calculation that has no closed formula.
* The functions allowed are those of ``FUNCTIONS``; ``pi`` is the only constant with a name.
"""

import ast
import inspect
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from numbers import Rational, Real

from machinelab.errors import MachinelabError

# What a formula may call, and what the algebra library calls it.
FUNCTIONS = {
    **{name: name for name in ("sqrt", "exp", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "floor")},
    **{name: name for name in ("sinh", "cosh", "tanh", "asinh", "acosh", "atanh", "sign")},
    "ln": "log",
    "abs": "Abs",
    "ceil": "ceiling",
    "min": "Min",
    "max": "Max",
}
FIGURES = 30

_PARTS = {"numerator": "p", "denominator": "q"}

_HEADING = re.compile(r"^(?P<name>[A-Z]\w+)\n-{3,}$", re.MULTILINE)
_PARAMETER = re.compile(r"^(?P<names>\w+(?:, \w+)*) : (?P<type>.*?)(?: \[(?P<units>[^\]]*)\])?$")
_RETURNED = re.compile(r"^(?P<type>.*?)(?: \[(?P<unit>[^\]]*)\])?$")


@dataclass(frozen=True)
class Line:
    """One line of a formula: what it gives and how; a condition gives nothing."""

    name: str
    expression: ast.expr
    is_field: bool = False

    @property
    def is_condition(self) -> bool:
        """Whether the line says when the others hold instead of giving a figure."""
        return not self.name


@dataclass(frozen=True)
class Parameter:
    """One parameter as documented: its type in words and its unit; an empty unit when it has none."""

    type: str
    unit: str


@dataclass(frozen=True)
class Entry:
    """The handbook entry of one function or result."""

    name: str
    answer: str
    sections: Mapping[str, str]
    formula: tuple[Line, ...]
    reason: str
    parameters: Mapping[str, Parameter]
    returned: Parameter
    source: str


@cache
def entry(documented: Callable) -> Entry:
    """Read the docstring of a function, or of the class of a result.

    Examples
    --------
    >>> from machinelab.spindle.encoder import edge_rate_hz
    >>> entry(edge_rate_hz).parameters["speed_rpm"].unit
    'rpm'
    """
    text = inspect.getdoc(documented) or ""
    head, *parts = _HEADING.split(text)
    sections = {name: body.strip("\n") for name, body in zip(parts[::2], parts[1::2], strict=True)}
    formula = sections.get("Formula", "").strip()
    reason = formula.removeprefix("none:").strip() if formula.startswith("none:") else ""
    return Entry(
        name=documented.__name__,
        answer=head.strip().partition("\n")[0],
        sections=sections,
        formula=() if reason else _lines(documented.__name__, formula),
        reason=_one_line(reason),
        parameters=_parameters(sections.get("Parameters", "")),
        returned=_returned(sections.get("Returns", "")),
        source=_one_line(sections.get("Source", "")),
    )


def algebra(expression: ast.expr, values: Mapping):
    """Turn one expression of a formula into the algebra library's own, with values in place of names.

    Examples
    --------
    >>> import sympy
    >>> algebra(ast.parse("a/3 + 1/2", mode="eval").body, {"a": sympy.Integer(1)})
    5/6
    """
    import sympy

    def convert(node):
        match node:
            case ast.Constant(value=bool(value)):
                return sympy.true if value else sympy.false
            case ast.Constant(value=value):
                return sympy.Rational(str(value))
            case ast.Name(id="pi"):
                return sympy.pi
            case ast.Name(id=name) if name in values:
                return values[name]
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -convert(operand)
            case ast.BinOp(left=left, op=operator, right=right) if type(operator) in _OPERATORS:
                return _OPERATORS[type(operator)](convert(left), convert(right))
            case ast.Call(func=ast.Name(id=name), args=[whole]) if name in _PARTS:
                number = convert(whole)
                if not number.is_Rational:
                    return sympy.Function(name)(number)
                return sympy.Integer(getattr(number, _PARTS[name]))
            case ast.Call(func=ast.Name(id=name), args=arguments) if name in FUNCTIONS:
                return getattr(sympy, FUNCTIONS[name])(*map(convert, arguments))
            case ast.Compare(left=left, ops=comparisons, comparators=rights):
                sides = [convert(side) for side in (left, *rights)]
                pairs = zip(comparisons, sides, sides[1:], strict=False)
                return sympy.And(*(_COMPARISONS[type(sign)](low, high, sympy) for sign, low, high in pairs))
            case ast.BoolOp(op=operator, values=parts):
                return (sympy.And if isinstance(operator, ast.And) else sympy.Or)(*map(convert, parts))
            case ast.IfExp(test=test, body=body, orelse=orelse):
                return sympy.Piecewise((convert(body), convert(test)), (convert(orelse), True))
        raise MachinelabError(
            f"A formula cannot say {ast.unparse(node)!r}; machinelab.worked.handbook tells what it can."
        )

    return convert(expression)


def evaluate(expression: ast.expr, values: Mapping):
    """Work out one expression of a formula, exact numbers exactly and others to 30 figures.

    Examples
    --------
    >>> evaluate(ast.parse("floor(r*c + 1/2)", mode="eval").body, {"r": Fraction(2, 5), "c": 4})
    2
    """
    names = {node.id for node in ast.walk(expression) if isinstance(node, ast.Name)}
    return _plain(algebra(expression, {name: _algebraic(values[name]) for name in names & values.keys()}))


def _algebraic(value):
    import sympy

    if isinstance(value, Rational):
        return sympy.Rational(int(value.numerator), int(value.denominator))
    return sympy.Float(value, FIGURES) if isinstance(value, Real) else sympy.sympify(value)


def _plain(value):
    import sympy

    if isinstance(value, sympy.logic.boolalg.BooleanAtom):
        return bool(value)
    if value.is_Rational:
        return Fraction(value.p, value.q) if value.q != 1 else int(value)
    worked_out = sympy.N(value, FIGURES)
    return float(worked_out) if worked_out.is_real else complex(worked_out)


_OPERATORS = {
    ast.Add: lambda left, right: left + right,
    ast.Sub: lambda left, right: left - right,
    ast.Mult: lambda left, right: left * right,
    ast.Div: lambda left, right: left / right,
    ast.Mod: lambda left, right: left % right,
    ast.Pow: lambda left, right: left**right,
}
_COMPARISONS = {
    ast.Lt: lambda left, right, sympy: sympy.Lt(left, right),
    ast.LtE: lambda left, right, sympy: sympy.Le(left, right),
    ast.Gt: lambda left, right, sympy: sympy.Gt(left, right),
    ast.GtE: lambda left, right, sympy: sympy.Ge(left, right),
    ast.Eq: lambda left, right, sympy: sympy.Eq(left, right),
    ast.NotEq: lambda left, right, sympy: sympy.Ne(left, right),
}


def _lines(name: str, formula: str) -> tuple[Line, ...]:
    try:
        statements = ast.parse(formula).body
    except SyntaxError as slip:
        raise MachinelabError(
            f"The formula of {name} cannot be read: {slip.msg}, line {slip.lineno}."
        ) from None
    return tuple(_line(name, statement) for statement in statements)


def _line(name: str, statement: ast.stmt) -> Line:
    match statement:
        case ast.Assign(targets=[ast.Name(id=step)], value=expression):
            return Line(step, expression)
        case ast.Assign(targets=[ast.Attribute(value=ast.Name(id="result"), attr=field)], value=expression):
            return Line(field, expression, is_field=True)
        case ast.Expr(value=ast.Compare() | ast.BoolOp() as condition):
            return Line("", condition)
    raise MachinelabError(f"The formula of {name} has a line that gives nothing: {ast.unparse(statement)}")


def _parameters(section: str) -> dict[str, Parameter]:
    found = {}
    for line in filter(None, map(_PARAMETER.match, section.splitlines())):
        names = line["names"].split(", ")
        units = (line["units"] or "").split(", ")
        units = units * len(names) if len(units) == 1 else units
        found |= {name: Parameter(line["type"], unit) for name, unit in zip(names, units, strict=True)}
    return found


def _returned(section: str) -> Parameter:
    line = _RETURNED.match(section.partition("\n")[0])
    return Parameter(line["type"], line["unit"] or "")


def _one_line(text: str) -> str:
    return " ".join(text.split())
