"""Recipes in a few words, for the tests: percents by key, filled up to 100 with what is harmless."""

from typing import Any

import advisor

REST = {
    "isethionate-powder": 52.1,
    "kaolin": 12.0,
    "corn-starch": 7.0,
    "betaine-30": 23.0,
    "glycerin": 5.0,
    "phenoxyethanol-blend": 0.9,
}


def filled(parts: dict[str, float], rest: dict[str, float] | None = None) -> dict[str, Any]:
    """Return a recipe that holds the parts, and of the rest as much as makes 100."""
    others = {key: amount for key, amount in (REST if rest is None else rest).items() if key not in parts}
    room = (100 - sum(parts.values())) / sum(others.values())
    amounts = {**parts, **{key: round(amount * room, 4) for key, amount in others.items()}}
    last = next(iter(others))
    amounts[last] = round(amounts[last] + 100 - sum(amounts.values()), 4)
    return {"lines": [{"material": key, "percent": amount} for key, amount in amounts.items()]}


def inline(key: str, composition: dict[str, float], **more: Any) -> dict[str, Any]:
    """Return a material of the request."""
    named = {"key": key, "name": key.replace("-", " ").capitalize(), "form": "powder", "roles": ["filler"]}
    return {**named, "composition": composition, **more}


def special(answer: Any) -> dict[str, str]:
    """Return the special cautions of an answer by id, the last text of each."""
    return {item.id: item.text for item in answer.cautions if not item.standing}


ROADS = ("assess", "correct", "add", "weigh", "recover", "substitute", "record")


def on_every_road(recipe: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return the answers of all verbs about one recipe; what is missing is kaolin."""
    grams = {
        "lines": [
            {"material": one["material"], "grams": round(one["percent"] * 5, 4)} for one in recipe["lines"]
        ]
    }
    report = {"feel": "too_wet", "degree": "slight"}
    wishes = {"active": {"min": 0}}
    bowl = {one["material"]: one["grams"] for one in grams["lines"]}
    sheet = {"recipe": recipe, "batch_grams": 500.0, "balance_step": 0.01, **more}
    asked = {
        "assess": {"recipe": recipe, **more},
        "correct": {"recipe": recipe, "report": report, "wishes": wishes, **more},
        "add": {"recipe": grams, "report": report, "balance_step": 0.01, "wishes": wishes, **more},
        "weigh": sheet,
        "recover": {**sheet, "weighed": bowl, "mixed": True},
        "substitute": {
            "recipe": recipe,
            "missing": "kaolin",
            "replacements": ["corn-starch"],
            "wishes": wishes,
            **more,
        },
        "record": {
            "recipe": recipe,
            "batch_grams": 500.0,
            **{k: v for k, v in more.items() if k == "materials"},
        },
    }
    return {verb: getattr(advisor, verb)(body) for verb, body in asked.items()}
