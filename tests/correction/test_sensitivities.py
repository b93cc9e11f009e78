"""A sensitivity is what a second correction, asked with that bound eased, really answers."""

import pytest

import advisor
from helpers import eased

GENERATED = 500
BLOCKS = 5


@pytest.mark.parametrize("block", range(BLOCKS))
def test_easing_a_bound_has_the_told_effect_in_both_aims(block: int) -> None:
    """A tenth of the generated corrections; `python -m tests.soak.sensitivities` asks all of them."""
    told = list(eased.wrong(range(block, GENERATED // 10, BLOCKS)))
    assert not [text for text, off in told if off]
    assert len(told) >= 10


def test_a_bound_of_the_dried_bar_is_told_as_one() -> None:
    lines = {
        "isethionate-powder": 50,
        "kaolin": 19,
        "betaine-30": 25,
        "glycerin": 5,
        "phenoxyethanol-blend": 1,
    }
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}
    wishes = {"components_dried": {"Glycerin": {"max": 4.0}}}
    answer = advisor.correct({"recipe": recipe, "report": {"feel": "too_wet"}, "wishes": wishes})
    told = [one for one in answer.sensitivities if one.name == "Glycerin"]
    assert told and all("Glycerin in the dried bar" in one.text for one in told)


def test_an_eased_bound_is_never_refused_where_no_demand_is_to_blame() -> None:
    """Of these the program found no recipe although its demands can be met together; all that keeps the bar gives way."""
    assert not [text for text, off in eased.wrong(range(259, 260)) if off]
