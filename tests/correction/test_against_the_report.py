"""Nothing that makes room for a correction works against what was reported, over invented recipes, feels and degrees."""

from collections.abc import Iterator
from typing import Any

import pytest

import advisor
from advisor.errors import NoRecipeFits
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import load_rulebook
from helpers import makers

BOOK = load_rulebook()
MOVES = BOOK.in_use.move
IN_USE = tuple(dict.fromkeys(move.feel for move in MOVES))
RECIPES = 24
MOST = 1e-9
BESIDES = {
    "sodium-chloride": 5.0,
    "glutamate-liquid": 6.0,
    "green-clay": 3.0,
    "shea-butter": 3.0,
    "maltodextrin": 4.0,
}


def invented(number: int) -> dict[str, float]:
    """Return an invented recipe with two lines more that are apt to be reached for wrongly, which make a tenth less of the rest."""
    amounts = {line["material"]: line["percent"] for line in makers.recipe(number)["lines"]}
    keys = tuple(BESIDES)
    added = {key: BESIDES[key] for key in (keys[number % 5], keys[(number + 2) % 5])}
    rest = {key: round(x * (100 - sum(added.values())) / 100, 2) for key, x in amounts.items()}
    largest = max(rest, key=rest.__getitem__)
    rest[largest] = round(rest[largest] + 100 - sum(rest.values()) - sum(added.values()), 2)
    return rest | added


def corrections(feels: tuple[str, ...], **told: Any) -> Iterator[tuple[str, str, dict[str, float], Any]]:
    """Yield feel, degree, recipe and answer wherever a recipe fits."""
    for number in range(RECIPES):
        recipe = invented(number)
        lines = [{"material": key, "percent": x} for key, x in recipe.items()]
        for place, feel in enumerate(feels):
            degree = makers.DEGREES[(number + place) % 3]
            report = {
                "feel": feel,
                "degree": degree,
                "kneaded_minutes": 8,
                "rested_minutes": 15,
                "dough_c": 22,
                **told,
            }
            try:
                yield feel, degree, recipe, advisor.correct({"recipe": {"lines": lines}, "report": report})
            except NoRecipeFits:
                continue


def moved(answer: Any) -> dict[Ingredient, float]:
    return {BOOK.ingredients[change.material]: change.change for change in answer.changes}


@pytest.mark.parametrize("feel", IN_USE)
def test_what_a_report_takes_down_does_not_come_up_beside_it(feel: str) -> None:
    asked = 0
    for _, _, recipe, answer in corrections((feel,), dried_days=20):
        for move in (move for move in MOVES if move.feel == feel and not move.drier and not move.ratio):
            change = sum(x for one, x in moved(answer).items() if move.speaks_of(one))
            before = sum(x for key, x in recipe.items() if move.speaks_of(BOOK.ingredients[key]))
            asked += bool(before)
            if move.up:
                assert -MOST <= change <= move.up["severe"] + MOST, (move.id, recipe)
            else:
                assert before + change <= max(before, move.kept) + MOST, (move.id, recipe)
    assert asked > RECIPES / 2


def test_two_kinds_of_active_matter_come_nearer_each_other_by_the_degree() -> None:
    lines = [{"material": "isethionate-powder", "percent": 52.0}, {"material": "betaine-30", "percent": 11.0}]
    lines += [{"material": "kaolin", "percent": 20.0}, {"material": "water", "percent": 17.0}]
    asked = {"recipe": {"lines": lines}, "wishes": {"active": {"min": 30.0, "max": 60.0}}}
    betaine = []
    for degree in makers.DEGREES:
        answer = advisor.correct({**asked, "report": {"feel": "poor_lather", "degree": degree}})
        betaine.append(next(x.percent for x in answer.recipe.lines if x.material == "betaine-30"))
    assert 11.0 < betaine[0] < betaine[1] < betaine[2]


