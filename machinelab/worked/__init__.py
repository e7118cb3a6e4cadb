"""A calculation that shows its working: the formula, the numbers in place, the result and the source.

``worked`` calls a calculation with named inputs and lays out what its documentation says beside the numbers:

>>> from machinelab.spindle.encoder import edge_rate_hz
>>> print(worked(edge_rate_hz, speed_rpm=2000, counts_per_spindle_turn=2700))
How many encoder edges arrive each second at a spindle speed.
<BLANKLINE>
    f_e = n / 60 · C
    f_e = 2000 rpm / 60 · 2700 counts
    f_e = 90000 Hz
<BLANKLINE>
    n = 2000 rpm     spindle speed
    C = 2700 counts  encoder counts in one turn of the spindle: four for each line and the belt ratio included
<BLANKLINE>
Source: Derived here: edges a turn times turns a second.
"""

import ast
import difflib
import inspect
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass

from machinelab.errors import RangeError
from machinelab.tables import nomenclature
from machinelab.worked.handbook import Entry, Line, entry, evaluate
from machinelab.worked.lettering import ASCII, HTML, LATEX, UNICODE, Lettering, to_ascii


@dataclass(frozen=True)
class Given:
    """One input of a working: its name, what was given, and what it means."""

    name: str
    value: object
    unit: str
    meaning: str


@dataclass(frozen=True, repr=False)
class Working:
    """A calculation with its formula, its numbers in place, its result and its source.

    The lines are plain text in the signs of the trade; ``latex()`` and ``html()`` give the same typeset.
    """

    entry: Entry
    inputs: tuple[Given, ...]
    steps: tuple[tuple[Line, object], ...]
    result: object

    @property
    def title(self) -> str:
        """What the calculation answers, in one sentence."""
        return self.entry.answer

    @property
    def source(self) -> str:
        """Where the formula comes from."""
        return self.entry.source

    @property
    def formula_lines(self) -> tuple[str, ...]:
        """The formula in the signs of the trade, one line for each step."""
        return self._formula(UNICODE)

    @property
    def substituted_lines(self) -> tuple[str, ...]:
        """The formula again with the numbers and their units in place."""
        return self._substituted(UNICODE)

    @property
    def result_lines(self) -> tuple[str, ...]:
        """The result with its unit, one line for each figure."""
        return self._results(UNICODE)

    @property
    def result_text(self) -> str:
        """The result with its unit in one line."""
        return "; ".join(self.result_lines)

    @property
    def input_lines(self) -> tuple[str, ...]:
        """Each input with its unit and what it means, in columns."""
        return self._inputs(UNICODE)

    @property
    def latex_lines(self) -> tuple[str, ...]:
        """Formula, numbers in place and result, each a line of LaTeX."""
        return (*self._formula(LATEX), *self._substituted(LATEX), *self._results(LATEX))

    def text(self) -> str:
        """Return the whole working as plain text with the signs of the trade."""
        return self._text(UNICODE)

    def ascii_text(self) -> str:
        """Return the whole working as plain text with nothing but the keys of a keyboard."""
        return to_ascii(self._text(ASCII))

    def latex(self) -> str:
        """Return formula, numbers in place and result as one block of LaTeX, aligned at the signs."""
        lines = (line.replace(" = ", " &= ", 1) for line in self.latex_lines)
        return "\\begin{aligned}\n" + " \\\\\n".join(lines) + "\n\\end{aligned}"

    def html(self) -> str:
        """Return the whole working as a piece of a page that needs no script to show its formulas."""
        formula = (*self._formula(HTML), *self._substituted(HTML), *self._results(HTML, strong=True))
        rows = "".join(
            f"<tr><td>{HTML.symbol(given.name)}</td><td>{HTML.result(given.value, given.unit)}</td>"
            f'<td style="text-align:left">{HTML.words(given.meaning)}</td></tr>'
            for given in self.inputs
        )
        return (
            f'<div class="machinelab-working"><p><b>{HTML.words(self.title)}</b></p>'
            f"<blockquote>{'<br>'.join(formula)}</blockquote>"
            f"<table>{rows}</table><p><small>Source: {HTML.words(self.source)}</small></p></div>"
        )

    def _repr_html_(self) -> str:
        return self.html()

    def __repr__(self) -> str:
        return str(self)

    def __str__(self) -> str:
        return self.text()

    def _formula(self, hand: Lettering) -> tuple[str, ...]:
        if self.entry.reason:
            return (hand.words(f"No closed formula: {self.entry.reason}"),)
        lines = [line for line in self.entry.formula if not _says_nothing(line)]
        return tuple(self._line(hand, line, _symbols(hand, line)) for line in lines)

    def _substituted(self, hand: Lettering) -> tuple[str, ...]:
        written = {given.name: hand.placed(given.value, given.unit) for given in self.inputs}
        lines = []
        for line, value in self.steps:
            value_text = (
                "" if value is None or line.is_condition else f" = {hand.quantity(value, _unit(line.name))}"
            )
            if not _says_nothing(line):
                lines.append(self._line(hand, line, written) + value_text)
            written[line.name] = hand.placed(value, _unit(line.name))
        if len(self.steps) < len(self.entry.formula):
            lines.append(
                hand.words("Here it does not hold. " + _one_line(self.entry.sections.get("Range", "")))
            )
        return tuple(lines)

    def _line(self, hand: Lettering, line: Line, written: dict[str, str]) -> str:
        right = hand.expression(line.expression, written)
        return (
            hand.words("holds while ") + right if line.is_condition else f"{hand.symbol(line.name)} = {right}"
        )

    def _results(self, hand: Lettering, *, strong: bool = False) -> tuple[str, ...]:
        lines = tuple(self._figures(hand))
        return tuple(f"<b>{line}</b>" for line in lines) if strong else lines

    def _figures(self, hand: Lettering):
        if is_dataclass(self.result):
            for field in fields(self.result):
                value = getattr(self.result, field.name)
                yield f"{hand.symbol(field.name)} = {hand.result(value, _unit(field.name))}"
        elif isinstance(self.result, list | tuple):
            yield from (hand.words(str(one)) for one in self.result or ("none",))
        else:
            name = self.entry.formula[-1].name if self.entry.formula else self.entry.name
            yield f"{hand.symbol(name)} = {hand.result(self.result, self.entry.returned.unit)}"

    def _inputs(self, hand: Lettering) -> tuple[str, ...]:
        left = [
            f"{hand.symbol(given.name)} = {hand.result(given.value, given.unit)}" for given in self.inputs
        ]
        width = max(map(len, left), default=0)
        return tuple(
            f"{text:{width}}  {given.meaning}" for text, given in zip(left, self.inputs, strict=True)
        )

    def _text(self, hand: Lettering) -> str:
        working = (*self._formula(hand), *self._substituted(hand), *self._results(hand))
        indented = ("\n".join("    " + line for line in lines) for lines in (working, self._inputs(hand)))
        return "\n\n".join((self.title, *indented, f"Source: {self.source}"))


