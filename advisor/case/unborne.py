"""The pH and the heat that a material, by its own data, does not bear in a recipe."""

from collections.abc import Iterator, Mapping

from advisor.case.watched import Watched
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.pairs import PairsFile
from advisor.rulebook.stated import BEYOND_WINDOW, heat_named, window_named


def unborne(
    amounts: Amounts, of: Mapping[str, Ingredient], ph: float | None, rules: PairsFile
) -> Iterator[Watched]:
    """Return what the materials of a recipe say they do not bear and get.

    Parameters
    ----------
    amounts : mapping
        What is in the recipe [%].
    of : mapping
    ph : float, optional
        The measured pH; without it none is too high or too low.
    rules : PairsFile
        Severity and sentences.
    """
    for key in amounts:
        for name in of[key].material.incompatible_with:
            yield from _at_ph(of[key], name, ph, rules)
            limit = heat_named(name)
            if limit is not None:
                yield from _hot(of[key], limit, [of[other] for other in amounts if other != key], rules)


def _at_ph(one: Ingredient, name: str, ph: float | None, rules: PairsFile) -> Iterator[Watched]:
    low, high = window_named(name) or _own_window(one, name, rules)
    if ph is None or not ((low is not None and ph < low) or (high is not None and ph > high)):
        return
    window = f"not under {low:g}" if low is not None else f"not over {high:g}"
    text = rules.stated_ph.text.format(first=one.name, ph=f"{ph:g}", window=window)
    yield Watched("pair:stated-ph", rules.stated_ph.severity, text, (one.key,))


def _own_window(one: Ingredient, name: str, rules: PairsFile) -> tuple[float | None, float | None]:
    """Return the end of what a material bears that a strong acid or alkali lies beyond."""
    works = one.material.works_ph
    match BEYOND_WINDOW.get(name.casefold()):
        case "min":
            return (rules.stated_ph.acid_under if works is None else works.min, None)
        case "max":
            return (None, rules.stated_ph.alkali_over if works is None else works.max)
    return (None, None)


def _hot(one: Ingredient, limit: float, others: list[Ingredient], rules: PairsFile) -> Iterator[Watched]:
    for other in others:
        melts = other.material.melts_c
        if melts is not None and melts > limit:
            text = rules.stated_heat.text.format(
                first=one.name, second=other.name, limit=f"{limit:g}", melts=f"{melts:g}"
            )
            yield Watched("pair:stated-heat", rules.stated_heat.severity, text, (one.key, other.key))
