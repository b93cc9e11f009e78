"""The largest request of every task that its shape lets in, and others it refuses."""

import json
import random
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from advisor.registry import TASKS, Task
from advisor.rulebook.load import load_rulebook
from tests.answers.__main__ import SAMPLES
from tests.helpers import makers

LINES, MATERIALS, DOUGHS, WEIGHINGS = 200, 1000, 500, 500
_BODY = 4 * 1024 * 1024
_TIED = {"use", "evidence", "incompatible_with", "identifiers", "also"}
_NAMED = 20
_BORNE = 40  # lines of which a rework may say all it holds
_POURED = ("liquid", "paste")
_SOLID = ("powder", "granule", "flake")


@lru_cache(maxsize=1)
def materials() -> tuple[dict[str, Any], ...]:
    """Return as many materials as a request takes, each with the composition of one of the library's."""
    library = [one.material for one in load_rulebook().ingredients.values()]
    kinds = [[one for one in library if one.form in forms] for forms in (_SOLID, _POURED)]
    made = []
    for place in range(MATERIALS):
        kind = kinds[place % 3 == 0]
        told = kind[place * 7 % len(kind)].model_dump(mode="json", exclude_none=True, exclude=_TIED)
        avoids = [f"nothing {place} {at}" for at in range(_NAMED)]
        made.append({**told, "key": f"m-{place}", "name": f"Material {place}", "incompatible_with": avoids})
    return tuple(made)


def recipe(lines: int, seed: int = 0) -> dict[str, Any]:
    """Return a recipe of so many of these materials."""
    draw = random.Random(seed)
    places = range(lines) if not seed else draw.sample(range(MATERIALS), lines)
    amounts = {place: draw.uniform(0.5, 2.0) * (1.0 if place % 3 else 0.55) for place in places}
    whole = sum(amounts.values())
    percents = {place: round(amount * 100 / whole, 2) for place, amount in amounts.items()}
    heaviest = max(percents, key=lambda place: percents[place])
    percents[heaviest] = round(percents[heaviest] + 100 - sum(percents.values()), 2)
    return {"lines": [{"material": f"m-{place}", "percent": percent} for place, percent in percents.items()]}


def doughs(lines: int) -> list[dict[str, Any]]:
    """Return as many judged doughs as a request takes."""
    feels = ("too_wet", "too_dry", "workable")
    return [
        {"recipe": recipe(lines, seed), "report": {"feel": feels[seed % 3]}} for seed in range(1, DOUGHS + 1)
    ]


def largest(task: Task) -> dict[str, Any]:
    """Return the sample of a task with the most of everything its shape has and a body holds."""
    body: dict[str, Any] = json.loads((SAMPLES / f"{task.sample}.json").read_bytes())
    fields, in_grams = task.request.model_fields, '"grams"' in json.dumps(body.get("recipe", {}))
    long = recipe(LINES)
    keys = [line["material"] for line in long["lines"]]
    if in_grams:
        long = {
            "lines": [{"material": one["material"], "grams": one["percent"] * 10} for one in long["lines"]]
        }
    most: dict[str, Any] = {
        "materials": materials(),
        "recipe": long,
        "history": doughs(12),
        "shelf": [one["key"] for one in materials()],
        "replacements": [one["key"] for one in materials()][LINES:],
        "missing": keys[0],
        "weighed": {
            one["material"]: round(one["percent"] * 10 * (1 + at % 5 / 10), 1)
            for at, one in enumerate(recipe(LINES)["lines"])
        },
        "recipes": [recipe(LINES, seed) for seed in range(1, len(body.get("recipes", ())) + 1)],
        "batches": [
            {**one, "recipe": recipe(LINES, seed)} for seed, one in enumerate(body.get("batches", ()), 1)
        ],
        "weighings": [{"hours": float(at), "grams": 100 - 15 * at / (at + 40)} for at in range(WEIGHINGS)],
        "phases": {key: "ABC"[at % 3] for at, key in enumerate(keys)},
        "lots": {key: f"lot {key}" for key in keys},
        "earlier_prices": dict.fromkeys(keys, 1.0),
        "mass_left": 99.9,
        "batch_grams": 1000,
    }
    tied_to_the_sample = ("wishes", "drying", "added", "made_of", "features", "fixed")
    kept = {name: value for name, value in body.items() if name not in tied_to_the_sample}
    found = {**kept, **{name: value for name, value in most.items() if name in fields}}
    if task.name == "rework":
        found["recipe"] = recipe(_BORNE)
        found["lots"] = {line["material"]: "a lot" for line in found["recipe"]["lines"]}
    if task.name == "draft":
        found = {"wishes": body["wishes"], "shelf": sorted(load_rulebook().ingredients)}
    if len(json.dumps(found)) > _BODY:
        found["history"] = doughs(4)
    return found


