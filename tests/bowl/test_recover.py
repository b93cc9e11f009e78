"""Recoveries: exact scaling, the smallest addition, what is not mixed yet, and what does not belong."""

import random
from typing import Any

import pytest

import advisor
from advisor.bowl.schema import Recovery
from advisor.errors import InvalidRecipe, InvalidRequest, UnknownMaterial
from advisor.rulebook.load import load_rulebook
from helpers import makers
from helpers.counts import counted
from helpers.long_recipes import long_recipe

MATERIALS = load_rulebook().ingredients
LINES = {
    "isethionate-powder": 50.0,
    "kaolin": 15.0,
    "rice-flour": 10.0,
    "betaine-30": 18.0,
    "sunflower-oil": 4.0,
    "glycerin": 3.0,
}


def body(**changed: Any) -> dict[str, Any]:
    lines = changed.pop("lines", LINES)
    return {
        "recipe": {"name": "Ferry bar", "lines": [{"material": k, "percent": p} for k, p in lines.items()]},
        "batch_grams": 100,
        "weighed": {**LINES, "betaine-30": 19.5},
        "mixed": True,
        "balance_step": 0.001,
        **changed,
    }


def added(way: Recovery) -> dict[str, float]:
    return {line.material: line.grams for line in way.additions}


def test_the_smallest_way_adds_less_and_keeps_every_band() -> None:
    answer = advisor.recover(body())
    assert answer.smallest.batch_grams < answer.exact.batch_grams
    assert not answer.smallest.shortfalls
    assert all(check.ok for check in answer.smallest.checks if check.kind != "advice")


def test_a_slip_within_the_bands_needs_nothing() -> None:
    answer = advisor.recover(body(weighed={**LINES, "kaolin": 15.4}))
    assert not answer.smallest.additions
    assert answer.exact.additions


def test_other_lines_are_still_to_come() -> None:
    answer = advisor.recover(body(weighed={"betaine-30": 19.5}, balance_step=0.1))
    assert set(added(answer.exact)) == set(LINES) - {"betaine-30"}
    assert added(answer.exact)["isethionate-powder"] == pytest.approx(50 * 19.5 / 18, abs=0.06)
    why = {line.material: line.why for line in answer.smallest.additions}
    assert why["kaolin"] == "Still to come, as planned."
    assert added(answer.smallest)["kaolin"] == 15.0
    assert "planned" in {item.id for item in answer.advice}


def test_several_slips_scale_by_the_worst() -> None:
    answer = advisor.recover(body(weighed={**LINES, "betaine-30": 19.8, "glycerin": 3.6}))
    assert answer.exact.batch_grams == pytest.approx(120.0, abs=0.003)
    assert added(answer.exact)["betaine-30"] == pytest.approx(1.8, abs=1e-9)


def test_nothing_mixed_is_taken_out() -> None:
    answer = advisor.recover(body(mixed=False))
    assert [(line.material, line.grams) for line in answer.take_out] == [("betaine-30", 1.5)]
    assert (answer.exact.additions, answer.exact.batch_grams) == ((), 100.0)
    assert {line.material: line.percent for line in answer.exact.recipe.lines} == LINES
    assert "take out 1.5 g" in answer.advice[0].text


def test_nothing_mixed_and_nothing_too_much_is_weighed_on() -> None:
    answer = advisor.recover(body(mixed=False, weighed={"kaolin": 14.0}))
    assert added(answer.exact) == {"kaolin": 1.0}
    assert not answer.take_out
    assert answer.advice[0].id == "take-out-nothing"


def test_a_material_of_another_recipe_stays_in_and_is_named() -> None:
    weighed = {**LINES, "chalk-ground": 4.0, "citric-acid": 0.5}
    lines = {**LINES, "isethionate-powder": 49.5, "citric-acid": 0.5}
    answer = advisor.recover(body(lines=lines, weighed={**weighed, "isethionate-powder": 49.5}))
    percents = {line.material: line.percent for line in answer.exact.recipe.lines}
    assert percents["chalk-ground"] == pytest.approx(100 * 4 / 104, abs=1e-3)
    assert "foreign" in {item.id for item in answer.advice}
    assert "pair:acid-with-carbonate" in {caution.id for caution in answer.cautions}