def worked(function: Callable, /, **inputs) -> Working:
    """Carry out one of the calculations and show its working.

    Parameters
    ----------
    function : function
        A calculation of one of the physics rooms, such as ``edge_rate_hz``.
    **inputs
        Its inputs by name. What is left out takes the calculation's own default.

    Returns
    -------
    Working
        Formula, numbers in place, result and source; shows itself in a notebook.

    Raises
    ------
    RangeError
        If an input has a name that the calculation does not know, or one is missing.
    """
    described = entry(function)
    if not (described.formula or described.reason):
        raise RangeError(
            f"{described.name} has no formula in its documentation, so there is no working to show."
        )
    given = _with_defaults(function, inputs)
    result = function(**given)
    steps = tuple(_evaluated(described, given))
    shown = (
        Given(name, value, described.parameters[name].unit, _meaning(name)) for name, value in given.items()
    )
    return Working(described, tuple(shown), steps, result)


def _with_defaults(function: Callable, inputs: dict) -> dict:
    parameters = inspect.signature(function).parameters
    for name in inputs:
        if name not in parameters:
            near = difflib.get_close_matches(name, parameters, n=1, cutoff=0.4)
            hint = f"did you mean {near[0]}? " if near else ""
            raise RangeError(
                f"{function.__name__} has no input {name!r}; {hint}Its inputs are {', '.join(parameters)}."
            )
    missing = [name for name, one in parameters.items() if one.default is one.empty and name not in inputs]
    if missing:
        raise RangeError(f"{function.__name__} also needs {' and '.join(missing)}.")
    return {name: inputs.get(name, one.default) for name, one in parameters.items()}


def _evaluated(described: Entry, given: dict):
    """Yield each line of the formula with its value, as long as the formula's conditions are met."""
    values = dict(given)
    for line in described.formula:
        is_last = line is described.formula[-1]
        value = None if is_last and not line.is_condition else evaluate(line.expression, values)
        if line.is_condition and not value:
            return
        values[line.name] = value
        yield line, value


def _symbols(hand: Lettering, line: Line) -> dict[str, str]:
    names = {node.id for node in ast.walk(line.expression) if isinstance(node, ast.Name)}
    return {name: hand.symbol(name) for name in names}


def _says_nothing(line: Line) -> bool:
    """Tell whether a line only hands an input on to a field of the result."""
    return isinstance(line.expression, ast.Name) and line.expression.id == line.name


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _unit(name: str) -> str:
    known = nomenclature().get(name)
    return known.unit if known else ""


def _meaning(name: str) -> str:
    known = nomenclature().get(name)
    return known.meaning if known else name.replace("_", " ")
