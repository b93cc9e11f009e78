"""Published figures on weighing: minimum weight, sharing out whole steps, filling."""

import pytest

from advisor import weigh
from advisor.optimise.rounding import largest_remainder
from advisor.rulebook.load import load_rulebook
from advisor.weighing.smallest_weight import minimum_weight

# United States Pharmacopeia, general chapter 41, Balances: minimum weight = 2 s / 0.10 %, s at least 0.41 d.
# s 0.00015 g -> 0.30000 g; s below 0.41 d -> 820 d.
PHARMACOPOEIA = [(0.00015, 0.0001, 0.30000), (0.0, 1.0, 820.0), (0.00003, 0.0001, 0.0820), (0.4, 1.0, 820.0)]


@pytest.mark.parametrize(("spread", "step", "smallest"), PHARMACOPOEIA)
def test_the_minimum_weight_is_that_of_the_pharmacopoeia(spread: float, step: float, smallest: float) -> None:
    rules = load_rulebook().weighing.minimum_weight
    assert minimum_weight(spread, step, rules) == pytest.approx(smallest, abs=1e-9)


def test_the_answer_carries_the_minimum_weight_of_each_balance() -> None:
    lines = [{"material": "water", "percent": 25}, {"material": "kaolin", "percent": 75}]
    request = {"recipe": {"lines": lines}, "batch_grams": 200, "balance_step": 0.1, "fine_balance_step": 0.01}
    assert [one.pharmacy_grams for one in weigh(request).balances] == [82.0, 8.2]


def test_whole_steps_are_shared_out_as_in_the_published_exercise() -> None:
    # Exercise on Hamilton's method: populations of five states, 40 seats -> 7, 18, 4, 4, 7.
    people = {"a": 153_000, "b": 411_000, "c": 81_000, "d": 92_000, "e": 163_000}
    exact = {key: 40 * value / 900_000 for key, value in people.items()}
    assert largest_remainder(exact, 40) == {"a": 7, "b": 18, "c": 4, "d": 4, "e": 7}


def test_a_batch_is_shared_out_as_in_the_published_exercise() -> None:
    # The same figures as a batch of 40 g on a balance that reads 1 g; materials of one kind, so that no
    # demand but the total stands.
    keys = ("kaolin", "rice-flour", "corn-starch", "tapioca-starch", "arrowroot")
    grams = (153.0, 411.0, 81.0, 92.0, 163.0)
    lines = [{"material": key, "grams": mass} for key, mass in zip(keys, grams, strict=True)]
    answer = weigh({"recipe": {"lines": lines}, "batch_grams": 40, "balance_step": 1})
    assert {line.material: line.grams for line in answer.lines} == dict(
        zip(keys, (7.0, 18.0, 4.0, 4.0, 7.0), strict=True)
    )
