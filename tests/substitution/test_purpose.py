"""Tests that nothing stands in for what does something else in a bar: a hue for a hue, a conditioner for a conditioner."""

from typing import Any

import pytest

from advisor import substitute
from helpers.swap_judge import library

# What does what, as makers speak of it; written here from the trade, not from the rules.
SAME = [
    {"titanium-dioxide", "zinc-oxide"},
    {"iron-oxide-black", "charcoal"},
    {"cationic-guar", "polyquaternium-10", "polyquaternium-7"},
    {"behentrimonium-25", "behentrimonium-50"},
    {
        "wheat-protein",
        "silk-protein",
        "hydrolyzed-oat-protein",
        "hydrolyzed-rice-protein",
        "hydrolyzed-soy-protein",
    },
    {"tocopherol", "rosemary-extract", "bht"},
    {"allantoin", "bisabolol", "panthenol-75"},
    {"milk-powder", "goat-milk-powder"},
]
KINDS = {"colourant", "featured"}
SINGULAR = {"cationic-guar", "menthol"}
CHOSEN = sorted({key for key, block in library().items() if block["roles"][0] in KINDS} | SINGULAR)


def without(missing: str, **besides: Any) -> Any:
    percents = {"isethionate-powder": 54.0, "kaolin": 12.0, "rice-flour": 8.0, "betaine-30": 15.5}
    percents |= {"sunflower-oil": 5.0, "glycerin": 4.0, "phenoxyethanol-blend": 0.9}
    use = library()[missing]["use"]
    percents[missing] = round(min(use["max"], 2 * max(use["min"], 0.05)), 2)
    percents["isethionate-powder"] += round(0.6 - percents[missing], 2)
    lines = [{"material": key, "percent": round(percent, 2)} for key, percent in percents.items()]
    asked = {"shelf": sorted(library()), "options_at_most": 20, **besides}
    return substitute({"recipe": {"name": "bar", "lines": lines}, "missing": missing, **asked})


@pytest.mark.parametrize("missing", CHOSEN)
def test_only_what_does_the_same_is_offered_or_the_maker_decides(missing: str) -> None:
    answer = without(missing)
    same = next((some for some in SAME if missing in some), {missing})
    offered = {
        key
        for option in answer.options
        for key in ([option.replacement] if isinstance(option.replacement, str) else option.replacement)
    }
    assert offered <= same - {missing}
    assert {one.replacement for one in answer.rejected} <= same - {missing}
    notes = {note.id: note.text for note in answer.notes}
    assert ("may-be-left-out" in notes) == (not offered)
    if same == {missing}:
        assert "is known to do what" in notes["no-candidate"]
        assert "yours to decide" in notes["may-be-left-out"]


@pytest.mark.parametrize(
    ("missing", "replacement", "times"),
    [
        ("titanium-dioxide", "zinc-oxide", 0.98),
        ("polyquaternium-10", "cationic-guar", 1.0),
        ("polyquaternium-7", "polyquaternium-10", 0.09),
        ("wheat-protein", "silk-protein", 1.1),
        ("tocopherol", "bht", 0.2),
        ("allantoin", "panthenol-75", 2.0),
    ],
)
def test_the_same_work_is_counted_by_what_does_it(missing: str, replacement: str, times: float) -> None:
    answer = without(missing, replacements=[replacement])
    lines = {line.material: line.percent for option in answer.options for line in option.recipe.lines}
    use = library()[missing]["use"]
    had = round(min(use["max"], 2 * max(use["min"], 0.05)), 2)
    assert 0.8 * times * had - 0.01 <= lines[replacement] <= 1.25 * times * had + 0.01
    assert "another-purpose" not in {note.id for note in answer.notes}


def test_a_replacement_that_is_named_stays_the_makers_and_is_told_apart() -> None:
    answer = without("titanium-dioxide", replacements=["ultramarine-blue"])
    assert [option.replacement for option in answer.options] == ["ultramarine-blue"]
    (told,) = (note.text for note in answer.notes if note.id == "another-purpose")
    assert "Ultramarine" in told
    assert "white colour" in told


def test_materials_of_the_request_are_known_by_what_is_in_them() -> None:
    own = {
        "key": "snow",
        "name": "Snow white",
        "form": "powder",
        "roles": ["colourant"],
        "composition": {"ci 77891": 90, "Silica": 10},
    }
    options = without("titanium-dioxide", materials=[own]).options
    assert "snow" in {option.replacement for option in options}
