"""What holds for all tests: slow is not wrong, and the build machine tries the same cases each time."""

import os

from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("house")
