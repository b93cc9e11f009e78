"""Every command, call and line of Python in the help runs, and answers are shaped as they are shown."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.help.contents import entries
from api.help.reference import MADE
from tests.foundation.shown import beside_its_files, told
from tests.help.examples import read_curl, run, unlike

WRITTEN = [one.name for one in entries() if one.name not in MADE]
DO = [one.name for one in entries() if one.chapter == "Do"]


@pytest.mark.parametrize("name", WRITTEN)
def test_the_examples_of_a_page_run(name: str, folder: Path, client: TestClient) -> None:
    text = (folder / f"{name}.md").read_text(encoding="utf-8")
    with beside_its_files(text):
        ran = run(text, client, name)
    assert ran or name not in DO
    assert told(text) == text, "python -m tests.foundation.shown writes it anew"


def test_an_excerpt_that_is_not_so_is_found() -> None:
    answer = {"lines": [{"grams": 1.5}], "ok": True, "next": None}
    assert not list(unlike({"lines": [{"grams": 2}], "ok": False, "next": None}, answer))
    wrong = [{"line": []}, {"lines": {}}, {"lines": [{"grams": "2"}]}, {"ok": 1}, {"next": "a"}]
    assert all(list(unlike(shown, answer)) for shown in wrong)


def test_an_option_that_is_not_understood_is_refused() -> None:
    with pytest.raises(ValueError, match="--insecure"):
        read_curl("curl --insecure http://127.0.0.1:8000/health")
