"""The measuring place for the inertia: a run with a disc, the disc itself, a braked run, and the doubts."""

from collections.abc import Callable, Mapping
from pathlib import Path

from ipywidgets import HTML, HBox, Layout

from machinelab.errors import MachinelabError
from machinelab.units import Field
from machinelab.workbook.figures.inertia import InertiaRoutes
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.frame import Framed, place_for, press
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.typed import Typed

NONE_OF_THEM = "none of them"
KEEP_WORDS = "Three pairs, taken in turn, show by themselves how well friction repeats."
# Names of files are long.
LIST_WIDTH = "560px"

DISC_BOXES = {
    "disc_mass": Field(
        name="Mass of the disc",
        kind="mass",
        low="0.05 kg",
        high="100 kg",
        example="8.88 kg",
        help="By the scales, with the stub that it is held by.",
    ),
    "disc_outer": Field(
        name="Outside diameter",
        kind="length",
        low="20 mm",
        high="1 m",
        example="200 mm",
        help="Turned true all over, without spokes.",
    ),
    "disc_bore": Field(
        name="Diameter of its hole",
        kind="length",
        low="0 mm",
        high="1 m",
        example="25 mm",
        help="Leave it empty for a solid disc.",
    ),
    "disc_inertia": Field(
        name="Or its moment of inertia",
        kind="inertia",
        low="1 kg cm^2",
        high="50 kg m^2",
        example="444 kg cm^2",
        help="If you know it; then mass and diameters are not asked.",
    ),
    "disc_doubt": Field(
        name="How far off that may be",
        kind="share",
        low="0.01 %",
        high="50 %",
        example="1 %",
        help="95 times in 100 it is nearer; left empty, 1 % is taken (common practice, no source).",
    ),
    "friction_scatter": Field(
        name="Friction differs from run to run",
        kind="share",
        low="0 %",
        high="50 %",
        example="1 %",
        help="Standard deviation over three free runs, one after the other. Left empty, 3 % is taken.",
    ),
}
BRAKE_BOXES = {
    "emf_doubt": Field(
        name="How far off the motor's volts may be",
        kind="share",
        low="0.01 %",
        high="50 %",
        example="2 %",
        help="Step 03 tells it for your motor; left empty, 3 % is taken (common practice, no source).",
    ),
    "ohm_doubt": Field(
        name="How far off all the ohms may be",
        kind="share",
        low="0.01 %",
        high="80 %",
        example="3 %",
        help="Resistor, leads and winding, as hot as in the run; left empty, 5 % is taken (no source).",
    ),
}


class InertiaBench(Framed):
    """Two logs and a few boxes in; the picture and the words follow at once.

    Parameters
    ----------
    disc_entry, brake_entry : Entry
        Where the run with the disc and the braked run come in.
    files : mapping of str to sequence of Path
        The logs in the machine's folder that may be chosen for "disc" and "brake".
    boxes : mapping of str to Typed
        The boxes of ``DISC_BOXES`` and ``BRAKE_BOXES``.
    work_out : callable
        Gives what was found, or words for what is missing.
    """

    def __init__(
        self,
        disc_entry: Entry,
        brake_entry: Entry,
        *,
        files: Mapping[str, list[Path]],
        boxes: Mapping[str, Typed],
        work_out: Callable,
        keep_pair: Callable[[], str],
    ):
        self.boxes = dict(boxes)
        self.work_out = work_out
        self.keep_pair = keep_pair
        self.press = press("keep this pair of runs", self.keep_pair_of_runs)
        self.kept = HTML(words(KEEP_WORDS, "help"))
        self.chart = InertiaRoutes()
        self.choices = {
            "disc": _choice("Log with the disc", files["disc"], disc_entry),
            "brake": _choice("Log of a braked run", files["brake"], brake_entry),
        }
        self.picture = place_for(self.chart)
        self.meaning = HTML()
        self.notice = HTML(notice(""))
        self.frame(
            HTML("<b>With a disc</b>"),
            self.choices["disc"].widget,
            disc_entry.widget,
            HBox([self.press, self.kept], layout=Layout(align_items="center")),
            *(self.boxes[name].widget for name in DISC_BOXES),
            HTML("<b>With the brake</b>"),
            self.choices["brake"].widget,
            brake_entry.widget,
            *(self.boxes[name].widget for name in BRAKE_BOXES),
            self.notice,
            self.picture,
            self.meaning,
        )
        for entry in (disc_entry, brake_entry):
            entry.on_change(self.refresh)
        for box in self.boxes.values():
            box.on_change(self._box_changed)
        self.refresh()

    def keep_pair_of_runs(self) -> None:
        """Keep the runs that stand in the boxes now."""
        try:
            self.kept.value = words(self.keep_pair(), "help")
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.refresh()

    def _box_changed(self) -> None:
        """Work it out anew where a box gives another value than before; the fits take their time."""
        if self._values != self._worked_with:
            self.refresh()

    @property
    def _values(self) -> dict:
        return {name: box.value for name, box in self.boxes.items()}

    def refresh(self) -> None:
        """Work it out anew; what cannot be worked out is told and the last good picture stays."""
        self._worked_with = self._values
        found, problems = self.work_out()
        self.notice.value = notice(" ".join(problems))
        if found is None:
            return
        self.chart.update(found)
        self.picture.value = self.chart.live_html()
        self.meaning.value = "".join(words(line, "sentence") for line in found.told())


def _choice(label: str, files: list[Path], entry: Entry) -> Choice:
    """A list of the machine's logs; the one that the page started with stands chosen."""
    options = {NONE_OF_THEM: None} | {file.name: file for file in files}
    started = entry.readings.name if entry.readings is not None else NONE_OF_THEM
    choice = Choice(
        label,
        options,
        chosen=started,
        help_words="From the machine's folder; or use the box or a file below.",
    )

    def chosen() -> None:
        if choice.value is not None:
            entry.take(choice.value, choice.value.name)

    choice.on_change(chosen)
    return choice
