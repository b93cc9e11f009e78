"""The library can be searched, walked page by page, kept, and sent back as it came."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from advisor.rulebook.load import load_rulebook
from advisor.schema.material import Material

LIBRARY = load_rulebook().ingredients


def listed(client: TestClient, **query: Any) -> dict[str, Any]:
    answer = client.get("/v1/materials", params=query)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def keys(client: TestClient, **query: Any) -> list[str]:
    return [item["key"] for item in listed(client, limit=200, **query)["items"]]


@pytest.mark.parametrize("limit", [1, 7, 200])
def test_pages_hold_every_material_once(client: TestClient, limit: int) -> None:
    found: list[str] = []
    after: dict[str, str] = {}
    while True:
        page = listed(client, limit=limit, **after)
        assert len(page["items"]) <= limit
        found += [item["key"] for item in page["items"]]
        if page["next"] is None:
            break
        after = {"after": page["next"]}
    assert found == sorted(LIBRARY)


@pytest.mark.parametrize("part", ["betaine-30", "BETAINE", "cocamidopropyl betaine", "amidopropyl", " capb "])
def test_any_part_of_any_name_finds(client: TestClient, part: str) -> None:
    assert "betaine-30" in keys(client, q=part)


@pytest.mark.parametrize(
    ("part", "key"),
    [
        ("flour rice", "rice-flour"),
        ("flour rise", "rice-flour"),
        ("isethonate", "isethionate-powder"),
        ("kaolinn", "kaolin"),
        ("Glicérin", "glycerin"),
        ("Sodium-Cocoyl-Isethionate", "isethionate-powder"),
    ],
)
def test_order_accents_and_slips_of_the_finger_do_not_matter(client: TestClient, part: str, key: str) -> None:
    found = keys(client, q=part)
    assert key in found
    assert len(found) < 10
    assert not keys(client, q="xyzzy")


def test_a_role_narrows(client: TestClient) -> None:
    found = keys(client, role="preservative")
    assert found == [key for key in sorted(LIBRARY) if "preservative" in LIBRARY[key].material.roles]


def test_a_shop_without_notebook_has_no_materials_of_its_own(client: TestClient) -> None:
    assert keys(client, own="true") == []
    assert keys(client, own="false") == sorted(LIBRARY)


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ("limit=0", "?limit"),
        ("limit=201", "?limit"),
        ("limit=x", "?limit"),
        ("role=hero", "?role"),
        ("own=perhaps", "?own"),
        ("colour=red", "?colour"),
        ("limit=1&limit=2", "?limit"),
        (f"q={'a' * 201}", "?q"),
    ],
)
def test_a_wrong_query_is_named(client: TestClient, query: str, where: str) -> None:
    answer = client.get(f"/v1/materials?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["where"] == where


@pytest.mark.parametrize("key", LIBRARY)
def test_a_material_can_be_sent_back_as_it_came(client: TestClient, key: str) -> None:
    sent = client.get(f"/v1/materials/{key}").json()
    assert Material.model_validate(sent).model_dump() == LIBRARY[key].material.model_dump()
    recipe = {"lines": [{"material": key, "percent": 100}]}
    plain = client.post("/v1/assessments", json={"recipe": recipe})
    inline = client.post("/v1/assessments", json={"recipe": recipe, "materials": [sent]})
    assert (inline.status_code, inline.json()) == (
        plain.status_code,
        plain.json(),
    ) or plain.status_code != 200


def test_a_list_carries_materials_as_one_by_one(client: TestClient) -> None:
    for item in listed(client, limit=3)["items"]:
        assert item == client.get(f"/v1/materials/{item['key']}").json()
        assert None not in item.values()


@pytest.mark.parametrize(
    "address", ["/v1/materials/betaine-30", "/v1/materials?q=oil", "/v1/limits", "/v1/feels"]
)
def test_what_is_still_the_same_is_not_sent_again(client: TestClient, address: str) -> None:
    first = client.get(address)
    tag = first.headers["etag"]
    assert tag.startswith('"')
    again = client.get(address, headers={"if-none-match": f'"other", {tag}'})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    assert client.get(address, headers={"if-none-match": '"other"'}).content == first.content


@pytest.mark.parametrize("key", ["betain-30", "Betaine 30", "x" * 500, "%00", "..%2f..%2fetc", "ä"])
def test_an_unknown_key_is_not_found(client: TestClient, key: str) -> None:
    answer = client.get(f"/v1/materials/{key}")
    assert answer.status_code == 404
    assert answer.json()["code"] == "not-found"


def test_a_mistyped_key_is_told_what_comes_close(client: TestClient) -> None:
    assert "betaine-30" in client.get("/v1/materials/betain-30").json()["nearest_keys"]
