"""What a weigh sheet and a mended batch say of a bound that is missed: few decimals, and no unit of a plain ratio."""

import re

import advisor
from helpers.recipes import filled


def test_a_limit_that_the_recipe_passes_is_told_with_its_unit_and_few_decimals() -> None:
    for dose in (0.95, 0.97, 0.99, 1.0):
        recipe = filled({"phenoxyethanol-plain": dose, "water": 6.0})
        sheet = {"recipe": recipe, "batch_grams": 500.0, "balance_step": 0.1, "wishes": {"market": "eu"}}
        told = [note.text for note in advisor.weigh(sheet).notes if note.id == "recipe-breaks"]
        assert told
        for text in told:
            assert "at most 1 %" in text and not re.search(r"\d\.\d{4}", text)
