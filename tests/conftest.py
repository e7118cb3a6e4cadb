"""What holds for all tests: slow is not wrong, and the build machine tries the same cases each time."""

import os

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("house")


def pytest_collection_modifyitems(items):
    """Leave the pages' tests out of the quick part: a page works a whole machine out when it is opened."""
    for item in items:
        if item.path.stem.endswith(("_page", "_pages")):
            item.add_marker(pytest.mark.slow)
