"""What a long record says in outline: which lines count, told without reading each of them closely."""

import json
import re
from collections.abc import Iterable, Sequence

from pydantic_core import SchemaValidator
from pydantic_core.core_schema import any_schema, list_schema, typed_dict_field, typed_dict_schema

from machinelab.workbook.record.line import line_from

# So every line begins that this workbook wrote; any other is read as JSON.
_BEGINNING = re.compile(rb'\{"schema": ?\d+, ?"id": ?"([^"\\]*)"')
_NEEDED, _AT_TIMES = ("id", "step", "quantity"), ("replaces", "void")
_NO_JSON = (b"NaN", b"Infinity")
# Only these are taken out of a line: what nobody asks for costs most of the time and all of the memory.
_OUTLINES = SchemaValidator(
    list_schema(
        typed_dict_schema(
            {
                **{name: typed_dict_field(any_schema()) for name in _NEEDED},
                **{name: typed_dict_field(any_schema(), required=False) for name in _AT_TIMES},
            }
        )
    )
)


def counting_contents(numbered: Sequence[tuple[int, bytes]]) -> list[tuple[int, bytes]]:
    """The lines that `state.in_force` would keep, with their numbers, as they stand in the file.

    Raises
    ------
    RecordError
        Naming a line of which it cannot be told whether it counts.
    """
    known = [
        (number, content, said) for (number, content), said in zip(numbered, _said(numbered), strict=True)
    ]
    gone = {said.get(key) for _, _, said in known for key in _AT_TIMES}
    counting = [one for one in known if one[2]["id"] not in gone and not one[2].get("void")]
    latest = {(said["step"], said["quantity"]): said["id"] for _, _, said in counting}
    return [
        (number, content)
        for number, content, said in counting
        if latest[said["step"], said["quantity"]] == said["id"]
    ]


def id_of(content: bytes) -> str:
    """The id of a line as far as it can be read; an unreadable line has none."""
    if begins := _BEGINNING.match(content):
        return begins[1].decode("utf-8", errors="replace")
    try:
        return str(json.loads(content).get("id", ""))
    except (ValueError, AttributeError, RecursionError):
        return ""


def _said(numbered: Sequence[tuple[int, bytes]]) -> Iterable[dict]:
    """What each line says, all read in one go; if that cannot be, the line that is to blame is named."""
    together = b"[" + b",".join(content for _, content in numbered) + b"]"
    try:
        said = _OUTLINES.validate_json(together)
    except ValueError:
        said = []
    # The parser lets them pass; JSON does not, and in a note they only cost the close reading.
    if len(said) == len(numbered) and not any(one in together for one in _NO_JSON):
        return said
    return [line_from(content, number).model_dump(by_alias=True) for number, content in numbered]
