"""Long work that shows how far it is and can be stopped."""

import asyncio
from collections.abc import Callable, Generator

from ipywidgets import HTML, FloatProgress, HBox, Layout, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words


class LongTask(Framed):
    """A start button, a bar with words, and a stop button around work done in steps.

    The work is a generator: it yields ``(share_done, words)`` after each step and returns its result.
    Between two steps the page stays alive, so a press on "stop" is heard.

    Parameters
    ----------
    label : str
        What the start button says.
    work : callable
        Starts the work and gives the generator.
    finished : callable
        Takes the result; not called when the work was stopped.
    """

    def __init__(self, label: str, work: Callable[[], Generator], finished: Callable[[object], None]):
        self.work = work
        self.finished = finished
        self.result = None
        self._stop_asked = False
        self._running: asyncio.Task | None = None
        self.start = press(label, self._start_pressed)
        self.stop = press("stop", self.ask_to_stop)
        self.stop.disabled = True
        self.bar = FloatProgress(min=0, max=1, layout=Layout(width="300px"))
        self.told = HTML(words("", "help"))
        self.widget = VBox([HBox([self.start, self.bar, self.stop]), self.told])

    def run_to_end(self) -> object:
        """Do all the work at once and return its result."""
        asyncio.run(self.run())
        return self.result

    async def run(self) -> None:
        """Do the work step by step, until its end or until stop was asked."""
        self._stop_asked = False
        self.start.disabled, self.stop.disabled = True, False
        try:
            await self._work_through(self.work())
        except MachinelabError as error:
            self.told.value = notice(str(error))
        finally:
            self.start.disabled, self.stop.disabled = False, True

    def ask_to_stop(self) -> None:
        """Stop before the next step."""
        self._stop_asked = True

    async def _work_through(self, steps: Generator) -> None:
        while True:
            try:
                share, told = next(steps)
            except StopIteration as end:
                self._finish(end.value)
                return
            self.bar.value = share
            self.told.value = words(told, "help")
            await asyncio.sleep(0)
            if self._stop_asked:
                steps.close()
                self.told.value = words(f"Stopped after {share:.0%}; nothing was kept.", "help")
                return

    def _finish(self, result) -> None:
        self.bar.value = 1
        self.told.value = words("Done.", "help")
        self.result = result
        self.finished(result)

    def _start_pressed(self) -> None:
        self._running = asyncio.ensure_future(self.run())
