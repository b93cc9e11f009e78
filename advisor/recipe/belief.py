"""What is believed of powders, lots, methods and a maker's habits before any dough, and by a bench test."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

from advisor.frozen import dataclass, replace
from advisor.learning import Dough, Habits, LearningRules, Prior, choose_spread, with_habits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.recipe import Method

Get = Callable[[str], Ingredient | None]


@dataclass(frozen=True, slots=True)
class Measured:
    """A powder's demand for liquid as a bench test found it [g/g], with its relative standard deviation."""

    demand: float
    sd: float


def lot_key(powder: str, lot: str) -> str:
    """Return the key a lot of a powder has in the window."""
    return f"{powder}#{lot}"


def method_key(method: Method) -> str:
    """Return the key a method has in the window."""
    return f"method:{method}"


def pooled_sd(key: str, rules: DoughRules) -> float | None:
    """Return the prior standard deviation of a lot or a method [-]; None where the key is a powder's.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> pooled_sd("kaolin#a-17", load_rulebook().dough), pooled_sd("kaolin", load_rulebook().dough)
    (0.1, None)
    """
    if "#" in key:
        return rules.pooling.lot_sd
    return rules.pooling.method_sd if key.startswith("method:") else None


def learning_rules(rules: DoughRules) -> LearningRules:
    """Return when doughs that disagree are doubted."""
    figures = {name: figure for name, figure in rules.learning if name not in ("basis", "source")}
    return LearningRules(**figures, usual_spread=rules.classes.spread)


def prior(sds: Mapping[str, float], means: Mapping[str, float], rules: DoughRules) -> Prior:
    """Return what is believed before any dough, with the spread of judgements as first guessed."""
    among = rules.among.get("centre")
    return Prior(
        thresholds=rules.classes.thresholds,
        spread=rules.classes.spread,
        centre=rules.prior.centre_mean if among is None else among.mean,
        centre_sd=rules.prior.centre_sd if among is None else among.sd,
        demand_sds=sds,
        demand_means={key: mean for key, mean in means.items() if sds.get(key)},
    )


def with_own_habits(doughs: Sequence[Dough], belief: Prior, rules: DoughRules) -> Prior:
    """Return what is believed, with the habits that the newest of a maker's doughs speak for.

    How wide the words are, how fast the window drifts and how often a report is a slip; and, once the doughs
    are enough, how far judgements scatter.
    """
    if len(doughs) < rules.habits.doughs:
        return belief
    figures, classes = rules.habits, rules.classes
    habits = Habits(**figures.model_dump(exclude={"basis", "source", "doughs", "slips"}))
    believed = with_habits(doughs, replace(belief, slips=figures.slips), habits)
    spread = choose_spread(
        doughs[-figures.newest :],
        believed,
        classes.spread_lowest,
        classes.spread_highest,
        learning_rules(rules),
    )
    return replace(believed, spread=spread)


def believed(keys: Iterable[str], get: Get, measured: Mapping[str, Measured], rules: DoughRules) -> Prior:
    """Return what is believed of powders, lots and methods before any dough.

    Parameters
    ----------
    keys : iterable of str
        Keys of the window; see ``advisor.recipe.consistency.window_shares``.
    get : callable
        Returns a material by its key, or None.
    measured : mapping
        Demands found by bench tests. Each is weighed against the library's figure by their variances.
    rules : DoughRules
    """
    sds: dict[str, float] = {}
    means: dict[str, float] = {}
    for key in keys:
        pooled, among = pooled_sd(key, rules), rules.among.get(key)
        one = get(key)
        sds[key] = rules.prior.demand_relative_sd if one is None else one.uptake_sd
        if among is not None:
            means[key], sds[key] = among.mean, among.sd
        elif pooled is not None:
            sds[key] = pooled
        if key in measured and one is not None and one.uptake > 0:
            found = means.get(key, 0.0)
            more, sds[key] = weighed_in(measured[key], one.uptake * math.exp(found), sds[key])
            means[key] = found + more
    return prior(sds, means, rules)


def weighed_in(measured: Measured, library: float, library_sd: float) -> tuple[float, float]:
    """Return mean and standard deviation of ln(demand / library's demand) after a bench test.

    Examples
    --------
    >>> mean, sd = weighed_in(Measured(0.44, 0.15), 0.40, 0.30)
    >>> round(mean, 4), round(sd, 4)
    (0.0762, 0.1342)
    """
    ratio = math.log(measured.demand / library)
    if library_sd <= 0:
        return 0.0, 0.0
    share = library_sd**2 / (library_sd**2 + measured.sd**2)
    return share * ratio, math.sqrt(share) * measured.sd
