"""What a maker is told where a draft does not go as wished: true, in words, and with a way out."""

import re
from typing import Any

import pytest

import advisor
from advisor.errors import NoRecipeFits
from advisor.printing.answers import draft as laid_out
from advisor.printing.plain import on_screen
from advisor.printing.told import Told
from advisor.rulebook.load import load_rulebook

SHELF = ["isethionate-powder", "kaolin", "tapioca-starch", "betaine-30", "glycerin", "sunflower-oil"]
SHELF += ["cetyl-alcohol", "phenoxyethanol-blend", "citric-acid-50"]
OTHERS = [
    "coco-sulfate-powder",
    "sulfoacetate-powder",
    "stearic-acid",
    "glutamate-powder",
    "sulfosuccinate-powder",
]
BOOK = load_rulebook()


def first(**body: Any) -> dict[str, Any]:
    told: dict[str, Any] = advisor.draft({"shelf": SHELF, **body}).model_dump(mode="json")["options"][0]
    return told


def percents(option: dict[str, Any]) -> dict[str, float]:
    return {line["material"]: line["percent"] for line in option["recipe"]["lines"]}


def problem(**body: Any) -> dict[str, Any]:
    with pytest.raises(NoRecipeFits) as caught:
        advisor.draft({"shelf": SHELF, **body})
    return caught.value.problem()


@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("menthol", 1.5),
        ("panthenol-75", 4.0),
        ("rose-clay", 14.0),
        ("honey", 4.0),
        ("charcoal", 3.5),
        ("tocopherol", 1.0),
    ],
)
def test_what_the_maker_wants_of_a_material_outranks_a_usual_range(key: str, percent: float) -> None:
    option = first(features={key: percent})
    use = BOOK.ingredients[key].material.use
    assert percents(option)[key] == percent
    if use is not None and use.max is not None and percent > use.max:
        assert f"usual:{key}" in {one["id"] for one in option["findings"]}


@pytest.mark.parametrize("key", ["sarcosinate-powder"])
@pytest.mark.parametrize("percent", [2.0, 5.0])
def test_a_danger_that_was_wished_is_told_as_one_and_no_id_is_spoken(key: str, percent: float) -> None:
    told = problem(features={key: percent})
    assert "can poison" in told["detail"]
    assert [one["where"] for one in told["errors"]] == [f"/features/{key}"]
    assert "put one on the shelf" not in str(told)


@pytest.mark.parametrize("key", sorted(BOOK.ingredients))
def test_no_refusal_speaks_in_ids(key: str) -> None:
    if key in SHELF:
        return
    try:
        advisor.draft({"shelf": SHELF, "features": {key: 3.0}, "options_at_most": 1})
    except NoRecipeFits as error:
        told = error.problem()
        said = " ".join([told["detail"], *(one["problem"] + one["hint"] for one in told["errors"])])
        assert not re.search(r"[a-z]+-[a-z]+:|pair:|[a-z]-dust|holds no .* usual range", said), said
        assert "-" not in key or key not in said.split(), said
        places = {one["where"] for one in told["errors"]}
        assert all(re.fullmatch(r"/(shelf(/\d+)?|features/[a-z0-9-]+|wishes/.*)", place) for place in places)


@pytest.mark.parametrize("key", ["oat-flour", "rice-flour", "kaolin", "corn-starch"])
@pytest.mark.parametrize("percent", [15.0, 19.0, 19.5, 20.0])
def test_a_part_that_a_wish_fills_takes_nothing_besides(key: str, percent: float) -> None:
    assert percents(first(features={key: percent}))[key] == percent


@pytest.mark.parametrize("key", ["cocoamphoacetate", "cocoamphodiacetate", "jojoba-oil", "rice-flour"])
@pytest.mark.parametrize("percent", [1.0, 3.0])
def test_a_part_that_a_wish_fills_a_little_takes_something_besides(key: str, percent: float) -> None:
    assert percents(first(features={key: percent}))[key] == percent


