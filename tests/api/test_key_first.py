"""Who asks is known before a byte of a body is read, at every address that the description holds."""

import asyncio
import re
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings

MUCH = str(10**12)


def test_no_operation_reads_a_body_before_the_key(tmp_path: Path) -> None:
    app = create_app(Settings(notebook=str(tmp_path / "shop.sqlite3")))
    with TestClient(app) as client:
        client.post("/v1/keys", json={"label": "house"})
    read: list[str] = []

    async def ask(method: str, path: str) -> tuple[int, str]:
        async def body() -> AsyncIterator[bytes]:
            read.append(f"{method} {path}")
            yield b"["

        headers = {"Authorization": "Bearer made-up", "Content-Length": MUCH, "Content-Type": "text/strange"}
        told = await client.request(method, path, content=body(), headers=headers)
        return told.status_code, told.json()["code"]

    async def ask_all() -> dict[str, tuple[int, str]]:
        return {
            f"{method} {path}": await ask(method.upper(), re.sub(r"{[^}]*}", "kaolin", path))
            for path, operations in app.openapi()["paths"].items()
            for method in operations
            if path.startswith("/v1/")
        }

    client = httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://testserver")
    told = asyncio.run(ask_all())
    assert sum(not one.startswith("get ") for one in told) >= 35
    assert {one: refused for one, refused in told.items() if refused != (401, "key-needed")} == {}
    assert read == []
    outside = {path for path in app.openapi()["paths"] if not path.startswith("/v1/")}
    assert not [path for path in outside for method in app.openapi()["paths"][path] if method != "get"]
