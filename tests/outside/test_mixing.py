"""Published mixing sums: alligation, the betaine factor, a patent's listed total, mixture rules of powders."""

from typing import Any

import pytest

import advisor
from advisor.errors import InvalidRecipe
from advisor.recipe.demand import Measure
from advisor.recipe.read import read_recipe
from advisor.schema.recipe import Recipe


def surfactant(key: str, active: float) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "granule",
        "roles": ["primary_surfactant"],
        "composition": {"Matter": active, "Aqua": 100 - active},
        "active": active,
        "use": {"min": 0, "max": 100},
    }


def blended(strong: float, weak: float, wanted: float) -> dict[str, float]:
    answer = advisor.correct(
        {
            "recipe": {"lines": [{"material": "strong", "percent": 50}, {"material": "weak", "percent": 50}]},
            "report": {"feel": "workable"},
            "wishes": {"active": {"min": wanted - 0.001, "max": wanted + 0.001}},
            "materials": [surfactant("strong", strong), surfactant("weak", weak)],
        }
    )
    return {line.material: line.percent for line in answer.recipe.lines}


def test_alligation_of_two_strengths() -> None:
    """US Army subcourse MD0802, Pharmaceutical Calculations, sec. 2: 1000 of 45 % from 75 % and 10 %."""
    percents = blended(75, 10, 45)
    assert percents["strong"] * 10 == pytest.approx(538.46, abs=0.05)
    assert percents["weak"] * 10 == pytest.approx(461.54, abs=0.05)


def test_alligation_one_to_four() -> None:
    """Alligation hand-out: 70 % and 20 % to 30 % are mixed 1 : 4."""
    assert blended(70, 20, 30) == pytest.approx({"strong": 20.0, "weak": 80.0}, abs=0.005)


def test_thirty_percent_of_a_thirty_percent_betaine() -> None:
    """CIR amidopropyl betaine panel memo (2010) warns of this factor: 9 % active, not 30 %."""
    answer = advisor.assess(
        {
            "recipe": {
                "lines": [{"material": "betaine-30", "percent": 30}, {"material": "kaolin", "percent": 70}]
            }
        }
    )
    assert answer.totals.active == pytest.approx(9.0)


def test_listed_sum_of_a_transparent_combo_bar() -> None:
    """US patent, Transparent soap formulations and methods of making same, claim 1: water to 100 is 15.64."""
    listed = {
        "polyols": 31.36,
        "fatty-acids": 19.00,
        "tea-lauryl-sulfate": 12.33,
        "sucrose": 7.84,
        "sodium-hydroxide-50": 7.65,
        "isethionate": 3.80,
        "citric": 0.77,
        "salt": 0.71,
        "alkoxylated-cetyl-alcohol": 0.66,
        "chelators": 0.24,
    }
    lines = [{"material": key, "percent": percent} for key, percent in listed.items()]
    with pytest.raises(InvalidRecipe, match=r"84\.36"):
        read_recipe(Recipe.model_validate({"lines": lines}))
    whole = [*lines, {"material": "water", "percent": 15.64}]
    assert read_recipe(Recipe.model_validate({"lines": whole})).notes == ()


def test_oil_absorption_of_pigments_mixes_by_mass() -> None:
    """Paint literature: 50 titanium dioxide, 30 chalk, 20 clay by mass take 20, 17, 30; the mix takes 21.1 g/100 g."""
    mixed = Measure({"tio2": 20.0, "caco3": 17.0, "clay": 30.0}, None)
    assert mixed.of({"tio2": 50.0, "caco3": 30.0, "clay": 20.0}) == pytest.approx(21.1)


@pytest.mark.parametrize(
    ("one", "other", "rule", "measured"), [(150, 24.5, 87.25, 82.5), (39.53, 18.31, 28.92, 30.86)]
)
def test_consistency_limits_mix_linearly_within_seven_percent(
    one: float, other: float, rule: float, measured: float
) -> None:
    """Sci. Total Environ. 794 (2021) 148746, table 1: 50:50 bentonite and soil, liquid and plastic limit."""
    mixed = Measure({"bentonite": one, "soil": other}, None).of({"bentonite": 50.0, "soil": 50.0})
    assert mixed == pytest.approx(rule, abs=0.006)
    assert mixed == pytest.approx(measured, rel=0.07)


def test_wetting_index_is_the_linear_rule_of_consistency() -> None:
    """The index of a mix is liquid over the mass-weighted demand of its powders (same rule as above)."""
    powder = {"form": "powder", "roles": ["filler"]}
    materials = [
        {"key": "bentonite", "name": "b", "composition": {"B": 100}, "uptake": 1.5, **powder},
        {"key": "soil", "name": "s", "composition": {"S": 100}, "uptake": 0.245, **powder},
        {
            "key": "liquid",
            "name": "l",
            "form": "liquid",
            "roles": ["water"],
            "composition": {"Aqua": 100},
            "wetting": 1.0,
        },
    ]
    lines = [{"material": k, "grams": g} for k, g in (("bentonite", 50), ("soil", 50), ("liquid", 87.25))]
    answer = advisor.assess({"recipe": {"lines": lines}, "materials": materials})
    assert answer.consistency.wetness == pytest.approx(1.0, abs=1e-3)
