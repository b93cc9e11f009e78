"""Every code a problem may carry has a page that says what it means and what to do."""

import logging
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from advisor.errors import AdvisorError, RulesError, SolverError
from api.http.problems import as_error, catalogue

KINDS = catalogue()


@pytest.mark.parametrize("code", KINDS)
def test_every_code_is_explained(client: TestClient, code: str) -> None:
    found = client.get(f"/problems/{code}").json()
    assert found["code"] == code
    assert found["status"] == KINDS[code].status
    assert all(found[name].strip() for name in ("title", "meaning", "remedy"))
    page = client.get(f"/problems/{code}", headers={"accept": "text/html,*/*;q=0.8"})
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert page.headers["vary"] == "Accept"
    assert KINDS[code].title in page.text.replace("&#x27;", "'")


def test_codes_are_written_by_hand_and_once() -> None:
    assert all(code == kind.code for code, kind in KINDS.items())
    assert len(KINDS) == len({kind.title for kind in KINDS.values()})


@pytest.mark.parametrize(
    "address", ["/problems/such-a-thing", "/nowhere", "/v1", "/v1/corrections/", "/V1/materials"]
)
def test_what_is_not_there_is_not_found(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


@pytest.mark.parametrize(
    ("method", "address", "allowed"),
    [
        ("GET", "/v1/corrections", {"POST"}),
        ("DELETE", "/v1/corrections", {"POST"}),
        ("POST", "/health", {"GET", "HEAD"}),
        ("PATCH", "/v1/feels", {"GET", "HEAD"}),
        ("OPTIONS", "/v1/limits", {"GET", "HEAD"}),
        ("BREW", "/v1/frames", {"GET", "HEAD"}),
        ("HEAD", "/v1/corrections", {"POST"}),
    ],
)
def test_a_wrong_method_is_told_the_right_ones(
    client: TestClient, method: str, address: str, allowed: set[str]
) -> None:
    answer = client.request(method, address)
    assert answer.status_code == 405
    assert set(answer.headers["allow"].split(", ")) == allowed


def test_head_is_get_without_the_body(client: TestClient) -> None:
    told, whole = client.head("/v1/feels"), client.get("/v1/feels")
    assert (told.status_code, told.content, told.headers["etag"]) == (200, b"", whole.headers["etag"])
    assert told.headers["content-length"] == str(len(whole.content))


@pytest.mark.parametrize(
    ("accept", "status"),
    [
        ("application/json", 200),
        ("application/*;q=0.2", 200),
        ("text/html, */*;q=0.1", 200),
        ("", 200),
        ("text/html", 406),
        ("application/json;q=0, text/plain", 406),
        ("*/*;q=0", 406),
        ("application/json;q=often", 406),
        ("application/json;q=nan", 406),
        (";;,,", 406),
    ],
)
def test_accept_is_heeded(client: TestClient, good: dict[str, Any], accept: str, status: int) -> None:
    for answer in (
        client.get("/health", headers={"accept": accept}),
        client.post("/v1/corrections", json=good, headers={"accept": accept}),
    ):
        assert answer.status_code == status
        assert status == 200 or answer.json()["code"] == "not-acceptable"


def test_a_fault_reveals_nothing_and_is_logged(
    client: TestClient, app: FastAPI, caplog: pytest.LogCaptureFixture
) -> None:
    async def broken() -> None:
        raise RuntimeError("a-secret")

    app.add_api_route("/broken", broken)
    with caplog.at_level(logging.INFO, "api"):
        answer = client.get("/broken")
    assert (answer.status_code, answer.json()["code"]) == (500, "internal")
    assert answer.headers["x-content-type-options"] == "nosniff"
    logged = "\n".join(record.getMessage() for record in caplog.records if record.name == "api")
    assert "a-secret" not in answer.text + logged
    assert "RuntimeError" not in answer.text
    assert '"kind": "RuntimeError"' in logged
    assert answer.headers["x-request-id"] in logged


@pytest.mark.parametrize(
    ("raised", "status", "code"),
    [
        (SolverError("It gave no proof."), 503, "solver-timeout"),
        (MemoryError(), 503, "busy"),
        (RulesError("rules/dough.toml: broken"), 500, "internal"),
        (RecursionError(), 500, "internal"),
    ],
)
def test_what_fails_inside_has_a_status(
    client: TestClient, app: FastAPI, raised: Exception, status: int, code: str
) -> None:
    async def broken() -> None:
        raise raised

    address = f"/broken-{type(raised).__name__}"
    app.add_api_route(address, broken)
    answer = client.get(address)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert ("retry-after" in answer.headers) == (status == 503)
    assert client.get("/health").status_code == 200


def test_an_error_stays_what_it_is() -> None:
    error: AdvisorError = SolverError("It gave no proof.")
    assert as_error(error) is error
