"""A day's list is the sum of its weigh sheets; its order is the best of all; nothing depends on how it was asked."""

import itertools
from typing import Any

import pytest

import advisor
from helpers import ordinary, swap_judge

DAYS = [ordinary.RECIPES[i : i + 4] for i in range(0, 20, 4)]


def batch(one: ordinary.Ordinary, grams: float = 500.0, step: float = 0.1) -> dict[str, Any]:
    return {"recipe": one.recipe(), "batch_grams": grams, "balance_step": step}


def planned(day: Any, **asked: Any) -> dict[str, Any]:
    told: dict[str, Any] = advisor.plan_day({"batches": [batch(one) for one in day], **asked}).model_dump()
    return told


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day[0].name)
def test_the_list_adds_up_to_the_weigh_sheets(day) -> None:
    told = planned(day)
    sheets = [advisor.weigh(batch(one)) for one in day]
    for material in told["materials"]:
        key = material["material"]
        by_sheet = {
            i: line.grams for i, sheet in enumerate(sheets) for line in sheet.lines if line.material == key
        }
        assert {portion["batch"]: portion["grams"] for portion in material["portions"]} == by_sheet
        assert material["grams"] == pytest.approx(sum(by_sheet.values()), abs=1e-6)
    whole = sum(material["grams"] for material in told["materials"])
    assert whole == pytest.approx(sum(sheet.total_grams for sheet in sheets), abs=1e-6)
    phased = [line["grams"] for phase in told["phases"] for line in phase["lines"]]
    assert sum(phased) == pytest.approx(whole, abs=1e-6)


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day[0].name)
def test_a_caution_stands_once_with_the_materials_of_all_batches(day) -> None:
    told = {one["id"]: one["text"] for one in planned(day)["cautions"]}
    assert len(told) == len(planned(day)["cautions"])
    for one in day:
        for caution in advisor.weigh(batch(one)).cautions:
            names = caution.text.partition(" as supplied")[0].replace(" and ", ", ").split(", ")
            assert caution.id in told
            assert caution.id != "eyes" or all(name in told["eyes"] for name in names)


def cost(before: ordinary.Ordinary, after: ordinary.Ordinary) -> float:
    """What one batch leaves to the next, reckoned from the rules files alone."""
    rules = swap_judge.table("day.toml")["carried"]
    total = 0.0
    for key in set(before.lines) - set(after.lines):
        block = swap_judge.library()[key]
        roles = block["roles"]
        scent = "scent" if "fragrance" in roles else "allergen" if block.get("allergens") else "other"
        total += rules["colour" if "colourant" in roles else scent]
    return total


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day[0].name)
def test_no_other_order_dirties_less(day) -> None:
    def whole(order: Any) -> float:
        return sum(cost(day[a], day[b]) for a, b in itertools.pairwise(order))

    order = [step["batch"] for step in planned(day)["order"]]
    assert sorted(order) == list(range(len(day)))
    assert whole(order) == pytest.approx(min(map(whole, itertools.permutations(range(len(day))))), abs=1e-6)


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day[0].name)
def test_the_plan_does_not_depend_on_the_order_of_asking(day) -> None:
    names = [step["name"] for step in planned(day)["order"]]
    assert names == [step["name"] for step in planned(day[::-1])["order"]]


def test_what_is_carried_is_named_where_it_does_not_belong() -> None:
    scented, plain = ordinary.RECIPES[2], ordinary.RECIPES[3]
    order = planned([scented, plain])["order"]
    assert [step["name"] for step in order] == [plain.name, scented.name]
    assert order[0]["carried"] == ()
    assert "lavender-oil" not in order[1]["carried"]


def test_the_same_fats_go_into_one_pot_and_others_into_one_bath() -> None:
    same = planned([ordinary.RECIPES[3], ordinary.RECIPES[3]])["melt"]
    assert same["together"]
    assert sum(line["grams"] for line in same["lines"]) == pytest.approx(
        sum(portion["grams"] for portion in same["portions"])
    )
    other = planned([ordinary.RECIPES[3], ordinary.RECIPES[12]])["melt"]
    assert not other["together"]
    hottest = max(
        step.temperature_c or 0
        for one in (3, 12)
        for step in advisor.weigh(batch(ordinary.RECIPES[one])).steps
    )
    assert other["temperature_c"] == hottest


def test_a_lot_must_do_for_all_batches_together() -> None:
    from advisor.recipe.notebook import Notebook
    from advisor.rulebook.load import load_rulebook
    from advisor.schema.lot import Lot

    book = load_rulebook()
    notebook = Notebook(book.dough, book.ingredients, lots={("kaolin", "K-1"): Lot(stock_grams=90.0)})
    lines = [{"material": "kaolin", "percent": 60, "lot": "K-1"}, {"material": "betaine-30", "percent": 40}]
    one = {"recipe": {"name": "A", "lines": lines}, "batch_grams": 100, "balance_step": 0.1}
    two = {**one, "recipe": {"name": "B", "lines": lines}}
    alone = advisor.plan_day({"batches": [one]}, notebook=notebook)
    both = advisor.plan_day({"batches": [one, two]}, notebook=notebook)
    assert "lot-too-little" not in {caution.id for caution in alone.cautions}
    assert "120 g are wanted" in next(c.text for c in both.cautions if c.id == "lot-too-little")


def test_all_lots_together_must_do_for_all_batches_where_none_is_named() -> None:
    lots = [{"material": "kaolin", "lot": f"K-{place}", "stock_grams": 45} for place in (1, 2)]
    notebook = advisor.remember({"format": 1, "lots": lots})
    lines = [{"material": "kaolin", "percent": 60}, {"material": "betaine-30", "percent": 40}]
    batches = [
        {"recipe": {"name": name, "lines": lines}, "batch_grams": 100, "balance_step": 0.1} for name in "AB"
    ]
    for some, told in ((batches[:1], []), (batches, ["90 g, and 120 g are wanted"])):
        cautions = advisor.plan_day({"batches": some}, notebook=notebook).cautions
        said = [one.text for one in cautions if one.id == "stock-too-little"]
        assert [one.partition("hold ")[2].partition(":")[0] for one in said] == told


def test_a_fault_names_its_batch_and_a_day_has_twelve_batches() -> None:
    one = batch(ordinary.RECIPES[0])
    wrong = {**one, "recipe": {"lines": [{"material": "moon-dust", "percent": 100}]}}
    with pytest.raises(advisor.AdvisorError) as refused:
        advisor.plan_day({"batches": [one, wrong]})
    assert refused.value.problem()["errors"][0]["where"] == "/batches/1/recipe/lines/0/material"
    with pytest.raises(advisor.AdvisorError):
        advisor.plan_day({"batches": [one] * 13})
    assert len(advisor.plan_day({"batches": [one] * 12}).order) == 12
