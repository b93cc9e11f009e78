"""Fixed seeds and one day for every test; what is slow runs without its lines being counted."""

import os

import pytest
from hypothesis import settings

# The law has an age: answers are those of one day.
os.environ["DOUGH_TODAY"] = "2026-11-28"

settings.register_profile("fixed", derandomize=True, deadline=None, print_blob=True)
settings.load_profile("fixed")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Count no lines where a test is slow: it takes half as long again, and others pass the same lines."""
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker("no_cover")
