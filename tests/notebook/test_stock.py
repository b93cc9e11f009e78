"""A lot holds less once a dough of it is kept, as much again once that is forgotten, and never less than nothing."""

import datetime
import random
from typing import Any

import pytest
from fastapi.testclient import TestClient

import advisor
from api.notebook.access import ShopAccess

from .conftest import dough, recipe

LOT = "/v1/materials/kaolin/lots/K-1"


def stock(client: TestClient) -> float:
    return float(client.get(LOT).json()["stock_grams"])


def of_lot(**more: Any) -> dict[str, Any]:
    return dough(lots={"kaolin": "K-1"}, batch_grams=1000.0, **more)


def keep(client: TestClient, grams: float | None = 500.0, tag: str | None = None, **more: Any) -> Any:
    body = {name: value for name, value in {"stock_grams": grams, **more}.items() if value is not None}
    return client.put(LOT, json=body, headers={} if tag is None else {"If-Match": tag})


@pytest.mark.parametrize(
    ("more", "taken"),
    [
        ({}, 120.0),
        ({"weighed": {"kaolin": 118.3}}, 118.3),
        ({"added": [{"material": "kaolin", "grams": 7.25}]}, 127.25),
        ({"batch_grams": 10_000.0}, 500.0),
        ({"batch_grams": None}, 0.0),
    ],
)
def test_it_falls_by_what_was_weighed_and_undo_gives_it_back(
    client: TestClient, more: dict[str, Any], taken: float
) -> None:
    keep(client)
    made = client.post("/v1/doughs", json={**of_lot(), **more})
    assert made.status_code == 201
    assert stock(client) == pytest.approx(500.0 - taken, abs=1e-9)
    gone = client.delete(f"/v1/doughs/{made.json()['id']}", headers={"If-Match": "*"})
    assert (gone.status_code, stock(client)) == (204, 500.0)


def test_a_dough_that_changes_takes_what_it_then_says(client: TestClient) -> None:
    keep(client)
    made = client.post("/v1/doughs", json=of_lot())
    place = f"/v1/doughs/{made.json()['id']}"
    for body, left in (
        ({**made.json(), "outcome": "workable"}, 380.0),
        ({**made.json(), "weighed": {"kaolin": 130.0}}, 370.0),
        ({**made.json(), "lots": {"kaolin": "K-2"}}, 500.0),
    ):
        assert client.put(place, json=body, headers={"If-Match": "*"}).status_code == 200
        assert stock(client) == left


def test_asked_again_under_one_name_it_falls_once(client: TestClient) -> None:
    keep(client)
    for _ in range(3):
        client.post("/v1/doughs", json=of_lot(), headers={"Idempotency-Key": "one"})
    assert stock(client) == 380.0


def test_a_stock_counted_anew_is_what_it_is(client: TestClient) -> None:
    keep(client)
    made = client.post("/v1/doughs", json=of_lot()).json()
    tag = client.get(LOT).headers["etag"]
    keep(client, 380.0, tag, price_per_kg=2.5)
    counted = keep(client, 410.0, client.get(LOT).headers["etag"], price_per_kg=2.5)
    assert counted.status_code == 200
    client.delete(f"/v1/doughs/{made['id']}", headers={"If-Match": "*"})
    assert stock(client) == 410.0


def test_a_price_changed_meanwhile_is_no_count(client: TestClient) -> None:
    keep(client)
    made = client.post("/v1/doughs", json=of_lot()).json()
    keep(client, 380.0, client.get(LOT).headers["etag"], price_per_kg=2.5)
    client.delete(f"/v1/doughs/{made['id']}", headers={"If-Match": "*"})
    assert stock(client) == 500.0