def all_largest() -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield path and body for every task that answers one request."""
    for task in TASKS:
        if task.method == "POST" and task.name != "sweep":
            yield f"/v1/{task.address}", largest(task)


def small_but_long() -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield what computes longest within a body that is small."""
    keys = sorted(load_rulebook().ingredients)[:60]
    lines = [{"material": key, "percent": 1.6 if at else 5.6} for at, key in enumerate(keys)]
    for task in TASKS:
        body = largest(task) if task.method == "POST" and task.name not in ("sweep", "draft") else {}
        if body.get("recipe"):
            grams = "grams" in body["recipe"]["lines"][0]
            written = (
                [{"material": one["material"], "grams": one["percent"] * 10} for one in lines]
                if grams
                else lines
            )
            small = {name: value for name, value in body.items() if len(json.dumps(value)) < 200}
            small["recipe"] = {"lines": written}
            if "weighed" in body:
                small["weighed"] = {
                    one["material"]: round(one["percent"] * 10 * (1 + at % 5 / 10), 1)
                    for at, one in enumerate(lines)
                }
            if "missing" in body:
                small["missing"] = keys[0]
            yield f"/v1/{task.address}", small


def refused() -> Iterator[tuple[str, bytes]]:
    """Yield bodies that are wrong in much of what they hold, by what they are."""
    for size in (16 * 1024, 256 * 1024, _BODY - 100):
        yield f"{size // 1024} kB of empty objects", b'{"materials":[' + b"{}," * (size // 3 - 6) + b"{}]}"
    empty = [{"recipe": {"lines": [{}] * 190}, "report": {}}] * DOUGHS
    yield "500 doughs of 190 empty lines", json.dumps({"history": empty}).encode()
    body = {"recipe": makers.recipe(1), "report": makers.report(1)}
    yield (
        "a name of 4 MiB",
        json.dumps({**body, "recipe": {**body["recipe"], "name": "x" * (_BODY - 4000)}}).encode(),
    )
    yield "a number of 4 million digits", b'{"recipe":' + b"1" * (_BODY - 100) + b"}"
    yield "400 000 nested lists", b"[" * 400_000
    yield "a field 100 000 times", b"{" + b",".join([b'"recipe":1'] * 100_000) + b"}"
    yield (
        "100 000 fields nobody knows",
        json.dumps({**body, **{f"field-{at}": 1 for at in range(100_000)}}).encode(),
    )
    unknown = [{"material": f"no-such-{at}", "percent": 0.5} for at in range(LINES)]
    yield "200 lines of unknown materials", json.dumps({**body, "recipe": {"lines": unknown}}).encode()
    wrong = [{**one, "composition": dict.fromkeys(one["composition"], 0.01)} for one in materials()]
    yield "1 000 materials that do not add up", json.dumps({**body, "materials": wrong}).encode()
    yield (
        "1 000 materials twice the same",
        json.dumps({**body, "materials": [materials()[0]] * MATERIALS}).encode(),
    )
    foreign = [{"recipe": recipe(12, seed), "report": {"feel": "too_wet"}} for seed in range(1, DOUGHS + 1)]
    yield "500 doughs of unknown materials", json.dumps({**body, "history": foreign}).encode()
