"""An invented record to look at where there is none of one's own, as for the demo machine."""

from pathlib import Path

from machinelab.workbook.record import store
from machinelab.workbook.record.line import Line, line_from

FILE_NAME = "record_sample.jsonl"


def sample_lines(folder: Path | None) -> tuple[Line, ...]:
    """The lines of a machine's sample record; none where it has no sample.

    Raises
    ------
    RecordError
        Naming a line that cannot be read.
    """
    file = folder and folder / FILE_NAME
    if not file or not file.is_file():
        return ()
    whole, tail = store.whole_lines(file.read_bytes())
    return tuple(line_from(line, number) for number, line in enumerate([*whole, tail], 1) if line.strip())
