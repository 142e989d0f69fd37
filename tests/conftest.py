"""Random tests draw the same examples every time; the long tests draw new ones."""

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("new", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("SLOWFIRE_RANDOM", "same"))
