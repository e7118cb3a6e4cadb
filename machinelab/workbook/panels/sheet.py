"""A sheet to fill in at the machine: boxes in, a result in words out, as soon as the last box is filled."""

from collections.abc import Callable, Mapping

from ipywidgets import HTML

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.typed import Typed


class Sheet(Framed):
    """Boxes for the readings of one measurement, and what they come to.

    Parameters
    ----------
    rows : mapping of name to control
        `Typed` boxes and `Choice` lists; the names are the keyword arguments of ``work_out``.
    work_out : callable
        Values in, result out; raises `MachinelabError` when they make no sense together.
    tell : callable
        Result in, lines of plain words out.
    keep : callable
        Is given the name of a box and its text whenever it changes.
    """

    def __init__(
        self,
        rows: Mapping[str, object],
        *,
        work_out: Callable,
        tell: Callable,
        keep: Callable[[str, str], None],
    ):
        self.rows = dict(rows)
        self.work_out = work_out
        self.tell = tell
        self.result = None
        self.told = HTML()
        self.notice = HTML(notice(""))
        boxes = [row.widget for row in self.rows.values()]
        self.frame(*boxes, self.notice, self.told)
        for name, row in self.rows.items():
            row.on_change(self._row_changed(name, row, keep))
        self.refresh()

    @property
    def values(self) -> dict:
        """What the rows give, by name; None for what is not filled in."""
        return {name: row.value for name, row in self.rows.items()}

    @property
    def still_empty(self) -> tuple[str, ...]:
        """The labels of the boxes that still want something."""
        return tuple(
            row.field.name for row in self.rows.values() if isinstance(row, Typed) and row.value is None
        )

    def refresh(self) -> None:
        """Work the result out anew; without all readings there is none."""
        self.result, problem = None, ""
        if not self.still_empty:
            try:
                self.result = self.work_out(**self.values)
            except MachinelabError as error:
                problem = str(error)
        self.notice.value = notice(problem)
        self.told.value = "".join(words(line, "sentence") for line in self._lines())

    def _lines(self) -> list[str]:
        if self.result is not None:
            return self.tell(self.result)
        return [f"Still to fill in: {', '.join(self.still_empty)}."] if self.still_empty else []

    def _row_changed(self, name: str, row, keep: Callable[[str, str], None]) -> Callable[[], None]:
        def changed() -> None:
            keep(name, row.text)
            self.refresh()

        return changed
