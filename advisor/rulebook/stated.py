"""What a material's own data say it does not bear: a pH, heat, or another material."""

from functools import lru_cache

from advisor.rulebook.ingredient import folded_name

_REMEMBERED = 1024
BEYOND_WINDOW = {"strong acid": "min", "strong alkali": "max"}


def is_material(name: str) -> bool:
    """Tell whether a name in ``incompatible_with`` stands for materials, not for pH or heat."""
    return name.casefold() not in BEYOND_WINDOW and window_named(name) is None and heat_named(name) is None


@lru_cache(maxsize=_REMEMBERED)
def window_named(name: str) -> tuple[float | None, float | None] | None:
    """Return the pH a material bears, low and high, where a text speaks of pH.

    Examples
    --------
    >>> window_named("pH above 6"), window_named("pH below 5"), window_named("acids")
    ((None, 6.0), (5.0, None), None)
    """
    match folded_name(name).split():
        case ["ph", "above" | "over", figure] if _is_figure(figure):
            return (None, float(figure))
        case ["ph", "below" | "under", figure] if _is_figure(figure):
            return (float(figure), None)
    return None


@lru_cache(maxsize=_REMEMBERED)
def heat_named(name: str) -> float | None:
    """Return the temperature a material bears [degrees Celsius] where a text speaks of heat.

    Examples
    --------
    >>> heat_named("heat above 60 C"), heat_named("acids")
    (60.0, None)
    """
    match folded_name(name).split():
        case ["heat", "above" | "over", figure, *_] if _is_figure(figure):
            return float(figure)
    return None


def _is_figure(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()
