"""Every sentence a maker reads, over a grid drawn from all verbs: names and no keys, none of the trade's words, a stop at the end."""

import random
import re

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from case_book.told import Told
from tests.soak import sentences

DRAWN = 60
BLOCKS = 3
SPELLED = re.compile(r"\b[a-z][a-z0-9]*(?:-[a-z0-9]+)+\b")
NOT_A_MAKERS = ("wetting index", "watery share", "severe", "this rests on")


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_sentence_holds_names_and_ends_with_a_stop(block: int) -> None:
    rng, keys = random.Random(block), load_rulebook().ingredients.keys()
    read = 0
    for _ in range(DRAWN // BLOCKS):
        verb, asked = sentences.asked_at_random(rng)
        try:
            answer = getattr(advisor, verb)(asked.request).model_dump(mode="json")
        except advisor.AdvisorError as problem:
            answer = problem.problem()
        for text in Told(verb, asked.request, answer).sentences:
            assert not keys & set(SPELLED.findall(text)), text
            assert not [word for word in NOT_A_MAKERS if word in text], text
            assert text.endswith((".", "?", ")")) or " " not in text, text
            read += 1
    assert read > 200


def test_only_what_melts_near_skin_warmth_is_called_a_soft_fat() -> None:
    soft = {"shea-butter", "cocoa-butter", "mango-butter", "coconut-oil", "kokum-butter"}
    hard = {"cetyl-alcohol", "cetearyl-alcohol", "stearyl-alcohol", "beeswax", "behenyl-alcohol"}
    library = load_rulebook().ingredients
    for fat in sorted((soft | hard) & library.keys()):
        lines = {"isethionate-powder": 50, "kaolin": 20, "betaine-30": 20, "glycerin": 4, fat: 6}
        recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}
        answer = advisor.correct({"recipe": recipe, "report": {"feel": "stays_soft", "dried_days": 14}})
        told = [item.text for item in answer.advice if item.id == "soft-fats"]
        assert bool(told) is (fat in soft), fat
        assert all(library[fat].name in text for text in told)


def test_what_was_in_the_recipe_is_no_new_allergen_by_another_remark() -> None:
    lines = {
        "isethionate-powder": 60,
        "kaolin": 14,
        "betaine-30": 22,
        "glycerin": 3,
        "benzyl-alcohol-blend": 1,
    }
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}
    answer = advisor.substitute(
        {"recipe": recipe, "missing": "benzyl-alcohol-blend", "replacements": ["dehydroacetic-blend"]}
    )
    assert len(answer.options) == 1
    assert not [shift for shift in answer.options[0].shifts if shift.what == "allergens"]


def test_an_acid_is_exchanged_by_the_alkali_it_takes_up() -> None:
    equivalents = {
        "lactic-acid-80": 0.80 / 90.1,
        "lactic-acid-88": 0.885 / 90.1,
        "citric-acid": 0.995 * 1.8 / 192.1,
        "citric-acid-50": 0.5 * 1.8 / 192.1,
        "gluconolactone": 0.995 / 178.1,
    }
    tried = 0
    for missing, own in equivalents.items():
        lines = {"isethionate-powder": 58, "kaolin": 14, "betaine-30": 22, "glycerin": 4, missing: 2}
        recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}
        others = [key for key in equivalents if key != missing]
        for option in advisor.substitute(
            {"recipe": recipe, "missing": missing, "replacements": others}
        ).options:
            after = {line.material: line.percent for line in option.recipe.lines}
            brought = sum(equivalents[key] * after.get(key, 0.0) for key in others)
            assert 0.79 * 2 * own <= brought <= 1.26 * 2 * own, (missing, option.replacement)
            tried += 1
    assert tried > 8
