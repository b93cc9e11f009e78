"""The pages of the help, and the server their examples are sent to."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings


@pytest.fixture(scope="package")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    notebook = tmp_path_factory.mktemp("help") / "notebook.sqlite3"
    with TestClient(create_app(Settings(notebook=str(notebook)))) as client:
        yield client


@pytest.fixture(scope="session")
def folder() -> Path:
    return Path(__file__).resolve().parents[2] / "api" / "help" / "pages"