def test_an_import_takes_nothing_twice_and_undo_still_gives_back(client: TestClient) -> None:
    keep(client)
    made = client.post("/v1/doughs", json=of_lot()).json()
    out = client.get("/v1/notebook")
    assert out.json()["taken"] == [{"dough": made["id"], "material": "kaolin", "lot": "K-1", "grams": 120.0}]
    tables = client.get("/v1/notebook", headers={"Accept": "application/zip"}).content
    for body in ({"json": out.json()}, {"content": tables, "headers": {"Content-Type": "application/zip"}}):
        headers = {**body.pop("headers", {}), "If-Match": client.get("/v1/notebook").headers["etag"]}
        assert client.put("/v1/notebook", headers=headers, **body).status_code == 200
        assert (stock(client), client.get("/v1/notebook").content) == (380.0, out.content)
    wrong = {**out.json(), "taken": [{**out.json()["taken"][0], "lot": "K-9"}]}
    told = client.put("/v1/notebook", json=wrong, headers={"If-Match": out.headers["etag"]}).json()
    assert (told["code"], told["errors"][0]["where"]) == ("invalid-request", "/taken/0")
    client.delete(f"/v1/doughs/{made['id']}", headers={"If-Match": "*"})
    assert stock(client) == 500.0


def test_the_stock_tells_what_lies_there_and_what_is_planned(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ShopAccess, "today", datetime.date(2031, 3, 9))
    keep(client, expires="2033-03-01")
    client.put("/v1/materials/kaolin/lots/K-2", json={})
    client.post("/v1/doughs", json=of_lot(made_on="2031-03-09"))
    client.post("/v1/doughs", json=of_lot(made_on="2031-03-12"))
    found = client.get("/v1/stock").json()["items"]
    assert [(one["lot"], one["on_hand"], one["reserved"]) for one in found] == [
        ("K-1", 380.0, 120.0),
        ("K-2", None, 0.0),
    ]
    assert (found[0]["name"], found[0]["expires"]) == ("Kaolin, white", "2033-03-01")
    first = client.get("/v1/stock", params={"limit": 1}).json()
    rest = client.get("/v1/stock", params={"after": first["next"]}).json()
    assert [*first["items"], *rest["items"]] == found


WEIGHED = [{"hours": h, "grams": g} for h, g in ((0, 80.0), (24, 74.2), (48, 71.5), (96, 69.1), (120, 68.8))]


def test_the_dates_on_the_rack_are_those_of_the_drying_curve(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ShopAccess, "today", datetime.date(2031, 3, 10))
    for weighings in ([], WEIGHED[:2], WEIGHED[:3], WEIGHED):
        made = {"recipe": recipe(), "made_on": "2031-03-09", "drying": weighings}
        kept = client.post("/v1/doughs", json=made).json()
        one = next(one for one in client.get("/v1/rack").json()["items"] if one["id"] == kept["id"])
        dried = advisor.dry({"weighings": weighings, "recipe": recipe(), "made_on": "2031-03-09"})
        hours = dried.hours_to_dry
        days = [
            (datetime.date.fromisoformat(one["dates"]["sell"][end]) - datetime.date(2031, 3, 9)).days
            for end in ("earliest", "typical", "latest")
        ]
        for day, end in zip(days, (hours.low, hours.typical, hours.high), strict=True):
            assert max(2 * 24, end) <= 24 * day + 0.06 < max(2 * 24, end) + 24.1
        assert one["dates"]["wrap"] == one["dates"]["sell"]["typical"]
        assert one["basis"] == dried.basis and one["weighings"] == len(weighings)


def test_a_missed_weighing_only_widens_the_dates(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ShopAccess, "today", datetime.date(2031, 3, 14))

    missed = [WEIGHED[:at] + WEIGHED[at + 1 :] for at in range(1, len(WEIGHED))]
    for weighings in ([], WEIGHED[:2], WEIGHED, WEIGHED[:3], *missed):
        client.post("/v1/doughs", json={"recipe": recipe(), "made_on": "2031-03-09", "drying": weighings})
    order = [dough["id"] for dough in client.get("/v1/doughs").json()["items"]]
    widths: dict[str, int] = {}
    for one in client.get("/v1/rack").json()["items"]:
        sell = {end: datetime.date.fromisoformat(day) for end, day in one["dates"]["sell"].items()}
        assert sell["earliest"] <= sell["typical"] <= sell["latest"]
        widths[one["id"]] = (sell["latest"] - sell["earliest"]).days
    none, two, whole, *fewer = (widths[name] for name in order)
    assert none == two > whole
    assert all(width >= whole - 1 for width in fewer)


