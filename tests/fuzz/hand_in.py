"""One case handed in at one door: taken, or refused in words, in time; anything else is a failure."""

import faulthandler
import time

from fuzz.doors import Door

from machinelab.errors import MachinelabError

LONGEST_S = 2.0
# A case that never ends is ended with the place where it hangs, together with its run.
HANGS_S = 60


def handed_in(door: Door, content: bytes) -> tuple[bool, float]:
    """Hand in one case; give whether it was refused and how many seconds of computing it took."""
    refused, seconds = _once(door, content)
    if seconds >= LONGEST_S:
        # What Python loads or sweeps up by chance does not come back; a case that is slow does.
        refused, seconds = _once(door, content)
    assert seconds < LONGEST_S, f"{door.name}: {seconds:.1f} s for {content[:300]!r}"
    return refused, seconds


def _once(door: Door, content: bytes) -> tuple[bool, float]:
    faulthandler.dump_traceback_later(HANGS_S, exit=True)
    began, said = time.process_time(), None
    try:
        door.hand_in(content)
    except MachinelabError as error:
        said = str(error)
    except Exception as error:
        raise AssertionError(f"{door.name}: {type(error).__name__} for {content[:300]!r}") from error
    finally:
        faulthandler.cancel_dump_traceback_later()
    seconds = time.process_time() - began
    assert said is None or said.strip(), f"{door.name}: refused without a word: {content[:300]!r}"
    return said is not None, seconds