def test_what_does_not_belong_is_taken_out_while_it_can_be() -> None:
    answer = advisor.recover(body(mixed=False, weighed={"citric-acid": 2.0}))
    assert [(line.material, line.grams) for line in answer.take_out] == [("citric-acid", 2.0)]


SOUR = {**LINES, "isethionate-powder": 49.5, "citric-acid": 0.5}


def sour(over: float = 0.3, **changed: Any) -> dict[str, Any]:
    return body(lines=SOUR, weighed={**SOUR, "citric-acid": 0.5 + over}, **changed)


def test_too_much_acid_is_measured_first_and_then_taken_up() -> None:
    # By hand: 0.3 g of 99.5 % citric acid / 192.1 x 1.8 = 2.797 mmol; bicarbonate 84.0: 0.235 g, a third 0.0783.
    answer = advisor.recover(sour(shelf=["lye-10", "sodium-citrate", "bicarbonate"]))
    assert [item.id for item in answer.advice[:3]] == ["measure-first", "neutralise", "gasses"]
    assert answer.advice[-1].id == "scaled"
    assert added(answer.smallest) == {"bicarbonate": pytest.approx(0.0783, abs=1e-3)}
    assert "citric acid" in answer.smallest.additions[0].why.casefold()
    assert answer.exact.batch_grams == pytest.approx(160.0, abs=0.01)
    assert {short.demand for short in answer.smallest.shortfalls} >= {"amount of Citric acid"}


@pytest.mark.parametrize(
    ("shelf", "taken"),
    [
        (["lye-10", "sodium-citrate"], "sodium-citrate"),
        (["lye-10"], "lye-10"),
        (["glycerin"], None),
    ],
)
def test_what_takes_acid_up_is_the_mildest_at_hand(shelf: list[str], taken: str | None) -> None:
    answer = advisor.recover(sour(shelf=shelf))
    assert set(added(answer.smallest)) == ({taken} if taken else set())
    assert ("nothing-neutralises" in {item.id for item in answer.advice}) == (taken is None)


@pytest.mark.parametrize(
    ("ph", "preservative", "fine"),
    [
        (4.4, "phenoxyethanol-blend", False),
        (4.6, "phenoxyethanol-blend", True),
        (6.9, "phenoxyethanol-blend", True),
        (4.4, "sodium-benzoate", False),
        (5.4, "sodium-benzoate", True),
    ],
)
def test_a_batch_whose_ph_is_right_goes_on(ph: float, preservative: str, fine: bool) -> None:
    lines = {**SOUR, "isethionate-powder": 49.0, preservative: 0.5}
    asked = body(lines=lines, weighed={**lines, "citric-acid": 0.8}, ph=ph, shelf=["bicarbonate"])
    answer = advisor.recover(asked)
    ids = {item.id for item in answer.advice}
    assert ("fine-as-it-is" in ids) == fine
    assert ("neutralise-now" in ids) == (not fine)
    assert "measure-first" not in ids
    assert bool(added(answer.smallest)) == (not fine)


def test_too_much_alkali_is_taken_up_by_acid_and_a_high_ph_is_not_fine() -> None:
    lines = {**LINES, "isethionate-powder": 49.5, "lye-10": 0.5}
    asked = body(lines=lines, weighed={**lines, "lye-10": 1.5}, shelf=["citric-acid"], ph=8.0)
    answer = advisor.recover(asked)
    # 0.1 g of lye / 40.0 = 2.5 mmol; citric acid 192.1 / 1.8 / 0.995: 0.268 g, a third 0.089.
    assert added(answer.smallest) == {"citric-acid": pytest.approx(0.0894, abs=1e-3)}
    with_acid_preservative = {**lines, "isethionate-powder": 49.0, "sodium-benzoate": 0.5}
    for ph, fine in ((5.4, True), (6.5, False)):
        changed = {"lines": with_acid_preservative, "weighed": {**with_acid_preservative, "lye-10": 1.5}}
        answer = advisor.recover({**body(**changed, shelf=["citric-acid"]), "ph": ph})
        assert ("fine-as-it-is" in {item.id for item in answer.advice}) == fine


