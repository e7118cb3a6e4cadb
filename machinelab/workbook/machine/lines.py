"""The lines of ``machine.toml``: each described once, for checking the file, for the form and for its help.

``lines.csv`` holds a row for every line: its path, what kind of quantity it takes, the label and the help
in plain words, an example, and the ends of what is allowed. The ends only catch slips of the pen; they are
our own and have no other source.
"""

import csv
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import files
from typing import ClassVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from machinelab import units
from machinelab.errors import UnitError
from machinelab.units.typed_number import in_short
from machinelab.workbook.fields import lines_or_edges, mains_or_bus

LONGEST_WORDS = 2000
# A form reads the whole file anew after every box; all but one of its quantities it has read before.
_read = lru_cache(maxsize=2048, typed=True)(units.read)
WITHOUT_UNIT = ("words", "choice", "yes or no")
_QUESTIONS = {"": None, "lines or edges": lines_or_edges, "mains or bus": mains_or_bus}


@dataclass(frozen=True)
class Line:
    """One line of the machine file, and the box of the form that writes it.

    ``kind`` is a kind of quantity or ``words``, ``choice``, ``yes or no``. ``field`` says how a quantity is
    read and is None for the other three. ``choices`` are the words that may stand there.
    """

    path: str
    kind: str
    label: str
    help: str
    example: str
    field: units.Field | None = None
    choices: tuple[str, ...] = ()

    @property
    def section(self) -> str:
        """The section of the file: ``leadscrew``."""
        return self.path.partition(".")[0]

    @property
    def key(self) -> str:
        """The name of the line within its section: ``lead``."""
        return self.path.partition(".")[2]

    @property
    def unit(self) -> str:
        """The unit of the plain number; empty where words are asked."""
        return self.field.unit if self.field else ""

    @property
    def as_written(self) -> str:
        """The line as it may stand in the file, with the example."""
        bare = self.kind == "yes or no" or (self.field and self.field.takes_bare_number)
        return f"{self.key} = {self.example}" if bare else f'{self.key} = "{self.example}"'

    @property
    def heading(self) -> str:
        """The heading of its section in the file."""
        return f"[[{self.section}]]" if self.section == "thread" else f"[{self.section}]"

    def show(self, value) -> str:
        """Show what the line says in words, a quantity in both units."""
        if value is None:
            return "not known"
        if self.field:
            return units.show(value, self.unit, kind=self.field.kind)
        return {True: "yes", False: "no"}.get(value, str(value))


class Section(BaseModel):
    """A section of the machine file: every line optional, unknown lines refused, frozen once read."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, arbitrary_types_allowed=True)
    title: ClassVar[str] = ""

    @classmethod
    def described(cls) -> dict[str, Line]:
        """The lines of this section by attribute, each with the words it may hold."""
        return {
            attribute: replace(info.json_schema_extra["line"], choices=_choices(info.annotation))
            for attribute, info in cls.model_fields.items()
            if info.json_schema_extra
        }

    @field_validator("*", mode="before")
    @classmethod
    def _read_quantity(cls, typed, info: ValidationInfo):
        described = cls.model_fields[info.field_name]
        field = described.json_schema_extra and described.json_schema_extra["line"].field
        if not field or typed is None:
            return typed
        try:
            reading = _read(_as_text(typed, field), field)
        except UnitError as problem:
            raise refused(str(problem)) from None
        number_types = get_args(described.annotation)
        if float in number_types:
            return reading.number
        return int(reading.value) if int in number_types else reading.value


def line(path: str):
    """Tie an attribute of a section to its line of the file."""
    described = described_lines()[path]
    longest = LONGEST_WORDS if described.kind == "words" else None
    return Field(default=None, alias=described.key, max_length=longest, json_schema_extra={"line": described})


def refused(message: str) -> PydanticCustomError:
    """Wrap a message in our own words so that it is gathered with the other problems of the file."""
    return PydanticCustomError("refused", "{message}", {"message": message})


@cache
def described_lines() -> dict[str, Line]:
    """Every line of the machine file by its path, as the table describes it."""
    with files(__package__).joinpath("lines.csv").open(encoding="utf-8", newline="") as file:
        return {row["path"]: _line(row) for row in csv.DictReader(file)}


def _line(row: dict[str, str]) -> Line:
    common = {name: row[name] for name in ("path", "kind", "label", "help", "example")}
    return Line(**common, field=None if row["kind"] in WITHOUT_UNIT else _field(row))


def _field(row: dict[str, str]) -> units.Field:
    return units.Field(
        name=row["label"],
        above_zero=row["above_zero"] == "yes",
        refuse=_QUESTIONS[row["question"]],
        **{name: row[name] for name in ("kind", "low", "high", "hint", "example", "help")},
    )


def _choices(annotation) -> tuple[str, ...]:
    options = get_args(annotation)
    if bool in options:
        return ("true", "false")
    return next((get_args(option) for option in options if get_args(option)), ())


def _as_text(typed, field: units.Field) -> str:
    if isinstance(typed, str):
        return typed
    if field.takes_bare_number and isinstance(typed, int | float) and not isinstance(typed, bool):
        return str(typed)
    raise UnitError(
        f"{field.name}: {in_short(str(typed))} must stand between quotation marks with its unit, "
        f'such as "{field.sample}".'
    )
