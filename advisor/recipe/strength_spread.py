"""How sure the active matter of a batch is."""

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from statistics import NormalDist

import numpy as np

from advisor.frozen import dataclass
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.levels import StrengthRules
from advisor.schema.material import Figure, Material

_GRID = 10**7
_STEPS_AT_MOST = 100
_CHANCE_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Spread:
    """A quantity known by a range, in any unit; a typical value makes its density a triangle.

    Examples
    --------
    >>> round(Spread(82.0, 88.0).variance, 6), round(Spread(82.0, 88.0, 85.0).variance, 6)
    (3.0, 1.5)
    """

    low: float
    high: float
    typical: float | None = None

    @property
    def width(self) -> float:
        """The width of the range."""
        return self.high - self.low

    @property
    def mean(self) -> float:
        """The mean."""
        if self.typical is None:
            return (self.low + self.high) / 2
        return (self.low + self.typical + self.high) / 3

    @property
    def variance(self) -> float:
        """The variance."""
        if self.typical is None:
            return self.width**2 / 12
        before, after = self.typical - self.low, self.high - self.typical
        return (self.width**2 - before * after) / 18

    def scaled(self, factor: float) -> "Spread":
        """Return the spread of the quantity times a factor of 0 or more."""
        typical = None if self.typical is None else self.typical * factor
        return Spread(self.low * factor, self.high * factor, typical)


def activity_spread(material: Material) -> Spread:
    """Return the activity of a material as its figure states it [% of the material]."""
    figure = material.active
    if not isinstance(figure, Figure):
        return Spread(figure, figure)
    low = figure.typical if figure.low is None else figure.low
    high = figure.typical if figure.high is None else figure.high
    return Spread(low, high, figure.typical)


def active_terms(ingredients: Mapping[str, Ingredient], percents: Mapping[str, float]) -> dict[str, Spread]:
    """Return what each material with active matter brings [% of the recipe], without cationics."""
    return {
        key: activity_spread(ingredients[key].material).scaled(percent / 100)
        for key, percent in percents.items()
        if percent and ingredients[key].active > 0
    }


@dataclass(frozen=True, slots=True)
class Strength:
    """The active matter of a batch [% of the recipe], with the chance (0..1) to lie in a band."""

    mean: float
    sd: float
    chance_in_band: float | None
    interval: tuple[float, float]
    exact: bool


def strength(
    terms: Sequence[Spread], rules: StrengthRules, band: tuple[float, float] | None = None
) -> Strength:
    """Return mean, standard deviation, interval and chance of a sum of independent quantities.

    Parameters
    ----------
    terms : sequence of Spread
        What each line brings [% of the recipe], in canonical order; weighing errors as lines of their own.
    rules : StrengthRules
        Interval, and when the chance is drawn instead of reckoned.
    band : pair of float, optional
        The band asked for.

    Examples
    --------
    >>> rules = StrengthRules(exact_pieces_at_most=4096, draws=1000, seed=1, interval=0.8, text={},
    ...     basis="estimate", source="example")
    >>> terms = [Spread(82, 88).scaled(0.55), Spread(93, 97).scaled(0.15), Spread(28, 32).scaled(0.20)]
    >>> found = strength(terms, rules, (65.0, 68.0))
    >>> round(found.mean, 2), round(found.sd, 4), round(found.chance_in_band, 6), found.exact
    (67.0, 0.9954, 0.798506, True)
    """
    mean = math.fsum(term.mean for term in terms)
    sd = math.sqrt(math.fsum(term.variance for term in terms))
    uncertain = [term for term in terms if _on_grid(term.high) > _on_grid(term.low)]
    constant = math.fsum(term.low for term in terms if _on_grid(term.high) <= _on_grid(term.low))
    tail = (1 - rules.interval) / 2
    if not uncertain:
        inside = None if band is None else float(band[0] <= mean <= band[1])
        return Strength(mean, 0.0, inside, (mean, mean), exact=True)
    if math.prod(2 if term.typical is None else 3 for term in uncertain) <= rules.exact_pieces_at_most:
        total = _Sum(uncertain, constant)
        chance = None if band is None else total.below(band[1]) - total.below(band[0])
        return Strength(mean, sd, chance, (total.quantile(tail), total.quantile(1 - tail)), exact=True)
    draws = _drawn(uncertain, rules) + constant
    chance = None if band is None else float(np.mean((draws >= band[0]) & (draws <= band[1])))
    low, high = np.quantile(draws, [tail, 1 - tail])
    return Strength(mean, sd, chance, (float(low), float(high)), exact=False)


