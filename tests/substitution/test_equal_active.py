"""Equal active matter when a material is replaced: published mixing arithmetic through the substitution."""

from typing import Any

import pytest

from advisor import substitute


def material(key: str, form: str, role: str, active: float, **besides: Any) -> dict[str, Any]:
    rest = {"Aqua": 100 - active} if active < 100 else {}
    composition = {"Washing Matter": active, **rest} if active else {"Aqua": 100}
    return {
        "key": key,
        "name": key,
        "form": form,
        "roles": [role],
        "charge": "anionic" if active else "none",
        "composition": composition,
        "active": active,
        **besides,
    }


WATER = material("plain-water", "liquid", "water", 0)


def test_a_third_strength_betaine_is_nine_percent_active() -> None:
    """Cosmetic Ingredient Review, panel memorandum on amidopropyl betaines, 2010: 30 % of a 30 % solution is 9 %."""
    lines = [
        {"material": "betaine-30", "percent": 30},
        {"material": "isethionate-powder", "percent": 60},
        {"material": "kaolin", "percent": 10},
    ]
    body = {"recipe": {"lines": lines}, "missing": "betaine-30", "replacements": ["hydroxysultaine-42"]}
    option = substitute({**body, "shelf": ["water"]}).options[0]
    work = next(check for check in option.checks if check.name.startswith("active matter in place"))
    assert work.min == pytest.approx(0.8 * 9)
    assert work.max == pytest.approx(1.25 * 9)


@pytest.mark.parametrize(
    ("old", "new", "ratio"),
    [
        # US Army subcourse MD0802, Pharmaceutical Calculations: 300 of 70 % make 525 of 40 %.
        (40, 70, 300 / 525),
        # Same subcourse: 1 000 of 45 % hold as much as 600 of 75 %.
        (45, 75, 600 / 1000),
    ],
)
def test_equal_active_is_old_mass_times_old_strength_over_new(old: float, new: float, ratio: float) -> None:
    """All washing matter comes from one liquid, so its amount is fixed by the strength within 0.1 point."""
    materials = [
        material("weak", "liquid", "primary_surfactant", old),
        material("strong", "liquid", "primary_surfactant", new),
        WATER,
    ]
    lines = [{"material": "weak", "percent": 52.5}, {"material": "plain-water", "percent": 47.5}]
    body = {"recipe": {"lines": lines}, "missing": "weak", "replacements": ["strong"], "materials": materials}
    option = substitute(body).options[0]
    percents = {line.material: line.percent for line in option.recipe.lines}
    assert percents["strong"] / 52.5 == pytest.approx(ratio, abs=0.1 / new * 100 / 52.5 + 1e-6)
    assert percents["plain-water"] == pytest.approx(100 - percents["strong"], abs=1e-9)