@pytest.mark.parametrize("aim", ["closest", "lowest_cost"])
def test_salts_and_sugars_dry_no_dough(aim: str) -> None:
    seen = 0
    for number in range(RECIPES):
        recipe = {"lines": [{"material": key, "percent": x} for key, x in invented(number).items()]}
        for feel in (*makers.FEELS, "harsh"):
            report = {
                "feel": feel,
                "degree": makers.DEGREES[number % 3],
                "kneaded_minutes": 8,
                "rested_minutes": 15,
            }
            try:
                answer = advisor.correct({"recipe": recipe, "report": report, "wishes": {"aim": aim}})
            except NoRecipeFits:
                continue
            risen = {one.key for one, change in moved(answer).items() if change > 0}
            assert not risen & {"sodium-chloride", "maltodextrin"}, (feel, recipe)
            seen += 1
    assert seen > 5 * RECIPES


# Recipes in which a fat is the easiest thing to move, in percent.
FATTY = {
    "paste at its most": {
        "sarcosinate-powder": 10.5,
        "sulfosuccinate-paste": 20.0,
        "propylene-glycol": 3.0,
        "isethionate-powder": 55.0,
        "rice-flour": 2.5,
        "sunflower-oil": 4.5,
        "cocoa-butter": 4.5,
    },
    "glucoside at its most": {
        "propanediol": 2.0,
        "caprylic-triglyceride": 4.5,
        "coco-sulfate-powder": 59.5,
        "lauryl-glucoside-51": 15.0,
        "oat-flour": 13.5,
        "levulinate-blend": 3.5,
        "zinc-oxide": 2.0,
    },
    "no filler to raise": {
        "stearic-acid": 2.5,
        "sunflower-oil": 2.5,
        "decyl-glucoside-52": 20.0,
        "water": 3.0,
        "maltodextrin": 5.0,
        "bicarbonate": 8.5,
        "betaine-crystals": 3.0,
        "sulfoacetate-powder": 55.5,
    },
}


@pytest.mark.parametrize("degree", makers.DEGREES)
@pytest.mark.parametrize("named", FATTY)
@pytest.mark.parametrize("feel", ["too_wet", "too_dry", "crumbling"])
def test_no_fat_is_a_lever_of_the_dough(feel: str, named: str, degree: str) -> None:
    lines = [{"material": key, "percent": x} for key, x in FATTY[named].items()]
    report = {"feel": feel, "degree": degree, "kneaded_minutes": 8, "rested_minutes": 15, "dough_c": 22}
    answer = advisor.correct({"recipe": {"lines": lines}, "report": report})
    assert not [one.key for one, change in moved(answer).items() if one.oil and change > 0]
    structurants = [
        one.key for one, change in moved(answer).items() if one.main_role == "structurant" and change > 0
    ]
    assert not structurants or feel != "too_wet"


@pytest.mark.parametrize("feel", ["cracks_in_use", "cracks_while_drying"])
def test_no_report_asks_more_and_less_of_what_draws_moisture(feel: str) -> None:
    for _, _, recipe, answer in corrections((feel,), signs=["sweats", "sticky_but_stiff"], dried_days=20):
        asked = {check.name for check in answer.checks}
        assert not {"humectants", "what draws moisture"} <= asked, recipe


@pytest.mark.parametrize(
    "liquid", ["taurate-30", "sarcosinate-30", "coco-glucoside-52", "decyl-glucoside-52"]
)
@pytest.mark.parametrize("degree", makers.DEGREES)
def test_a_powder_over_its_range_leaves_a_mushy_bar_a_recipe(liquid: str, degree: str) -> None:
    """The report outranks the range: more of what is over its range already is better than no recipe."""
    recipe = {"methyl-isethionate-powder": 73.35, liquid: 11.82, "maltodextrin": 2.96, "aloe-juice": 1.97}
    recipe |= {
        "sodium-lactate-60": 1.48,
        "castor-oil": 5.91,
        "benzyl-alcohol-blend": 0.84,
        "citric-acid-50": 1.67,
    }
    lines = [{"material": key, "percent": percent} for key, percent in recipe.items()]
    report = {"feel": "mushy_in_use", "degree": degree, "dried_days": 20}
    answer = advisor.correct({"recipe": {"lines": lines}, "report": report, "wishes": {"market": "eu"}})
    moves = {one.key: change for one, change in moved(answer).items()}
    assert moves
    assert answer.after.consistency.wetness < answer.before.consistency.wetness
    assert moves.get("sodium-lactate-60", 0.0) <= MOST
    assert moves.get("castor-oil", 0.0) <= MOST
