"""Small control boxes whose verdict anyone can work out in the head; they prove the page that shows them."""

from machinelab.controls.explore import explore
from machinelab.errors import PanelError
from machinelab.workbook.panel_file import parse_panel

WITHOUT_MOTOR = """
[switch.main]
pos = ["off", "on"]
[switch.dir]
pos = ["off", "fwd"]
[contact]
S1 = {of = "main", closed = ["on"]}
D = {of = "dir", closed = ["fwd"]}
[load.drive]
on = "S1 and D"
[rules]
start_actions = ["dir:fwd"]
power_switches = ["main"]
"""

STRAIGHT_ON = WITHOUT_MOTOR + '[motor.lathe]\nsource = "drive"\nfwd = "D"\n'

BUZZER = WITHOUT_MOTOR + '[relay.K]\ncoil = "S1 and K_b"\nnc = ["K_b"]\n'


def breaches_of(text: str) -> tuple[str, ...]:
    """The rules that a described box breaks."""
    return explore(parse_panel(text)).breaches


def refusal_of(text: str) -> str:
    """In which words a description is refused; empty when it is not."""
    try:
        parse_panel(text)
    except PanelError as problem:
        return str(problem)
    return ""
