"""Costs against an example worked by hand to the cent, and what must add up whatever is asked."""

from typing import Any

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from helpers import ordinary

MATERIALS = [
    {
        "key": "powder",
        "name": "Powder",
        "form": "powder",
        "roles": ["filler"],
        "composition": {"P": 100},
        "price_per_kg": 10,
    },
    {
        "key": "brook-water",
        "name": "Brook water",
        "form": "liquid",
        "roles": ["water"],
        "composition": {"Aqua": 100},
        "price_per_kg": 2,
    },
]
ASKED = {
    "recipe": {"lines": [{"material": "powder", "percent": 70}, {"material": "brook-water", "percent": 30}]},
    "batch_grams": 1000,
    "dried_bar_grams": 60,
    "materials": MATERIALS,
    "per_bar": {"wrap": 0.15, "label": 0.10, "other": 0.05},
    "per_batch": {"work": 20, "other": 3},
    "factor": 2.5,
    "currency": "EUR",
}


def told(**changed: Any) -> dict[str, Any]:
    answer: dict[str, Any] = advisor.cost({**ASKED, **changed}).model_dump()
    return answer


def test_the_example_worked_by_hand() -> None:
    # Dough: 700 g at 10 a kg = 7.00, 300 g at 2 a kg = 0.60, together 7.60.
    # Lost: 2 % of 1 000 g + 2.5 g = 22.5 g; tests 30 g; 947.5 g become bars.
    # A bar: three quarters of 30 % water leave, so 77.5 % is left: 60 / 0.775 + 1.5 = 78.92 g of dough; 947.5 / 78.92 = 12.006.
    # Twelve bars, one kept, 3 % of eleven rejected: 10.67 sold. Wrap 1.6005, label 1.067, other 3 + 0.5335.
    # Batch: 7.60 + 20 + 1.60 + 1.07 + 3.53 = 33.80. A sold bar: 33.801 / 10.67 = 3.1679; at 2.5 times 3.17 = 7.925.
    answer = told()
    assert [(line["grams"], line["cost"]) for line in answer["lines"]] == [(700, 7.00), (300, 0.60)]
    assert answer["bars"] == 12
    assert answer["sold"]["sold"] == 10.67
    assert answer["sold"]["dough_grams_per_bar"] == 78.92
    assert answer["sold"]["loss_percent"] == 2.25
    batch = {"dough": 7.60, "work": 20.0, "wrap": 1.60, "label": 1.07, "other": 3.53, "total": 33.80}
    assert answer["per_batch"] == batch
    # 0.7123 + 1.8744 + 0.15 + 0.10 + 0.3312 = 3.1679: the cent that rounding leaves over goes to where most was cut off.
    bar = {"dough": 0.71, "work": 1.88, "wrap": 0.15, "label": 0.10, "other": 0.33, "total": 3.17}
    assert answer["per_bar"] == bar
    assert answer["price"] == pytest.approx(7.92, abs=0.011)
    assert answer["currency"] == "EUR"


@pytest.mark.parametrize("grams", [200, 700, 3000])
@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_lines_and_parts_add_up_to_the_cent(one, grams) -> None:
    asked = {**ASKED, "recipe": one.recipe(), "materials": [], "batch_grams": grams}
    answer = advisor.cost(asked)
    assert sum(line.cost for line in answer.lines) == pytest.approx(answer.per_batch.dough, abs=1e-9)
    for parts in (answer.per_batch, answer.per_bar):
        if parts is not None:
            rest = parts.model_dump()
            assert rest.pop("total") == pytest.approx(sum(rest.values()), abs=1e-9)
    shop = load_rulebook().ingredients
    by_hand = sum(shop[key].price * x * grams / 1e5 for key, x in one.lines.items())
    assert answer.per_batch.dough == pytest.approx(by_hand, abs=0.0051)


def test_a_batch_of_one_bar_sells_none() -> None:
    answer = told(batch_grams=150)
    assert (answer["bars"], answer["per_bar"], answer["price"]) == (1, None, None)
    assert "no-bar" in [note["id"] for note in answer["notes"]]


