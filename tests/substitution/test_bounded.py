"""How much is worked out for many candidates, by count; what is found so is what asking each pair finds."""

import random
from typing import Any

import pytest

import advisor
from advisor.optimise.session import Session
from advisor.rulebook.compatibility import Pairs, named_sides, share_on
from advisor.rulebook.ingredient import Ingredient, compile_material
from advisor.rulebook.load import load_rulebook
from advisor.rulebook.newcomers import Compatibility, apart, clash
from advisor.rulebook.pairs import Side
from helpers import makers

BOOK = load_rulebook()


def test_the_company_of_a_replacement_is_taken_in_once_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    taken, plain = [], Compatibility.include
    monkeypatch.setattr(Compatibility, "include", lambda *which: taken.append(which) or plain(*which))
    recipe: dict[str, Any] = makers.recipe(1)
    missing, counts = recipe["lines"][0]["material"], []
    for many in (5, 80):
        taken.clear()
        replacements = [key for key in sorted(BOOK.ingredients) if key != missing][:many]
        advisor.substitute({"recipe": recipe, "missing": missing, "replacements": replacements})
        counts.append(len(taken))
    assert counts[0] == counts[1] <= 2 * len(recipe["lines"]), counts


def speaking(seed: int) -> list[Ingredient]:
    """Return materials of the library that say at random what they must not meet."""
    draw, library = random.Random(seed), list(BOOK.ingredients.values())
    sides = sorted(BOOK.pairs.called)
    components = sorted({name for one in library for name in one.composition})
    return [
        compile_material(
            one.material.model_copy(
                update={"incompatible_with": tuple(draw.sample(components, 2) + draw.sample(sides, 1))}
            )
            if draw.random() < 0.3
            else one.material,
            BOOK.dough,
        )
        for one in draw.sample(library, 40)
    ]


def first_spoken_against(one: Ingredient, there: list[Ingredient], pairs: Pairs) -> tuple[str, str] | None:
    """Return who speaks against whom, asking each of those there in turn."""
    for other in there:
        for speaks, of in ((one, other), (other, one)):
            for name, side in named_sides(speaks, pairs).values():
                if share_on(side or Side(components=(name,)), of) and speaks.key != of.key:
                    return speaks.name, of.name
    return None


@pytest.mark.parametrize("market", ["none", "eu", "us"])
def test_who_may_not_meet_is_found_as_by_asking_each_pair(market: str) -> None:
    pairs, told = BOOK.pairs_under(BOOK.laws.get(market)), 0
    for seed in range(3):
        some = speaking(seed)
        found = apart(some, some, pairs)
        for one in some:
            asked = {other.key for other in some if other.key != one.key and clash(one, other, pairs)}
            assert found[one.key] == asked, one.key
        for at, one in enumerate(some):
            company = Compatibility(pairs)
            for other in some[:at]:
                company.include(other)
            said, wanted = company.refusal(one), first_spoken_against(one, some[:at], pairs)
            if said is None or said.id == "stated":
                assert (said is None) == (wanted is None), one.key
                told += wanted is not None
                assert wanted is None or pairs.stated is not None
                assert wanted is None or said.text == pairs.stated.text.replace("{first}", wanted[0]).replace(
                    "{second}", wanted[1]
                )
    assert told > 20


CLAY = BOOK.ingredients["kaolin"].material.model_dump(
    mode="json", exclude_none=True, exclude={"evidence", "identifiers", "also"}
)
LINES = {"isethionate-powder": 50.0, "kaolin": 20.0, "betaine-30": 24.0, "glycerin": 6.0}


@pytest.mark.parametrize(("each_at_most", "options"), [(12.0, 5), (3.0, 0), (50.0, 5)])
def test_however_many_may_stand_in_the_programs_are_bounded_and_what_was_left_out_is_said(
    monkeypatch: pytest.MonkeyPatch, each_at_most: float, options: int
) -> None:
    solved, plain, rules = [], Session.solve, BOOK.substitution.trying
    monkeypatch.setattr(Session, "solve", lambda self: solved.append(self) or plain(self))
    many = rules.materials_at_most + 40
    clays = [
        {**CLAY, "key": f"clay-{at}", "name": f"Clay {at}", "use": {"min": 0, "max": each_at_most}}
        for at in range(many)
    ]
    answer = advisor.substitute(
        {
            "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in LINES.items()]},
            "missing": "kaolin",
            "materials": clays,
            "replacements": [one["key"] for one in clays],
        }
    )
    assert len(answer.options) == options
    assert len(solved) <= rules.programs_at_most + 10 * options + 10
    untried = [one for one in answer.rejected if one.rule == "not-tried"]
    assert len(untried) == 40
    assert all(f"of {many} materials" in one.reason for one in untried)
    said = [note.text for note in answer.notes if note.id == "pairs-most-alike"]
    assert len(said) == (each_at_most < LINES["kaolin"]), said
