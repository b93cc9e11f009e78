"""What the advisor goes by can be read, each figure with basis and source."""

from typing import Any, get_args

import pytest
from fastapi.testclient import TestClient

from advisor.rulebook.load import load_rulebook
from advisor.schema.base import Degree, Market

RULES = load_rulebook()


def read(client: TestClient, address: str) -> dict[str, Any]:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    assert found["rules_version"] == RULES.edition
    return found


def test_every_word_of_a_report_is_explained(client: TestClient) -> None:
    found = read(client, "/v1/feels")
    assert {item["feel"] for item in found["items"]} == set(RULES.words["feel"])
    assert {item["degree"] for item in found["degrees"]} == set(get_args(Degree))
    assert {item["sign"] for item in found["signs"]} == set(RULES.words["sign"])
    texts = [*found["items"], *found["process"], *found["questions"], *found["tests"]]
    assert all(text["basis"] and text["source"] for text in texts)


@pytest.mark.parametrize("market", [market for market in get_args(Market) if market != "none"])
def test_the_limits_of_a_market_are_all_there(client: TestClient, market: str) -> None:
    found = read(client, f"/v1/limits?market={market}")
    assert {item["id"]: item["max"] for item in found["items"]} == {
        limit.id: limit.max for limit in RULES.laws[market].limits
    }
    assert [one["market"] for one in found["markets"]] == [market]
    assert all(item["basis"] and item["source"] and item["entry"] for item in found["items"])


def test_no_law_has_no_limits(client: TestClient) -> None:
    assert read(client, "/v1/limits?market=none")["items"] == []


def test_the_limits_of_all_markets_come_in_pages(client: TestClient) -> None:
    first = read(client, "/v1/limits?limit=40")
    items, after = list(first["items"]), first["next"]
    while after:
        page = read(client, f"/v1/limits?limit=200&after={after}")
        items, after = items + page["items"], page["next"]
    places = [(item["market"], item["id"]) for item in items]
    assert places == sorted(places)
    assert len(set(places)) == sum(len(book.limits) for book in RULES.laws.values())


def test_frames_and_levels_are_there(client: TestClient) -> None:
    found = read(client, "/v1/frames")
    assert [frame["id"] for frame in found["items"]] == sorted(frame.id for frame in RULES.frames.frame)
    assert len(found["levels"]) == len(RULES.assessed.level)
    assert all(level["basis"] and level["source"] for level in found["levels"])


def test_health_tells_the_versions(client: TestClient) -> None:
    found = read(client, "/health")
    assert found["status"] == "ok"
    assert found["version"]
    assert found["solver"].startswith("HiGHS 1.")
