"""Tiny lines, tiny steps and tiny times are answered or refused, and are never a fault of the server."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app

TINY = (5e-324, 1e-300, 1e-12, 1e-6)
WHOLE = {"isethionate-powder": 60.0, "kaolin": 10.0, "betaine-30": 30.0}
WET = {"feel": "too_wet"}


def lines(unit: str, **amounts: float) -> dict[str, Any]:
    found = WHOLE | {key.replace("_", "-"): amount for key, amount in amounts.items()}
    return {"lines": [{"material": key, unit: amount} for key, amount in found.items() if amount]}


def cases() -> list[tuple[str, dict[str, Any]]]:
    found: list[tuple[str, dict[str, Any]]] = []
    for tiny in TINY:
        speck = lines("percent", isethionate_powder=tiny, kaolin=70.0)
        specks = {"lines": [{"material": key, "grams": tiny} for key in WHOLE]}
        found += [
            ("assessments", {"recipe": speck}),
            ("corrections", {"recipe": speck, "report": WET}),
            ("corrections", {"recipe": specks, "report": WET}),
            ("substitutions", {"recipe": speck, "missing": "kaolin"}),
            ("labels", {"recipe": speck, "market": "eu"}),
            ("additions", {"recipe": lines("grams"), "report": WET, "balance_step": tiny}),
            ("additions", {"recipe": specks, "report": WET, "balance_step": 0.1}),
            ("weighings", {"recipe": lines("percent"), "batch_grams": tiny, "balance_step": 0.1}),
            ("weighings", {"recipe": lines("percent"), "batch_grams": 1000, "balance_step": tiny}),
        ]
        slip = {"recipe": lines("percent"), "weighed": {"kaolin": 200}, "mixed": True}
        found += [
            ("recoveries", {**slip, "batch_grams": 1000, "balance_step": tiny}),
            ("recoveries", {**slip, "batch_grams": tiny, "balance_step": 0.1}),
            ("recoveries", {**slip, "batch_grams": 1000, "balance_step": 0.1, "weighed": {"kaolin": tiny}}),
            (
                "drying",
                {"weighings": [{"hours": tiny * place, "grams": 100.0 - place} for place in range(4)]},
            ),
        ]
    return found


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(create_app(), raise_server_exceptions=False)


@pytest.mark.parametrize(("path", "body"), cases())
def test_nothing_tiny_is_a_fault(client: TestClient, path: str, body: dict[str, Any]) -> None:
    answer = client.post(f"/v1/{path}", json=body)
    assert answer.status_code in (200, 422), answer.text


def test_numbers_of_many_digits_are_no_fault(client: TestClient) -> None:
    for digits in (300, 400, 4000, 5000):
        body = '{"recipe":{"lines":[{"material":"kaolin","percent":' + "9" * digits + "}]}}"
        answer = client.post("/v1/assessments", content=body, headers={"Content-Type": "application/json"})
        assert answer.status_code in (400, 422)
