"""Page 10 in a real JupyterLab: the speed moves the stop, own stops go in, slips are told in words."""

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PAGE = "10_threading.ipynb"


@pytest.fixture(scope="module")
def threading_page(ran):
    """Page 10, opened and run on the demo machine."""
    return ran(PAGE)


def type_into(visit, label, text):
    box = visit.page.get_by_role("textbox", name=label, exact=True)
    box.fill(text)
    box.press("Tab")


def test_speed_and_groove_move_the_picture(threading_page, tmp_path):
    type_into(threading_page, "Spindle speed in the pass", "500 rpm")
    told = threading_page.picture("at 500 rpm").get_attribute("alt")
    assert "every pass would hit the shoulder" in told
    type_into(threading_page, "Groove at the shoulder", "40 mm")
    told = threading_page.picture("drawn is one of 40 mm").get_attribute("alt")
    assert "hardly a pass would hit" in told
    threading_page.page.screenshot(path=tmp_path / "threading.png")


def test_a_slip_among_the_stops_is_told_in_words_beside_the_box(threading_page):
    type_into(threading_page, "Past the mark", "1.4\n1,5")
    threading_page.page.get_by_text("has a comma").first.wait_for()
