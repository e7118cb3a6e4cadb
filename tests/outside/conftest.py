"""What the outside checks share: the comparison that writes its own line on the inspection sheet."""

import pytest
from inspection import sheet
from inspection.check import Comparison


@pytest.fixture
def compare(request) -> Comparison:
    """Return the comparison of this test; its module says which room it belongs to."""
    node = request.node
    told = " ".join((request.function.__doc__ or "").split())
    return Comparison(request.module.ROOM, f"{node.path.stem}::{node.name}", told)


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem):
    """Hand the rows of a test that holds on to the report, and hold them against the kept sheet."""
    result = yield
    comparison = pyfuncitem.funcargs.get("compare")
    if isinstance(comparison, Comparison):
        pyfuncitem.user_properties.extend((sheet.PROPERTY, vars(row)) for row in comparison.rows)
        if not pyfuncitem.config.stash.get(sheet.BEING_WRITTEN, False):
            changed = sheet.departures(comparison.test, comparison.rows)
            assert not changed, f"the sheet of checks is out of date; run `{sheet.REMAKE}`: {changed[0]}"
    return result
