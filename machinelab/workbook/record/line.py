"""One line of the commissioning record: what it may hold, in which order, and its text on the page."""

import hashlib
import json
import math
import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue, ValidationError, model_validator

from machinelab.errors import RecordError
from machinelab.workbook.verdict import WORDS

SCHEMA = 1
_NO_NUMBER = re.compile(rb"NaN|Infinity")


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError("a number is needed")
    return number


Number = Annotated[float, AfterValidator(_finite)]
Step = Annotated[str, Field(pattern=r"^\d\d$")]


class _Part(BaseModel):
    """Part of a line; keys that are not known here are kept as they are."""

    model_config = ConfigDict(frozen=True, extra="allow")


class Predicted(_Part):
    """What the calculation said: value, its U, and which formula with which inputs."""

    value: Number
    U: Number | None = None
    unit: str = ""
    formula: str | None = None
    inputs: dict[str, JsonValue] | None = None


class Measured(_Part):
    """What was read: the single readings, their value, U with its coverage factor."""

    value: Number
    U: Number | None = None
    k: Number = 2
    unit: str = ""
    values: tuple[Number, ...] | None = None


class Instrument(_Part):
    """The kind of instrument, never its maker, with what its U rests on."""

    name: str
    range: str | None = None
    resolution: str | None = None
    U: str | None = None
    U_from: str | None = None
    last_checked: str | None = None


class Limit(_Part):
    """The limit and, always, where it comes from."""

    lower: Number | None = None
    upper: Number | None = None
    unit: str = ""
    where_from: str = Field(min_length=1)


class DataFile(_Part):
    """A raw file by its name and the fingerprint of its bytes."""

    name: str
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class Line(_Part):
    """One line of the record, as it stands in the file.

    ``built`` holds what the machine file said on the lines that the step cannot do without.
    ``prev`` is the SHA-256 of the line before, ``replaces`` the id of a line that this one corrects, ``void``
    the id of a line that it withdraws, with the ``reason``.
    """

    # "schema" is a word of pydantic's own, so the key has another name here.
    schema_: int = Field(default=SCHEMA, alias="schema", ge=1)
    id: str = Field(min_length=1)
    step: Step
    time: str
    by: str | None = None
    machine_state: str | None = None
    built: dict[str, str] | None = None
    quantity: str
    predicted: Predicted | None = None
    measured: Measured | None = None
    instrument: Instrument | None = None
    conditions: dict[str, JsonValue] | None = None
    limit: Limit | None = None
    rule: dict[str, JsonValue] | None = None
    verdict: Literal[WORDS]
    photo: tuple[str, ...] = ()
    data: tuple[DataFile, ...] = ()
    notes: str | None = None
    replaces: str | None = None
    void: str | None = None
    reason: str | None = None
    prev: str = ""

    @model_validator(mode="after")
    def _withdrawn_with_a_reason(self) -> "Line":
        if self.void and not self.reason:
            raise ValueError("a line that withdraws another says why")
        return self

    def text(self) -> str:
        """Write the line as it goes into the file, without its line feed; what is empty is left out."""
        kept = self.model_dump(by_alias=True, exclude_none=True)
        kept = {key: value for key, value in kept.items() if value not in ((), {}) or key == "prev"}
        # The chain's link stands last, behind whatever a later version may have added.
        kept["prev"] = kept.pop("prev")
        return json.dumps(kept, ensure_ascii=False, allow_nan=False)


def line_from(content: bytes, number: int) -> Line:
    """Read a line of the file.

    Raises
    ------
    RecordError
        Naming the line and the key that cannot be used.
    """
    try:
        # In one go where nothing stands in it that only the slower reader knows to refuse.
        if not _NO_NUMBER.search(content):
            return Line.model_validate_json(content)
        return Line.model_validate(json.loads(content.decode("utf-8"), parse_constant=_no_number))
    except ValidationError as found:
        problem = found.errors()[0]
        where = ".".join(str(part) for part in problem["loc"]) or "the line"
        raise RecordError(_unreadable(number, f"{where}: {problem['msg'].lower()}")) from None
    except (ValueError, RecursionError):
        raise RecordError(_unreadable(number, "it is no JSON object")) from None


def link(content: bytes) -> str:
    """Return what the next line carries as ``prev``: the SHA-256 of this one without its line end."""
    return hashlib.sha256(content.strip()).hexdigest()


def _no_number(text: str):
    raise ValueError(text)


def _unreadable(number: int, why: str) -> str:
    return (
        f"Line {number} of record.jsonl cannot be read ({why}). Nothing was changed. Put the line back as it "
        "was from a copy, or take it out of the file; new lines can still be added."
    )