def test_a_ph_read_in_another_dispersion_does_not_count() -> None:
    told = advisor.recover(sour(ph=5.0, ph_at_percent=1.0, shelf=["bicarbonate"]))
    assert {"not-alike", "measure-first"} <= {item.id for item in told.advice}
    assert "fine-as-it-is" in {item.id for item in advisor.recover(sour(ph=5.0, ph_at_percent=10.0)).advice}


def test_a_limit_of_the_law_comes_before_the_bands() -> None:
    lines = {**LINES, "isethionate-powder": 49.1, "phenoxyethanol-blend": 0.9}
    answer = advisor.recover(
        body(lines=lines, weighed={**lines, "phenoxyethanol-blend": 1.3}, wishes={"market": "eu"})
    )
    assert all(check.ok for check in answer.smallest.checks if check.kind == "law")


@pytest.mark.parametrize("block", range(4))
def test_generated_slips(block: int) -> None:
    for seed in range(block * 50, block * 50 + 50):
        rng = random.Random(seed)
        recipe, batch, step = makers.recipe(seed), rng.choice([100, 500, 2000]), rng.choice([0.01, 0.1])
        planned = {line["material"]: line["percent"] * batch / 100 for line in recipe["lines"]}
        weighed = {key: round(grams, 2) for key, grams in planned.items() if rng.random() < 0.8}
        slip = rng.choice(sorted(planned))
        weighed[slip] = round(planned[slip] * rng.uniform(1.02, 1.3), 2)
        answer = advisor.recover(
            {"recipe": recipe, "batch_grams": batch, "weighed": weighed, "mixed": True, "balance_step": step}
        )
        scale = max(1.0, *(weighed.get(key, 0.0) / grams for key, grams in planned.items()))
        for way in (answer.exact, answer.smallest):
            total = sum(weighed.values()) + sum(added(way).values())
            assert way.batch_grams == pytest.approx(total, abs=1e-5), seed
            assert sum(line.percent for line in way.recipe.lines) == pytest.approx(100, abs=1e-9), seed
            for line in way.additions:
                assert line.grams / step == pytest.approx(round(line.grams / step), abs=1e-6), seed
                assert line.grams > 0, seed
            missed = {check.name for check in way.checks if not check.ok and check.kind != "advice"}
            told = {short.demand for short in way.shortfalls}
            assert missed <= told <= {check.name for check in way.checks if not check.ok}, seed
        assert answer.exact.batch_grams == pytest.approx(scale * batch, abs=len(planned) * step), seed
        assert answer.smallest.batch_grams <= answer.exact.batch_grams + len(planned) * step, seed


def test_the_order_of_lines_does_not_matter() -> None:
    turned = dict(reversed(LINES.items()))
    first, second = advisor.recover(body()), advisor.recover(body(lines=turned))
    assert added(first.smallest) == added(second.smallest)
    assert added(first.exact) == added(second.exact)


def test_the_order_of_lines_changes_no_bound_and_no_reason() -> None:
    for number in range(30):
        shares = {line["material"]: line["percent"] for line in makers.recipe(number)["lines"]}
        largest = max(shares, key=shares.__getitem__)
        shares[largest] = round(shares[largest] - 2.1, 2)
        parts = list((shares | {"sodium-benzoate": 1.0, "benzyl-alcohol-blend": 1.1}).items())
        weighed = {key: 5 * x for key, x in parts} | {parts[0][0]: 7 * parts[0][1]}
        found = []
        for turned in (parts, parts[::-1], sorted(parts)):
            recipe = {"lines": [{"material": key, "percent": x} for key, x in turned]}
            batch = {"batch_grams": 500.0, "mixed": True, "balance_step": 0.1, "weighed": weighed}
            answer = advisor.recover({"recipe": recipe, **batch})
            checks = {(one.name, one.min, one.max) for one in answer.exact.checks}
            found.append((checks, {(one.material, one.why_figures) for one in answer.smallest.additions}))
        assert found[0] == found[1] == found[2], number


