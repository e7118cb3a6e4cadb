"""Threads by name: what a machinist types, read into size, pitch, form, starts, hand and class.

A designation is settled against the series of the standards: what stands in no series is refused with the
nearest that do, because a slip of the pen is likelier than a thread of its own. The word ``special`` behind
it says that it is meant.
"""

from machinelab.errors import RangeError
from machinelab.threads.ba_designation import read_ba
from machinelab.threads.inch_designation import read_inch
from machinelab.threads.metric_designation import read_metric, read_trapezoidal
from machinelab.threads.nearest_threads import not_understood
from machinelab.threads.pipe_designation import read_pipe
from machinelab.threads.profile import ThreadForm
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import typed_thread
from machinelab.threads.worm_designation import read_worm

__all__ = ["Thread", "ThreadForm", "parse"]

_READERS = (read_trapezoidal, read_metric, read_worm, read_pipe, read_ba, read_inch)


def parse(designation):
    """Which thread a designation means.

    Size, pitch and form make a thread; 26 threads to the inch are not 1 mm. A coarse pitch may be left out.
    Left hand, starts and class of tolerance stand behind it in any order.

    Formula
    -------
    none: it reads text and looks in the tables of the standards

    Parameters
    ----------
    designation : str
        As the trade writes it: M10x1.5-6g, 3/8-16 UNC, #10-24, 26 tpi cycle, Tr40x14P7 LH, 1/2-10 Acme, G1/2,
        4 BA, module 1, 20 DP.

    Returns
    -------
    Thread
        Its own designation is the settled way to write it, and reads back as the same thread.

    Range
    -----
    Sizes of the tables, and others with the word special; inch threads may leave out the size (26 tpi cycle).

    Raises
    ------
    UnitError
        If nothing was typed, or far more than a designation needs.
    RangeError
        If it is no thread or none of its series; the message names the nearest.

    Examples
    --------
    >>> parse("3/8-16 UNC").pitch_mm
    Fraction(127, 80)
    >>> parse("m 10 × 1 LH").designation
    'M10x1 LH'

    Source
    ------
    ISO 965-1, ISO 2904, ASME B1.1, B1.5, BS 84, BS 93 and common practice, from memory; sizes by their table.
    """
    typed = typed_thread(designation)
    for reader in _READERS:
        thread = reader(typed)
        if thread is not None:
            return thread
    raise RangeError(not_understood(typed))