def weighing_terms(
    percents: Mapping[str, float], activity: Mapping[str, float], batch_grams: float, balance_step: float
) -> list[Spread]:
    """Return what the reading of the balance adds to the spread [% of the recipe].

    Each weight may be off by half a step to either side; the strength then moves by the difference between
    the activity of that material and that of the whole.

    Parameters
    ----------
    percents : mapping
        The recipe [%].
    activity : mapping
        Activity of each material, 0..1.
    batch_grams, balance_step : float
        Batch and step of the balance [g].
    """
    whole = math.fsum(percents[key] * activity[key] for key in percents) / 100
    terms = []
    for key in sorted(percents):
        reach = abs(activity[key] - whole) * balance_step / 2 / batch_grams * 100
        if reach > 0:
            terms.append(Spread(-reach, reach))
    return terms


def draw_error(chance: float, draws: int) -> float:
    """Return by how much a drawn chance (0..1) may be off, as its 95 % half interval."""
    return NormalDist().inv_cdf(0.975) * math.sqrt(max(chance * (1 - chance), 0.0) / draws)


class _Sum:
    """The distribution of a sum of flat and triangular quantities, in exact integers.

    The density of each is a sum of truncated powers; so is that of the sum, and its integral. Places stand
    on a grid so fine that the rounding of a value cannot be seen.
    """

    def __init__(self, terms: Sequence[Spread], constant: float) -> None:
        self._low = math.fsum(term.low for term in terms) + constant
        self._high = math.fsum(term.high for term in terms) + constant
        pieces: dict[tuple[int, int], Fraction] = {(_on_grid(constant), 0): Fraction(1)}
        for term in terms:
            grown: dict[tuple[int, int], Fraction] = {}
            for (place, power), weight in pieces.items():
                for (start, order), factor in _truncated_powers(term).items():
                    at = (place + start, power + order)
                    grown[at] = grown.get(at, Fraction(0)) + weight * factor
            pieces = grown
        weights = {at: weight / math.factorial(at[1]) for at, weight in pieces.items() if weight}
        self._whole = math.lcm(*(weight.denominator for weight in weights.values()))
        self._pieces = sorted(
            (place, power, weight.numerator * (self._whole // weight.denominator))
            for (place, power), weight in weights.items()
        )

    def below(self, value: float) -> float:
        """Return the chance that the sum is at most a value."""
        if value <= self._low:
            return 0.0
        if value >= self._high:
            return 1.0
        at = _on_grid(value)
        total = 0
        for place, power, weight in self._pieces:
            if place >= at:
                break
            total += weight * (at - place) ** power
        return min(1.0, max(0.0, total / self._whole))

    def quantile(self, chance: float) -> float:
        """Return the value the sum is below with a chance, by false position that halves a stuck end."""
        low, high = self._low, self._high
        under, over = -chance, 1 - chance
        stuck = 0
        for _ in range(_STEPS_AT_MOST):
            middle = low - under * (high - low) / (over - under)
            gap = self.below(middle) - chance
            if abs(gap) < _CHANCE_TOLERANCE:
                return middle
            if gap < 0:
                low, under = middle, gap
                over = over / 2 if stuck < 0 else over
                stuck = -1
            else:
                high, over = middle, gap
                under = under / 2 if stuck > 0 else under
                stuck = 1
        return (low + high) / 2


def _on_grid(value: float) -> int:
    return round(value * _GRID)


def _truncated_powers(term: Spread) -> dict[tuple[int, int], Fraction]:
    """Return the density as {(start, order): weight}; order 1 is a step, order 2 a ramp."""
    low, high = _on_grid(term.low), _on_grid(term.high)
    width = Fraction(high - low)
    if term.typical is None:
        return {(low, 1): 1 / width, (high, 1): -1 / width}
    top = _on_grid(term.typical)
    peak = 2 / width
    pieces: dict[tuple[int, int], Fraction] = {}
    if top > low:
        rise = peak / (top - low)
        pieces[(low, 2)] = rise
        pieces[(top, 2)] = -rise
    else:
        pieces[(low, 1)] = peak
    if top < high:
        fall = peak / (high - top)
        pieces[(top, 2)] = pieces.get((top, 2), Fraction(0)) - fall
        pieces[(high, 2)] = fall
    else:
        pieces[(high, 1)] = -peak
    return pieces


def _drawn(terms: Sequence[Spread], rules: StrengthRules) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    random = np.random.default_rng(rules.seed)
    total = np.zeros(rules.draws)
    for term in terms:
        if term.typical is None:
            total += random.uniform(term.low, term.high, rules.draws)
        else:
            total += random.triangular(term.low, term.typical, term.high, rules.draws)
    return total
