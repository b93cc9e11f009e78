"""What the tests of the notebook share: a server with a notebook of its own, and doughs."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings

from .cluster import emptied_database, running

NETTLE = {
    "key": "nettle-powder",
    "name": "Nettle leaf, ground",
    "form": "powder",
    "roles": ["filler", "featured"],
    "composition": {"Urtica Dioica Leaf Powder": 100.0},
    "uptake": {"typical": 0.62, "low": 0.5, "high": 0.75, "basis": "own"},
}


def recipe(liquid: float = 26.0, clay: float = 12.0) -> dict[str, Any]:
    """Return a recipe that adds up to 100."""
    lines = {"betaine-30": liquid, "kaolin": clay, "glycerin": 4.0, "phenoxyethanol-blend": 0.9}
    lines["isethionate-powder"] = round(100 - sum(lines.values()), 2)
    return {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}


def dough(feel: str = "too_wet", degree: str = "clear", **more: Any) -> dict[str, Any]:
    """Return a dough to write down."""
    return {"recipe": recipe(), "report": {"feel": feel, "degree": degree}, **more}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return where the notebook is to be."""
    return tmp_path / "notebook.sqlite3"


@pytest.fixture(scope="session")
def cluster() -> Iterator[Path]:
    """Return the socket of a PostgreSQL server of this test run."""
    with running() as socket:
        yield socket


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, file: Path) -> str:
    """Return where an empty notebook is to be: a file, and then a database."""
    if request.param == "sqlite":
        return str(file)
    return emptied_database(request.getfixturevalue("cluster"), "shop")


@pytest.fixture
def client(place: str) -> Iterator[TestClient]:
    """Return a client of a server with a notebook of its own."""
    with TestClient(create_app(Settings(notebook=place))) as made:
        yield made


@pytest.fixture
def at_file(file: Path) -> Iterator[TestClient]:
    """Return a client of a server whose notebook is a file."""
    with TestClient(create_app(Settings(notebook=str(file)))) as made:
        yield made
