"""Fixed seeds and one thread for every test."""

import os

from hypothesis import settings

# The law has an age: answers are those of one day.
os.environ["DOUGH_TODAY"] = "2026-11-28"

settings.register_profile("fixed", derandomize=True, deadline=None, print_blob=True)
settings.load_profile("fixed")