def test_what_has_no_price_is_named_and_left_out() -> None:
    free = [{**MATERIALS[0], "price_per_kg": None}, MATERIALS[1]]
    answer = told(materials=free)
    assert answer["unpriced"] == ("powder",)
    assert answer["lines"][0]["cost"] is None
    assert answer["per_batch"]["dough"] == 0.60
    assert "Powder" in next(note["text"] for note in answer["notes"] if note["id"] == "unpriced")


def test_a_told_loss_and_a_mixer_leave_fewer_bars() -> None:
    assert told(loss_percent=0)["sold"]["loss_percent"] == 0
    assert told(method="mixer")["sold"]["loss_percent"] == 5.5
    assert told(method="mixer")["bars"] < told(loss_percent=0)["bars"]


def test_what_moved_since_the_last_costing() -> None:
    answer = told(earlier_prices={"powder": 8, "brook-water": 2})
    # 700 g, 2 a kg dearer, shared by 10.67 bars: 0.1312.
    assert [(one["material"], one["per_bar"]) for one in answer["moved"]] == [("powder", 0.1312)]
    assert any("dearer by 0.13" in note["text"] for note in answer["notes"])
    with pytest.raises(advisor.AdvisorError) as refused:
        told(earlier_prices={"kaolin": 3})
    assert refused.value.problem()["errors"][0]["where"] == "/earlier_prices/kaolin"


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_a_told_price_goes_before_every_other_and_is_no_first_guess(one) -> None:
    asked = {**ASKED, "recipe": one.recipe(), "materials": [], "batch_grams": 1000}
    keys, guessed = list(one.lines), []
    for many in (0, 1, len(keys)):
        prices = {key: 3.0 + place for place, key in enumerate(keys[:many])}
        answer = advisor.cost({**asked, "prices": prices})
        per_kg = {line.material: line.price_per_kg for line in answer.lines}
        assert per_kg | prices == per_kg
        guessed.append(next((note.text for note in answer.notes if note.id == "first-guess"), None))
    assert "all materials" in guessed[0]
    assert guessed[1] and "all materials" not in guessed[1]
    assert guessed[2] is None
    by_hand = sum((3.0 + place) * one.lines[key] / 100 for place, key in enumerate(keys))
    assert answer.per_batch.dough == pytest.approx(by_hand, abs=0.0051)


def test_a_price_of_what_is_not_in_the_recipe_is_refused() -> None:
    with pytest.raises(advisor.AdvisorError) as refused:
        told(prices={"kaolin": 3})
    assert refused.value.problem()["errors"][0]["where"] == "/prices/kaolin"


def test_the_price_of_a_lot_goes_first() -> None:
    from advisor.recipe.notebook import Notebook
    from advisor.schema.lot import Lot

    book = load_rulebook()
    lots = {("kaolin", "K-1"): Lot(price_per_kg=9.0)}
    notebook = Notebook(book.dough, book.ingredients, lots=lots)
    lines = [{"material": "kaolin", "percent": 50, "lot": "K-1"}, {"material": "water", "percent": 50}]
    asked = {"recipe": {"lines": lines}, "batch_grams": 1000, "dried_bar_grams": 60}
    assert advisor.cost(asked, notebook=notebook).lines[0].cost == 4.50
    assert advisor.cost(asked).lines[0].cost == 2.00


@pytest.mark.parametrize(
    "field",
    [
        "batch_grams",
        "dried_bar_grams",
        "loss_percent",
        "method",
        "per_bar",
        "per_batch",
        "factor",
        "currency",
    ],
)
def test_every_field_counts(field) -> None:
    other = {
        "batch_grams": 2000,
        "dried_bar_grams": 90,
        "loss_percent": 10,
        "method": "mixer",
        "per_bar": {},
        "per_batch": {},
    }
    changed = told(**{field: {**other, "factor": 3.0, "currency": "GBP"}[field]})
    assert changed != told()
