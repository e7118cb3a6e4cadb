"""One quantity of the record over time: choose it, and see whether it has changed."""

from collections.abc import Mapping

from machinelab.workbook.figures.history import QuantityHistory
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.record.history import History

HELP = "Those measured most often come first. What was corrected or withdrawn is left out."


def view_history(*, quantity: History) -> History:
    """The quantity that was chosen is all there is to see."""
    return quantity


def history_panel(histories: Mapping[str, History]) -> LivePanel:
    """A panel that shows one of the measured quantities over time."""
    return LivePanel(
        controls={"quantity": Choice("Quantity", histories, help_words=HELP)},
        compute=view_history,
        chart=QuantityHistory(),
        sentence=lambda result: result.details,
    )
