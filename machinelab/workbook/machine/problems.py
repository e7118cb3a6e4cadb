"""What is wrong with a machine file, in words: where it stands, what was typed, what to type instead."""

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence

from machinelab.errors import MachineFileError
from machinelab.units.typed_number import in_short
from machinelab.workbook.machine.built import fields, titles

_AS_HEADING = "must be a heading: write [{key}] on a line of its own, and its lines below it."
_WRONG_SHAPES = {
    "model_type": _AS_HEADING,
    "model_attributes_type": _AS_HEADING,
    "dict_type": "must be a heading: write [target.why] on a line of its own, and the reasons below it.",
    "tuple_type": "must be a list: write [[{key}]] on a line of its own for each, and its lines below it.",
    "string_type": "must be words between quotation marks, not {typed}.",
    "string_too_long": "is too long; a few sentences are enough.",
    "bool_type": "must be true or false, without quotation marks, not {typed}.",
}


def told_at_once(errors: Sequence[Mapping], text: str) -> MachineFileError:
    """Gather everything that the validation found into one error."""
    line_numbers = dict(_line_numbers(text))
    problems = [f"{_where(error['loc'], line_numbers)}: {_what(error)}" for error in errors]
    if len(problems) == 1:
        return MachineFileError(f"The machine file has a line that cannot be used.\n  {problems[0]}")
    listed = "\n".join(f"  {count}. {problem}" for count, problem in enumerate(problems, start=1))
    return MachineFileError(f"The machine file has {len(problems)} lines that cannot be used.\n{listed}")


def about_writing(problem: str, text: str) -> MachineFileError:
    """Tell of a slip in the writing itself: which line, how it reads, and how a line should look."""
    place = re.search(r"line (\d+)", problem)
    lines = text.split("\n")
    number = int(place[1]) if place else len(lines)
    shown = in_short(lines[number - 1].strip()) if number <= len(lines) else ""
    reason = re.sub(r"\s*\(at .*\)$", "", problem)
    return MachineFileError(
        f"Line {number} of the machine file cannot be read: {shown}\n"
        f"  The reader says: {reason}.\n"
        '  A line looks like lead = "8 tpi": name, equals sign, and the quantity with its unit between '
        "quotation marks. A heading looks like [leadscrew]. A remark starts with #."
    )


def _where(location: tuple, line_numbers: Mapping[str, int]) -> str:
    steps = [str(step + 1) if isinstance(step, int) else in_short(step) for step in location]
    path = ".".join(steps)
    number = line_numbers.get(path)
    return f"{path} (line {number})" if number else path


def _what(error: Mapping) -> str:
    kind, location = error["type"], error["loc"]
    if kind == "extra_forbidden":
        return _about_stranger(location)
    if kind == "literal_error":
        return _about_choice(location, error["input"])
    if kind == "refused":
        return error["msg"]
    shape = _WRONG_SHAPES.get(kind, "cannot be used as {typed}.")
    return shape.format(key=location[-1], typed=in_short(str(error["input"])))


def _about_stranger(location: tuple) -> str:
    section, key = location[0], location[-1]
    if len(location) == 1:
        known, what = list(titles()), "section"
    else:
        known, what = [line.key for line in fields() if line.section == section], f"line of [{section}]"
    nearest = difflib.get_close_matches(str(key), known, n=1, cutoff=0.5)
    if nearest:
        return f"there is no such {what}. Did you mean {nearest[0]}?"
    return f"there is no such {what}. There are: {', '.join(known)}."


def _about_choice(location: tuple, typed) -> str:
    line = next(line for line in fields() if (line.section, line.key) == (location[0], location[-1]))
    nearest = difflib.get_close_matches(str(typed), line.choices, n=1, cutoff=0.5)
    question = f" Did you mean {nearest[0]}?" if nearest else ""
    choices = ", ".join(f'"{choice}"' for choice in line.choices)
    return f"{line.label}: {in_short(str(typed))} is not one of the words for it.{question} Type {choices}."


def _line_numbers(text: str) -> Iterator[tuple[str, int]]:
    """The line on which each path stands; good enough to find it, not a second reader of the format."""
    above, threads = "", 0
    for number, line in enumerate(text.split("\n"), start=1):
        heading = re.match(r"\s*(\[{1,2})\s*([\w.-]+)\s*\]", line)
        key = re.match(r"\s*([\w.-]+)\s*=", line)
        if heading:
            threads += heading[1] == "[["
            above = f"{heading[2]}.{threads}" if heading[1] == "[[" else heading[2]
            yield above, number
        elif key:
            yield f"{above}.{key[1]}" if above else key[1], number
