"""The way to a broken rule, stepped through on the ladder."""

from collections.abc import Callable

from ipywidgets import IntSlider, Layout, VBox

from machinelab.controls.explore import Findings
from machinelab.controls.findings import Broken, Moment
from machinelab.controls.rules import RULES
from machinelab.controls.search import Search
from machinelab.controls.trace import stations, told
from machinelab.workbook.figures.ladder import Fed, Ladder, LadderView, named_rungs
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH


class StepSlider:
    """A slider over the steps of a way; the last step stays the last when a shorter way is chosen."""

    def __init__(self, steps: int):
        self.slider = IntSlider(
            value=0,
            min=0,
            max=steps,
            description="Step",
            continuous_update=True,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )
        self.widget = VBox([self.slider])
        self.widget.add_class("machinelab-row")

    @property
    def value(self) -> int:
        """The step."""
        return self.slider.value

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever the slider is moved."""
        self.slider.observe(lambda _change: listener(), "value")


def view_way(search: Search, broken: Broken, step: int) -> LadderView:
    """The ladder after so many steps of the way to a broken rule; 0 is everything at rest."""
    panel = search.panel
    moments = stations(broken.way)
    step = min(step, len(moments) - 1)
    moment = moments[step]
    rows = told(panel, broken, short=False).rows
    rule = RULES[broken.rule]
    if step == 0:
        return _view(search, moment, f"{rule.id}, step 0 of {len(rows)}: everything at rest.")
    row = rows[step - 1]
    ending = f"; {rule.broken}" if step == len(rows) else ""
    headline = f"{rule.id}, step {row.step} of {len(rows)}: {row.act}: {row.happens}{ending}."
    return _view(search, moment, headline)


def view_rest(search: Search) -> LadderView:
    """The ladder of a box that is at rest."""
    key = next(iter(search.before))
    course, shown = search.course(key), search.shown(key)
    moment = Moment(None, search.standing(key), shown, course, tuple(search.courses.driven(0, shown)))
    return _view(search, moment, "Everything at rest.")


def _view(search: Search, moment: Moment, headline: str) -> LadderView:
    closed = search.wiring.closed(search.wiring.number(moment.standing))
    rungs = tuple(_fed(search, moment))
    details = "Fed: " + (", ".join(fed.name for fed in rungs if fed.active) or "nothing") + "."
    return LadderView(search.panel, rungs, closed, headline, details)


def _fed(search: Search, moment: Moment):
    panel, shown = search.panel, moment.shown
    relays, loads = len(panel.relays), len(panel.loads)
    held = moment.course.charged
    for n, (name, rung) in enumerate(named_rungs(panel)):
        if n < relays:
            phase = moment.standing.relays[n]
            yield Fed(name, rung, phase == 1, ("out", "in", "between")[phase])
        elif n < relays + loads:
            load = n - relays
            on, charged = shown.on >> load & 1, held >> load & 1
            yield Fed(name, rung, bool(on or charged), "fed" if on else "charged" if charged else "off")
        else:
            motor_name, _, way = name.rpartition(" ")
            motor = next(m for m, one in enumerate(panel.motors) if one.name == motor_name)
            if way == "brake":
                active = bool(shown.brake >> motor & 1)
                yield Fed(name, rung, active, "on" if active else "off")
            else:
                active = moment.driven[motor] in ((1, 2) if way == "fwd" else (-1, 2))
                yield Fed(name, rung, active, "DRIVEN" if active else "-")


def ladder_panel(search: Search, found: Findings) -> LivePanel:
    """Choose a broken rule and go through its way step by step."""
    ways = {
        f"{RULES[rule].id}: {RULES[rule].broken}": found.broken[rule]
        for rule in RULES
        if rule in found.broken
    }
    longest = max(len(stations(broken.way)) for broken in ways.values()) - 1
    return LivePanel(
        controls={"broken": Choice("Broken rule", ways), "step": StepSlider(longest)},
        compute=lambda broken, step: view_way(search, broken, step),
        chart=Ladder(search.panel),
        sentence=lambda view: f"{view.headline} {view.details}",
    )