@pytest.mark.parametrize(
    "changed",
    [
        {"lines": {**LINES, "kaolin": 14.0, "rice-flour": 11.0}},
        {"batch_grams": 101},
        {"weighed": {**LINES, "betaine-30": 20.0}},
        {"mixed": False},
        {"balance_step": 0.1},
        {"wishes": {"active": {"min": 47.0}}},
        {"shelf": ["bentonite-sodium"]},
        {"materials": [{"key": "kaolin", "name": "Pale clay", "form": "powder", "roles": ["filler"],
                        "composition": {"Kaolin": 100}, "uptake": 0.8}]},
    ],
)  # fmt: skip
def test_every_field_changes_the_answer_somewhere(changed: dict[str, Any]) -> None:
    plain, other = advisor.recover(body()).model_dump(), advisor.recover(body(**changed)).model_dump()
    assert plain != other


@pytest.mark.parametrize(
    ("wrong", "error", "where"),
    [
        ({"weighed": {}}, InvalidRequest, "/weighed"),
        ({"weighed": {"kaolinn": 3}}, UnknownMaterial, "/weighed/kaolinn"),
        ({"mixed": "yes"}, InvalidRequest, "/mixed"),
        ({"batch_grams": 0}, InvalidRequest, "/batch_grams"),
        ({"recipe": {"lines": [{"material": "kaolin", "percent": 90}]}}, InvalidRecipe, "/recipe/lines"),
    ],
)
def test_a_wrong_request_is_refused_with_its_place(wrong: dict[str, Any], error: type, where: str) -> None:
    with pytest.raises(error) as refused:
        advisor.recover({**body(), **wrong})
    assert refused.value.problem()["errors"][0]["where"] == where


def test_what_is_in_the_bowl_at_last_may_be_more_than_a_request_may_ask_about() -> None:
    lines = [("isethionate-powder", 60), ("kaolin", 10), ("betaine-30", 30)]
    slip = {
        "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in lines]},
        "batch_grams": 1e6,
        "weighed": {"isethionate-powder": 6e5, "kaolin": 1e6, "betaine-30": 3e5},
        "mixed": True,
        "balance_step": 0.1,
    }
    assert advisor.recover(slip).exact.batch_grams == 1e7
    percents, own = long_recipe(200, 4)
    weighed = {key: percent * 10 for key, percent in percents.items()}
    foreign = [{**one, "key": f"foreign-{at}", "name": f"Foreign {at}"} for at, one in enumerate(own[:3])]
    strange = {
        "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in percents.items()]},
        "batch_grams": 1000,
        "weighed": dict([*list(weighed.items())[3:], *((one["key"], 5) for one in foreign)]),
        "mixed": True,
        "balance_step": 0.1,
        "materials": [*own, *foreign],
    }
    assert len(advisor.recover(strange).exact.recipe.lines) == 203


@pytest.mark.parametrize("lines", [33, 48, 70])
def test_many_additions_in_whole_steps_are_counted(lines: int) -> None:
    percents, own = long_recipe(lines, 1)
    exact = {key: round(percent) + 1 for key, percent in percents.items()}
    slip = {
        "recipe": {"lines": [{"material": key, "grams": grams} for key, grams in exact.items()]},
        "batch_grams": sum(exact.values()),
        "weighed": {"kaolin": 2 * exact["kaolin"]},
        "mixed": True,
        "balance_step": 1,
        "materials": own,
    }
    answer = advisor.recover(slip)
    assert len(answer.exact.additions) == lines - 1


