"""Fixed seeds and one thread for every test."""

from hypothesis import settings

settings.register_profile("fixed", derandomize=True, deadline=None, print_blob=True)
settings.load_profile("fixed")
