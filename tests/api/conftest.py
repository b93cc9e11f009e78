"""The client the tests of the API share, and of the request they start from."""

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.app import create_app


@pytest.fixture(scope="session")
def app() -> FastAPI:
    return create_app()


@pytest.fixture(scope="session")
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, raise_server_exceptions=False) as client:
        yield client


@pytest.fixture
def good() -> dict[str, Any]:
    lines = [("isethionate-powder", 55), ("betaine-30", 27), ("kaolin", 12), ("glycerin", 6)]
    return {
        "recipe": {
            "name": "Mill Pond bar",
            "lines": [{"material": key, "percent": percent} for key, percent in lines],
        },
        "report": {"feel": "too_wet"},
    }