@pytest.mark.parametrize("factor", [1.2, 1.5])
def test_the_least_addition_fills_up_with_no_fat_humectant_or_salt_and_says_why_what_is_held_comes(
    factor: float,
) -> None:
    kinds = {"structurant", "emollient", "humectant"}
    held = seen = 0
    for number in range(20):
        amounts = {line["material"]: line["percent"] for line in makers.recipe(number)["lines"]}
        shares = {key: 0.93 * x for key, x in amounts.items()} | {"sodium-chloride": 4.0, "lavender-oil": 1.0}
        shares |= {"xanthan-gum": 1.0, "citric-acid": 1.0}
        weighed = {key: round(5 * x, 2) for key, x in shares.items()}
        slip = list(shares)[number % len(shares)]
        weighed[slip] = round(weighed[slip] * factor, 2)
        lines = [{"material": key, "grams": 5 * x} for key, x in shares.items()]
        batch = {"batch_grams": 500.0, "mixed": True, "balance_step": 0.01, "weighed": weighed}
        way = advisor.recover({"recipe": {"lines": lines}, **batch}).smallest
        for line in way.additions:
            one = MATERIALS[line.material].material
            if one.roles[0] in kinds or line.material == "sodium-chloride":
                share = 100 * (weighed[line.material] + line.grams) / way.batch_grams
                assert share <= 1.1 * shares[line.material] + 0.02, (number, slip, line)
            if line.material in ("lavender-oil", "xanthan-gum", "phenoxyethanol-blend"):
                assert line.why == "Keeps it near its share of the larger batch.", (number, slip, line)
                held += 1
            seen += 1
    assert seen > 40 and held > 10


@pytest.mark.parametrize(
    ("held", "percent"), [("gluconolactone", 0.4), ("citric-acid", 0.5), ("inulin", 1.0)]
)
def test_a_held_powder_that_dissolves_is_asked_once_to_keep_its_share(held: str, percent: float) -> None:
    lines = {**LINES, "kaolin": 15.0 - percent, held: percent}
    answer = advisor.recover(body(lines=lines, weighed={**lines, held: 6 * percent}))
    name = MATERIALS[held].name
    asked = [one.name for one in answer.smallest.checks if name in one.name]
    missed = [
        one.demand for one in answer.smallest.shortfalls if name in one.demand and "usual" not in one.demand
    ]
    assert len(missed) <= 1, missed
    assert not any("fills no batch up" in one for one in asked + missed)


@pytest.mark.parametrize("step", [0.01, 0.1, 1.0])
def test_what_no_step_of_the_balance_could_mend_is_not_told_as_missed(step: float) -> None:
    """A percent that one step of its line outweighs is kept as well as this balance keeps anything."""
    eased = 0
    for seed in range(counted(600)):
        recipe, rng = makers.recipe(seed), random.Random(seed)
        batch = rng.choice((50.0, 200.0, 1000.0))
        planned = {line["material"]: line["percent"] * batch / 100 for line in recipe["lines"]}
        weighed = {key: max(1, round(grams / step)) * step for key, grams in planned.items()}
        weighed[rng.choice(sorted(weighed))] *= rng.choice((1.05, 1.2, 1.5))
        slip = {"recipe": recipe, "batch_grams": batch, "weighed": weighed, "mixed": True}
        answer = advisor.recover({**slip, "balance_step": step})
        for way in (answer.exact, answer.smallest):
            kind = {check.name: check.kind for check in way.checks}
            eased += sum(check.source.endswith("within a step of the balance") for check in way.checks)
            for short in way.shortfalls:
                kept = "working level" in short.demand or kind[short.demand] in ("law", "wish")
                if short.unit == "%" and not kept:
                    about = next(check.about for check in way.checks if check.name == short.demand)
                    share = sum(line.percent for line in way.recipe.lines if line.material in about)
                    assert short.by > (100 - share) * step / (way.batch_grams + step) - 0.01 * step, (
                        seed,
                        short,
                    )
    assert eased
