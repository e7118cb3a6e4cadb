"""Ways to broken rules to choose from, and the search for what single faults lose, with a bar."""

from collections.abc import Callable, Iterator, Mapping
from html import escape

from ipywidgets import HTML

from machinelab.controls.faults import FaultResult, sweep
from machinelab.controls.panel import Panel
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.progress import LongTask


class Ways(Framed):
    """A list of broken rules; the one chosen is told step by step below it."""

    def __init__(self, told: Mapping[str, str]):
        self.told = dict(told)
        self.choice = Choice("Broken rule", {name: name for name in self.told})
        self.text = HTML()
        self.frame(self.choice.widget, self.text)
        self.choice.on_change(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Tell the way that is chosen."""
        lines = escape(self.told[self.choice.value])
        self.text.value = (
            f'<pre style="font-size:12px;line-height:1.35;white-space:pre-wrap;overflow-x:auto">{lines}</pre>'
        )


def fault_task(
    panel: Panel, finished: Callable[[tuple[FaultResult, ...]], None], workers: int = 2
) -> LongTask:
    """A button that tries every single fault, with a bar and a way to stop it."""

    def work() -> Iterator[tuple[float, str]]:
        results = []
        for done, total, result in sweep(panel, workers):
            results.append(result)
            yield done / total, f"{done} of {total} faults tried; the last: {result.fault.words}."
        return tuple(results)

    return LongTask("Try every single fault", work, finished)
