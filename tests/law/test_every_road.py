"""What the law says of a material reaches every task that knows the market, once in each answer."""

from collections import Counter
from typing import Any

import pytest

from advisor import label
from advisor.errors import NoRecipeFits
from advisor.registry import TASKS, Task

MATERIALS = [
    {
        "key": key,
        "name": key.capitalize(),
        "form": form,
        "roles": [role],
        "composition": {component: 100},
    }
    for key, form, role, component in (
        ("bane", "powder", "filler", "Chloroform"),
        ("jelly", "soft_solid", "emollient", "Petrolatum"),
        ("guard", "liquid", "preservative", "Guardium"),
        ("dye", "powder", "colourant", "Beet Colour"),
        ("slip", "powder", "featured", "Phenoxyethanole"),
        ("soot", "powder", "featured", "Charcoal Powder"),
        ("willow", "powder", "featured", "Salicylic Acid"),
    )
]
DOUGH = {"isethionate-powder": 55.0, "kaolin": 10.0, "betaine-30": 25.0, "glycerin": 5.0, "lye-10": 0.2}
BANS = {"law-prohibited-chloroform", "law-colour-beet-colour"}
STANDS = {
    "law-conditional-petrolatum",
    "law-unlisted-guardium",
    "law-near-phenoxyethanole",
    "law-for-colour-charcoal-powder",
    "law-alkaline-adjuster",
    "law-label-restricted-salicylic-acid-2",
}
REPORT = {"feel": "too_wet", "degree": "slight"}
MORE: dict[str, dict[str, Any]] = {
    "correct": {"report": REPORT},
    "add": {"report": REPORT, "balance_step": 0.1, "shelf": ["kaolin", "betaine-30"]},
    "substitute": {"missing": "kaolin", "replacements": ["corn-starch"]},
    "recover": {"batch_grams": 1000, "balance_step": 0.1, "mixed": True, "weighed": {"kaolin": 120.0}},
    "weigh": {"batch_grams": 1000, "balance_step": 0.1},
    "record": {"batch_grams": 1000},
}
KNOWS_MARKET = [
    one
    for one in TASKS
    if one.method == "POST"
    and {"market", "wishes"} & set(one.request.model_fields)
    and {"recipe", "recipes"} & set(one.request.model_fields)
]


def lines(*besides: str, grams: bool = False) -> dict[str, Any]:
    parts = {**DOUGH, **dict.fromkeys(besides, 0.4)}
    parts["kaolin"] += 100 - sum(parts.values())
    unit = "grams" if grams else "percent"
    return {
        "lines": [{"material": key, unit: round(of * (10 if grams else 1), 4)} for key, of in parts.items()]
    }


def told(entry: Task, *besides: str) -> Counter[str]:
    fields = entry.request.model_fields
    recipe = lines(*besides, grams=entry.name == "add")
    asked = {"recipes": [recipe, recipe]} if "recipes" in fields else {"recipe": recipe}
    asked |= {"market": "eu"} if "market" in fields else {"wishes": {"market": "eu"}}
    answer = entry.function({**asked, "materials": MATERIALS, **MORE.get(entry.name, {})})
    said = [*answer.cautions, *answer.notes, *getattr(answer, "remarks", ())]
    return Counter(item.id for item in said if item.id in BANS | STANDS)


@pytest.mark.parametrize("entry", KNOWS_MARKET, ids=lambda one: one.name)
def test_a_verdict_reaches_every_road_once(entry: Task) -> None:
    assert told(entry, "jelly", "guard", "slip", "soot", "willow") == Counter(STANDS)


@pytest.mark.parametrize("entry", KNOWS_MARKET, ids=lambda one: one.name)
def test_what_is_banned_is_told_or_gone_or_refused(entry: Task) -> None:
    try:
        said = told(entry, "bane", "dye")
    except NoRecipeFits as refused:
        assert entry.name in ("add", "correct") and "not allowed" in str(refused.problem()["conflict"])
        return
    assert said == Counter(
        {"law-alkaline-adjuster": 1} | dict.fromkeys(BANS, entry.name not in ("correct", "substitute"))
    )


@pytest.mark.parametrize(("used_on", "told"), [("hand_and_body", False), ("hair", False), ("face", True)])
def test_a_label_knows_what_the_bar_is_used_on(used_on: str, told: bool) -> None:
    # Annex IV, 2 lets CI 10020 into nothing that is applied on mucous membranes.
    green = {**MATERIALS[3], "composition": {"CI 10020": 100}}
    answer = label({"recipe": lines("dye"), "market": "eu", "used_on": used_on, "materials": [green]})
    assert ("law-elsewhere-ci-10020" in [remark.id for remark in answer.remarks]) == told
