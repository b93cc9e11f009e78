"""The command line of a test has no notebook but one that the test names."""

import pytest


@pytest.fixture(autouse=True)
def no_notebook(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the notebook of whoever runs the tests out of them."""
    monkeypatch.setenv("DOUGH_NOTEBOOK", "none")