@pytest.mark.parametrize("place", ["hand_and_body", "face", "hair"])
def test_the_lowest_cost_takes_nothing_from_the_preservative(place: str) -> None:
    body = {"shelf": [*SHELF, *OTHERS, "xanthan-gum"], "options_at_most": 10}
    wishes = {"market": "eu", "used_on": place}
    plain, cheap = (
        {
            one.family: {line.material: line.percent for line in one.recipe.lines}
            for one in advisor.draft(asked).options
        }
        for asked in ({**body, "wishes": wishes}, {**body, "wishes": {**wishes, "aim": "lowest_cost"}})
    )
    assert plain.keys() & cheap.keys()
    for family in plain.keys() & cheap.keys():
        assert cheap[family]["phenoxyethanol-blend"] >= plain[family]["phenoxyethanol-blend"] - 0.1 - 1e-9


def test_who_frees_the_preservative_by_a_wish_pays_for_less_of_it() -> None:
    wishes = {"aim": "lowest_cost", "lines": {"phenoxyethanol-blend": {"min": 0.5, "max": 1.0}}}
    assert percents(first(wishes=wishes))["phenoxyethanol-blend"] == 0.5


@pytest.mark.parametrize(
    ("key", "narrow"),
    [("benzoate-sorbate-liquid", True), ("phenoxyethanol-blend", False), ("benzyl-alcohol-blend", False)],
)
def test_a_preservative_that_the_usual_ph_makes_useless_is_told_at_the_bar(key: str, narrow: bool) -> None:
    option = first(shelf=[*(one for one in SHELF if one != "phenoxyethanol-blend"), key])
    assert any("works at pH" in one for one in option["weak_at"]) == narrow


@pytest.mark.parametrize(("claim", "named"), [("palm_free", "Glycerin"), ("vegan", "Glycerin")])
def test_a_promise_nobody_states_is_asked_of_the_supplier(claim: str, named: str) -> None:
    own = BOOK.ingredients["glycerin"].material.model_dump(mode="json", exclude_unset=True)
    flags = {name: value for name, value in (own.get("flags") or {}).items() if name not in ("palm", "vegan")}
    told = problem(wishes={"claims": [claim]}, materials=[{**own, "flags": flags}])
    assert "none that keeps what was wished" in told["detail"]
    hints = [one["hint"] for one in told["errors"] if "humectant" in one["problem"]]
    assert hints and all(named in hint and "supplier" in hint for hint in hints)


def test_what_is_not_there_is_not_said_to_break_a_wish() -> None:
    told = problem(shelf=[one for one in SHELF if one != "betaine-30"])
    assert told["detail"].endswith("the shelf holds none.")
    assert told["errors"][0]["hint"] == "put one on the shelf"


def test_needles_on_the_shelf_are_to_be_milled() -> None:
    told = problem(shelf=["isethionate-prills", *SHELF[1:]])
    assert "mill it" in told["errors"][0]["hint"]


@pytest.mark.parametrize(
    ("step", "told_of"), [(None, False), (0.01, False), (0.1, False), (1.0, True), (5.0, True)]
)
def test_a_balance_too_coarse_for_the_trial_is_not_passed_over(step: float | None, told_of: bool) -> None:
    body = {"shelf": SHELF, **({} if step is None else {"balance_step": step})}
    notes = {one.id: one.text for one in advisor.draft(body).notes}
    assert ("finer-balance" in notes) == told_of
    if step == 1.0:
        assert "steps of 0.1 g" in notes["finer-balance"]
        assert "500 g" in notes["finer-balance"]


def test_what_a_finding_tells_is_not_told_again() -> None:
    body = {"shelf": SHELF, "features": {"menthol": 1.5}}
    printed = on_screen(laid_out(advisor.draft(body), Told(body)), 100)
    assert "Not met" not in printed
    assert printed.count("where 0.1 to 1 % is usual") == 1
    told = {
        "recipe": {
            "lines": [
                {"material": k, "percent": p}
                for k, p in {
                    "isethionate-powder": 60,
                    "kaolin": 15,
                    "betaine-30": 23,
                    "tocopherol": 2,
                }.items()
            ]
        }
    }
    from advisor.printing.answers import assessment

    printed = on_screen(assessment(advisor.assess(told), Told(told)), 100)
    assert "Tocopherol: 2 %, where 0.05 to 0.5 % is usual." in printed
    assert "asked 0.05" not in printed
    assert printed.count("There is no preservative in this recipe") == 1
