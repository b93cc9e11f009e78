"""A report that leaves the recipe as it is shows what to do instead, whatever else is folded."""

import json
from pathlib import Path

import pytest

import advisor
from advisor.cli.main import main
from helpers.makers import recipe
from helpers.ordinary import RECIPES

OUT = pytest.CaptureFixture[str]


@pytest.mark.parametrize("feel", ["crumbling"])
def test_what_to_do_stands_before_a_table_that_does_not_change(
    feel: str, tmp_path: Path, capsys: OUT
) -> None:
    seen = 0
    for one in RECIPES:
        body = {"recipe": one.recipe(), "report": {"feel": feel, "kneaded_minutes": 8, "rested_minutes": 15}}
        answer = advisor.correct(body)
        if answer.status == "corrected" or not answer.advice:
            continue
        (tmp_path / "bar.json").write_text(json.dumps(body), encoding="utf-8")
        assert main(["correct", str(tmp_path / "bar.json")]) == 0
        shown, _, _ = capsys.readouterr().out.partition("Material")
        told = " ".join(shown.split())
        assert "Do this first" in told and all(item.text in told for item in answer.advice)
        seen += 1
    assert seen


def test_what_crumbles_for_no_fault_of_its_recipe_is_worked() -> None:
    for number in range(12):
        answer = advisor.correct({"recipe": recipe(number), "report": {"feel": "crumbling"}})
        assert "bind-the-grains" in {item.id for item in answer.advice}
