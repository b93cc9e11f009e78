"""A judge of corrections by what a master would and would not move; it knows the library and nothing of the program."""

from collections.abc import Iterator, Mapping
from typing import Any

import advisor
from advisor.correction.schema import CorrectionAnswer
from advisor.errors import NoRecipeFits
from advisor.rulebook.load import load_rulebook
from helpers.ordinary import RECIPES, Asked, Request, corrections, is_held

MATERIALS: dict[str, Request] = {
    one.material.key: one.material.model_dump(mode="json") for one in load_rulebook().ingredients.values()
}
SMALL_ROLES = {"humectant", "binder", "structurant", "emollient"}
SOFTENS = {"emollient", "humectant", "fragrance"}
MARKETS = ("none", "eu")
POWDERS = {"powder", "granule", "flake"}


def grid() -> Iterator[Asked]:
    """Yield twenty recipes by every feel and degree, two markets and both aims; the degrees of lowest cost once."""
    yield from corrections(RECIPES, markets=MARKETS, aims=("closest",))
    yield from corrections(RECIPES, degrees=("clear",), markets=MARKETS, aims=("lowest_cost",))


def answered(asked: Asked) -> CorrectionAnswer | None:
    """Return the answer, None where no recipe fits."""
    try:
        return advisor.correct(asked.request)
    except NoRecipeFits:
        return None


def faults(asked: Asked, answer: CorrectionAnswer) -> Iterator[str]:
    """Yield what a master would not sign: the kind of each fault, a colon, and what it is about."""
    closest = asked.request["wishes"]["aim"] == "closest"
    moved = {change.material: change for change in answer.changes}
    for key, change in moved.items():
        if is_held(MATERIALS[key]):
            yield f"held: {key} {change.change:+g}"
        too_small = abs(change.change) < least_move(key, change.before) - 1e-9
        if closest and too_small and "makes room" not in change.why:
            yield f"small: {key} {change.change:+g}"
    if closest and len(moved) > 4:
        yield f"many: {len(moved)}"
    if not closest:
        before, after = answer.before.totals.price_per_kg, answer.after.totals.price_per_kg
        if after > before + 0.005 and asked.request["report"]["feel"] == "workable":
            yield f"dearer: {after - before:+g}"
    yield from contradictions(asked.request["report"], answer)


def least_move(key: str, before: float) -> float:
    """Return by how much a line moves at least [points]."""
    if 0 < before <= 3 and MATERIALS[key]["roles"][0] in SMALL_ROLES:
        return max(0.1, before / 10)
    return 0.3


def contradictions(report: Mapping[str, Any], answer: CorrectionAnswer) -> Iterator[str]:
    """Yield where what is advised and what the table does exclude each other."""
    feel, advice = report["feel"], {item.id for item in answer.advice}
    change = {one.material: one.change for one in answer.changes}
    powder = sum(x for key, x in change.items() if MATERIALS[key]["form"] in POWDERS)
    before, after = answer.before.consistency.wetness, answer.after.consistency.wetness
    process = {
        "let-it-cool",
        "warm-it",
        "knead-on",
        "let-it-rest",
        "mill-the-needles",
        "dry-on",
        "dry-longer",
    }
    if feel in ("too_wet", "too_dry") and not change and not advice & process:
        yield "contradiction: unchanged, and nothing comes first"
    if "not-more-powder" in advice and powder > 0.005:
        yield f"contradiction: powder {powder:+g} though it is not to be more"
    if "mill-the-needles" in advice and change and after != before:
        yield "contradiction: liquid moves though the grains come first"
    if "no-more-liquid" in advice and after > before * 1.021:
        yield "contradiction: wetter though it lacks no liquid"
    if "less-clay" in advice and any(x > 0 and _is_clay(key) for key, x in change.items()):
        yield "contradiction: more clay though clay shrinks"
    if feel == "stays_soft":
        for key, x in change.items():
            if x > 0 and MATERIALS[key]["roles"][0] in SOFTENS:
                yield f"contradiction: {key} {x:+g} in a soft bar"


def _is_clay(key: str) -> bool:
    names = MATERIALS[key]["composition"]
    return any(name in ("Kaolin", "Bentonite", "Illite", "Montmorillonite") for name in names)


def not_this_bar(asked: Asked, answer: CorrectionAnswer) -> Iterator[str]:
    """Yield where the cheapest bar is no longer the bar it was, by sums written out from the library."""
    own = dict(asked.about.lines)
    after = {line.material: line.percent for line in answer.recipe.lines}
    anionic, amphoteric = ({"anionic"}, {"amphoteric", "zwitterionic"})
    before_ratio, after_ratio = (
        _active(amounts, anionic) / (_active(amounts, amphoteric) or 1e9) for amounts in (own, after)
    )
    if _active(own, amphoteric) and not 0.79 <= after_ratio / before_ratio <= 1.21:
        yield f"balance: {before_ratio:.2f} to {after_ratio:.2f}"
    for role, share in (("humectant", 0.21), ("structurant", 0.21)):
        was, now = _of_role(own, role), _of_role(after, role)
        if abs(now - was) > share * was + 0.02:
            yield f"{role}: {was:g} to {now:g}"
    if (
        _of_role(after, "filler")
        > max(_of_role(own, "filler"), min(30.0, _of_role(own, "filler") + 5)) + 0.02
    ):
        yield f"fillers: {_of_role(own, 'filler'):g} to {_of_role(after, 'filler'):g}"
    for key in after.keys() - own.keys():
        material = MATERIALS[key]
        surfactant = {"primary_surfactant", "co_surfactant"} & set(material["roles"])
        if key in ("water", "maltodextrin", "inulin") or (material.get("soluble") and not surfactant):
            yield f"new: {key}"


def _active(amounts: Mapping[str, float], charges: set[str]) -> float:
    return sum(
        percent * _typical(MATERIALS[key].get("active")) / 100
        for key, percent in amounts.items()
        if MATERIALS[key].get("charge") in charges
    )


def _typical(figure: Any) -> float:
    return float(figure["typical"] if isinstance(figure, Mapping) else figure or 0.0)


def _of_role(amounts: Mapping[str, float], role: str) -> float:
    return sum(percent for key, percent in amounts.items() if MATERIALS[key]["roles"][0] == role)