def test_the_rack_says_what_to_do_today(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    made = {"recipe": {"name": "Weir bar", **recipe()}, "made_on": "2031-03-09"}
    client.post("/v1/doughs", json=made)
    client.post("/v1/doughs", json={**made, "packed_grams": 900.0})
    client.post("/v1/doughs", json={"recipe": recipe()})
    client.post(
        "/v1/doughs",
        json={**made, "drying": [{"hours": h, "grams": g} for h, g in ((0, 80), (24, 85), (48, 90))]},
    )
    done = {}
    for day in (8, 9, 10, 11, 30):
        monkeypatch.setattr(ShopAccess, "today", datetime.date(2031, 3, day))
        rack = client.get("/v1/rack").json()
        done[day] = [one["do"] for one in rack["today"]]
    assert done == {8: [], 9: [], 10: ["turn", "weigh"] * 2, 11: ["weigh"] * 2, 30: ["sell"] * 2}
    assert rack["notes"][0]["text"].startswith("The weighings of Weir bar of 2031-03-09 were left out: ")
    monkeypatch.setattr(ShopAccess, "today", datetime.date(2031, 9, 9))
    assert client.get("/v1/rack").json()["items"] == []


@pytest.mark.parametrize("seed", range(2))
def test_whatever_is_kept_changed_and_forgotten_the_lots_add_up(client: TestClient, seed: int) -> None:
    """Hold random work in a notebook against a count kept beside it: stock, what each dough took, what is due."""
    draw = random.Random(seed)
    held: dict[str, float] = {}
    took: dict[str, tuple[str, float]] = {}

    def wanted() -> tuple[str, float, dict[str, Any]]:
        lot, grams = draw.choice(("K-1", "K-2", "K-3")), round(draw.uniform(1, 400), draw.randrange(5))
        sent = draw.choice(({"weighed": {"kaolin": grams}}, {"batch_grams": round(grams / 0.12, 3)}))
        used = grams if "weighed" in sent else 0.12 * sent["batch_grams"]
        return lot, used, {**dough(lots={"kaolin": lot}), **sent}

    def take(name: str, lot: str, used: float) -> None:
        taken = round(min(held[lot], used), 4) if lot in held else 0.0
        took[name] = lot, taken
        if lot in held:
            held[lot] -= taken

    def give_back(name: str) -> None:
        lot, taken = took.pop(name)
        if lot in held:
            held[lot] += taken

    for _ in range(40):
        work = draw.choice(("count", "make", "make", "change", "forget", "lose"))
        name = draw.choice(sorted(took)) if took else ""
        lot = draw.choice(("K-1", "K-2", "K-3"))
        place = f"/v1/materials/kaolin/lots/{lot}"
        match = {"If-Match": "*"} if lot in held else {}
        if work == "count":
            held[lot] = round(draw.uniform(0, 900), 2)
            assert client.put(place, json={"stock_grams": held[lot]}, headers=match).status_code < 300
            took.update({one: (of, 0.0) for one, (of, _) in took.items() if of == lot})
        elif work == "make":
            lot, used, body = wanted()
            take(client.post("/v1/doughs", json=body).json()["id"], lot, used)
        elif work == "change" and name:
            lot, used, body = wanted()
            give_back(name)
            sent = client.put(f"/v1/doughs/{name}", json=body, headers={"If-Match": "*"})
            assert sent.status_code == 200
            take(name, lot, used)
        elif work == "forget" and name:
            give_back(name)
            gone = client.delete(f"/v1/doughs/{name}", headers={"If-Match": "*"})
            assert gone.status_code == 204
        elif work == "lose" and lot in held and draw.random() < 0.3:
            del held[lot]
            assert client.delete(place, headers={"If-Match": "*"}).status_code == 204
            took.update({one: (of, 0.0) for one, (of, _) in took.items() if of == lot})
        told = {one["lot"]: one["on_hand"] for one in client.get("/v1/stock").json()["items"]}
        assert told == pytest.approx(held, abs=1e-3) and all(grams >= 0 for grams in told.values())
