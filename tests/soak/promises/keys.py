"""Rows: who has no key gets nothing and makes nobody wait; who has one gets what its role allows."""

import re
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import httpx

from tests.helpers import makers
from tests.helpers.server import Served
from tests.soak.promises.kept import Row

_ANY = {"recipe": makers.recipe(1), "report": makers.report(1)}


def rows() -> Iterator[Row]:
    """Yield the attacks, each on a server of two workers of its own."""
    yield Row(
        "from the first key on every call needs one", "every operation without a key", _open, 0.0, "answered"
    )
    yield Row(
        "the link of a share is for the bench",
        "its key mints, revokes, erases, restores",
        _bench,
        0.0,
        "allowed",
    )
    yield Row("the last owner's key stays", "it revokes itself", _last, 0.0, "shut out")
    yield Row("a revocation counts at once", "40 calls with a revoked key", _revoked, 0.0, "answered")
    yield Row("who has no key waits for no writer", "wrong keys beside a held notebook", _held, 1.0, "s")
    yield Row(
        "the log says who was refused", "a wrong key, a revocation, an erasure", _logged, 0.0, "lines lacking"
    )
    yield Row("answers of a shop are nobody's to keep", "every reading operation", _stored, 0.0, "cacheable")
    yield Row("metrics are whole and the owner's", "asked 20 times of two workers", _metrics, 0.0, "strayed")


class _House:
    """A server of two workers, its owner's key and its addresses."""

    def __init__(self, server: Served, file: Path) -> None:
        self.server, self.file = server, file
        self.made = self.call("POST", "v1/keys", json={"label": "house"}).json()
        self.owner = {"Authorization": f"Bearer {self.made['key']}"}

    def call(self, method: str, path: str, **options: Any) -> httpx.Response:
        """Return an answer, each on a connection of its own, so that either worker may give it."""
        return httpx.request(method, f"{self.server.url}{path}", trust_env=False, timeout=60, **options)

    def another(self, role: str) -> tuple[str, dict[str, str]]:
        """Return the id and the headers of another key."""
        made = self.call("POST", "v1/keys", json={"label": role, "role": role}, headers=self.owner).json()
        return made["id"], {"Authorization": f"Bearer {made['key']}"}

    def operations(self) -> Iterator[tuple[str, str]]:
        """Yield method and path of everything below /v1."""
        paths = self.call("GET", "openapi.json", headers=self.owner).json()["paths"]
        for path, operations in paths.items():
            if path.startswith("/v1/"):
                yield from ((method, re.sub(r"{[^}]*}", "kaolin", path[1:])) for method in operations)


@contextmanager
def _house(*words: str) -> Iterator[_House]:
    command = ("-m", "advisor", "serve", "--port", "{port}", "--workers", "2", *words)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "shop.sqlite3"
        with Served(file, command) as server:
            yield _House(server, file)


def _open() -> float:
    with _house() as house:
        answers = [house.call(method, path).status_code for method, path in house.operations()]
        return float(sum(status != 401 for status in answers))


def _bench() -> float:
    with _house() as house:
        code = Path(house.file)
        key, bench = house.another("bench")
        tried = (
            ("POST", "v1/keys", {"json": {"label": "more"}}),
            ("GET", "v1/keys", {}),
            ("DELETE", f"v1/keys/{house.made['id']}", {}),
            ("PUT", "v1/notebook", {"json": {"format": 1}}),
            ("DELETE", "v1/notebook", {}),
            ("POST", "v1/notebook/restorations", {}),
            ("GET", "v1/backup", {}),
            ("POST", "v1/shops", {"json": {"name": "mine"}}),
        )
        assert code.exists() and key
        return float(sum(house.call(m, p, headers=bench, **more).status_code != 403 for m, p, more in tried))


def _last() -> float:
    with _house() as house:
        told = house.call("DELETE", f"v1/keys/{house.made['id']}", headers=house.owner)
        still = house.call("GET", "v1/doughs", headers=house.owner)
        return float((told.status_code, still.status_code) != (409, 200))


def _revoked() -> float:
    with _house() as house:
        key, bench = house.another("bench")
        before = [house.call("GET", "v1/doughs", headers=bench).status_code for _ in range(20)]
        gone = house.call("DELETE", f"v1/keys/{key}", headers=house.owner)
        assert (set(before), gone.status_code) == ({200}, 204), (before, gone.text)
        return float(sum(house.call("GET", "v1/doughs", headers=bench).status_code != 401 for _ in range(40)))


def _held() -> float:
    with _house() as house, closing(sqlite3.connect(house.file, isolation_level=None)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        wrong = {"Authorization": "Bearer made-up"}
        asked = [("POST", "join"), *((m, p) for m, p in house.operations() if m != "get")]
        told = [house.call(m, p, headers=wrong, content=b"code=" + b"x" * 43) for m, p in asked]
        holder.execute("ROLLBACK")
        if {one.status_code for one in told} != {401}:
            raise AssertionError(
                [(m, p) for (m, p), one in zip(asked, told, strict=True) if one.status_code != 401]
            )
        return max(one.elapsed.total_seconds() for one in told)


def _logged() -> float:
    with _house() as house:
        house.call("GET", "v1/doughs", headers={"Authorization": "Bearer made-up"})
        key, _ = house.another("read")
        house.call("DELETE", f"v1/keys/{key}", headers=house.owner)
        house.call("POST", "v1/doughs", json=_ANY, headers=house.owner)
        tag = house.call("GET", "v1/notebook", headers=house.owner).headers["etag"]
        house.call("DELETE", "v1/notebook", headers={**house.owner, "If-Match": tag})
        said = house.server.said()
        wanted = ("key refused", "key made", "key revoked", "notebook erased")
        return float(sum(f'"event": "{event}"' not in said for event in wanted) + (house.made["key"] in said))


def _stored() -> float:
    with _house() as house:
        house.call("POST", "v1/doughs", json=_ANY, headers=house.owner)
        told = [
            house.call("GET", path, headers=house.owner)
            for method, path in house.operations()
            if method == "get"
        ]
        own = [one for one in told if one.status_code == 200 and "/v1/" in str(one.url)]
        public = ("feels", "limits", "frames", "drying-curves")
        mine = [one for one in own if not str(one.url).endswith(public)]
        return float(sum("no-store" not in one.headers.get("cache-control", "") for one in mine))


def _metrics() -> float:
    with _house() as house:
        for _ in range(20):
            house.call("GET", "v1/feels", headers=house.owner)
        told = [house.call("GET", "metrics", headers=house.owner).text for _ in range(20)]
        counted = [
            re.findall(
                r'^dough_requests_total\{method="GET",route="/v1/feels",status="200"} ([0-9.]+)', one, re.M
            )
            for one in told
        ]
        _, bench = house.another("bench")
        let_in = house.call("GET", "metrics", headers=bench).status_code != 403
        return float(sum(one != ["20.0"] for one in counted) + let_in)
