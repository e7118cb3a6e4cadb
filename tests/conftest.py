"""What holds for all tests: slow is not wrong, and the build machine tries the same cases each time."""

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import Phase, settings

settings.register_profile("house", deadline=None, derandomize=os.environ.get("CI") == "true")
# For who only asks whether a test fails, many times over: no search for the simplest case that fails.
settings.register_profile(
    "unshrunk", settings.get_profile("house"), phases=(Phase.explicit, Phase.reuse, Phase.generate)
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "house"))

# Programs that are started by hand and import each other by name; no test stands in them.
collect_ignore = ["mutation"]


def pytest_configure(config):
    """Give this run temporary files of its own, since the demo's scratch record lies among them."""
    shares_out_to_workers = getattr(config.option, "numprocesses", None) and not hasattr(
        config, "workerinput"
    )
    if shares_out_to_workers:
        return
    # Short names, because a browser's socket has room for a hundred letters of path.
    fresh = Path(tempfile.mkdtemp(prefix="lab-"))
    for name in ("here", "kernels"):
        (fresh / name).mkdir()
    before = pytest.MonkeyPatch()
    before.setattr(tempfile, "tempdir", str(fresh / "here"))
    before.setenv("TMPDIR", str(fresh / "kernels"))
    # The folder goes with this run; a program that runs the tests again in one process needs a place too.
    config.add_cleanup(lambda: shutil.rmtree(fresh, ignore_errors=True))
    config.add_cleanup(before.undo)


def pytest_collection_modifyitems(items):
    """Leave the pages' tests out of the quick part: a page works a whole machine out when it is opened.

    What hangs on the clock of a busy computer is asked a second time before it counts, and the summary
    says how often that was: a browser that did not show something in time, a measured time too long.
    """
    for item in items:
        if item.path.stem.endswith(("_page", "_pages")):
            item.add_marker(pytest.mark.slow)
        if item.get_closest_marker("bench"):
            item.add_marker(pytest.mark.flaky(reruns=1, only_rerun=["AssertionError", "TimeoutError"]))
        elif item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.flaky(reruns=1, only_rerun=["TimeoutError"]))
