"""What a judged dough says, what is believed before any, and when doughs are doubted."""

import math
from collections.abc import Mapping
from itertools import pairwise

from advisor.frozen import dataclass, field


@dataclass(frozen=True, slots=True)
class Dough:
    """One judged dough as evidence.

    Parameters
    ----------
    log_index : float
        ln W, with the library's uptakes [-].
    shares : mapping of str to float
        Share of each powder in the demand for liquid, a p x / sum of a p x, 0 or more [-].
    outcome : int
        The class it was judged: 1 (driest) .. number of thresholds + 1 (wettest).
    weight : float
        How much it counts, 0..1 [-].
    width : float
        Factor on the borders of the classes for a dough of these powders, above 0 [-].

    Raises
    ------
    ValueError
        If a figure is out of its range.

    Examples
    --------
    >>> Dough(log_index=0.05, shares={"kaolin": 0.3, "isethionate": 0.7}, outcome=6).weight
    1.0
    """

    log_index: float
    shares: Mapping[str, float]
    outcome: int
    weight: float = 1.0
    width: float = 1.0

    def __post_init__(self) -> None:
        """Refuse figures that no dough can have."""
        shares = self.shares.values()
        if not all(map(math.isfinite, (self.log_index, *shares))) or min(shares, default=0.0) < 0:
            raise ValueError("log_index and shares must be finite, shares not below 0")
        if not 0 <= self.weight <= 1:
            raise ValueError("weight must be 0..1")
        if not 0 < self.width < math.inf:
            raise ValueError("width must be finite and above 0")
        if self.outcome < 1:
            raise ValueError("outcome must be 1 or more")


@dataclass(frozen=True, slots=True)
class Habit:
    """One way a maker's words and window may behave, and how likely it is.

    Parameters
    ----------
    chance : float
        How likely it is, above 0 and at most 1 [-].
    words : float
        Factor on the borders of the classes, above 0 [-].
    drift : float
        Standard deviation of the change of the centre from one dough to the next, 0 or more [-].
    memory : float
        For how many doughs a drift keeps its direction, 0 or more; with 0 every change is a draw of its own.
    spread : float, optional
        Scale of the logistic error, above 0 [-]; without, that of the prior.
    heeded : float
        Factor on its chance where the next dough is aimed, above 0 and at most 1 [-].

    Raises
    ------
    ValueError
        If a figure is out of its range.

    Examples
    --------
    >>> Habit(drift=0.02, memory=20.0).words
    1.0
    """

    chance: float = 1.0
    words: float = 1.0
    drift: float = 0.0
    memory: float = 0.0
    spread: float | None = None
    heeded: float = 1.0

    def __post_init__(self) -> None:
        """Refuse habits nobody can have."""
        if not 0 < self.chance <= 1 or not 0 < self.heeded <= 1 or not 0 < self.words < math.inf:
            raise ValueError("chance and heeded must be above 0 and at most 1, words finite and above 0")
        if not 0 <= self.drift < math.inf or not 0 <= self.memory < math.inf:
            raise ValueError("drift and memory must be finite and not below 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is believed before any dough.

    Parameters
    ----------
    thresholds : tuple of float
        Borders of the ordered classes on ln(W/c), ascending [-].
    spread : float
        Scale s of the logistic error of one judgement on ln W, above 0 [-].
    centre : float
        Mean of c, 0 where the library's uptakes are believed [-].
    centre_sd : float
        Standard deviation of c, above 0 [-].
    demand_sds : mapping of str to float
        Relative standard deviation of each powder's demand [-]; a powder not named, or with 0, has none.
    demand_means : mapping of str to float
        Mean of ln(demand / library's demand) where a bench test has measured it [-]; a powder not named
        has 0.
    habits : tuple of Habit
        How the maker's words and window may behave; their chances add up to 1.
    slips : float
        Share of the verdicts that are any class at all, 0 or more and below 1 [-].

    Raises
    ------
    ValueError
        If the thresholds do not ascend, or a scale is not a finite number of the right sign.

    Examples
    --------
    >>> Prior(thresholds=(-0.1, 0.1), spread=0.0, centre_sd=0.2, demand_sds={})
    Traceback (most recent call last):
    ...
    ValueError: spread and centre_sd must be finite and above 0, demand_sds finite and not below 0
    """

    thresholds: tuple[float, ...]
    spread: float
    centre: float = 0.0
    centre_sd: float
    demand_sds: Mapping[str, float]
    demand_means: Mapping[str, float] = field(default_factory=dict)
    habits: tuple[Habit, ...] = (Habit(),)
    slips: float = 0.0

    def __post_init__(self) -> None:
        """Refuse figures that no prior can have."""
        tau = self.thresholds
        if not tau or not all(map(math.isfinite, tau)) or any(b <= a for a, b in pairwise(tau)):
            raise ValueError("thresholds must be finite and ascend")
        sds = self.demand_sds.values()
        scales = (self.spread, self.centre_sd)
        if not all(0 < x < math.inf for x in scales) or not all(0 <= x < math.inf for x in sds):
            raise ValueError(
                "spread and centre_sd must be finite and above 0, demand_sds finite and not below 0"
            )
        if not 0 <= self.slips < 1 or not math.isclose(sum(one.chance for one in self.habits), 1.0):
            raise ValueError("slips must be 0 or more and below 1, the chances of habits add up to 1")
        if not all(map(math.isfinite, (self.centre, *self.demand_means.values()))):
            raise ValueError("centre and demand_means must be finite")
        if any(not self.demand_sds.get(powder) for powder in self.demand_means):
            raise ValueError("a powder in demand_means needs a standard deviation above 0 in demand_sds")


@dataclass(frozen=True, slots=True)
class LearningRules:
    """When doughs that disagree are doubted.

    Parameters
    ----------
    outlier_doughs : int
        Fewest doughs among which one can be called an outlier, 2 or more.
    outlier_chance : float
        A dough is an outlier where a verdict at least as extreme had less than this chance, 0..0.5 [-].
    outlier_share : float
        Largest share of the doughs that may be set aside as outliers, 0..0.5 [-]; with more, all are obeyed
        and the contradiction shows in the dispersion.
    dispersion_doughs : int
        Fewest doughs from which a scatter can be told, 2 or more.
    dispersion_excess : float
        The interval widens where the scatter exceeds what the model expects by more than this many of its
        own standard deviations, 0 or more [-].
    spread_doughs : int
        Fewest doughs from which the spread of judgements is chosen by their evidence, 2 or more.
    spread_log_sd : float, optional
        Standard deviation of ln(spread) among makers, above 0 [-]; without, every spread is as likely.
    usual_spread : float, optional
        The spread that a scatter is held against, above 0 [-]; without, that of the prior.

    Raises
    ------
    ValueError
        If a figure is out of its range; a single dough is always obeyed.

    Examples
    --------
    >>> LearningRules(
    ...     outlier_doughs=4,
    ...     outlier_chance=0.005,
    ...     outlier_share=0.2,
    ...     dispersion_doughs=6,
    ...     dispersion_excess=1.5,
    ...     spread_doughs=20,
    ... ).spread_doughs
    20
    """

    outlier_doughs: int
    outlier_chance: float
    outlier_share: float
    dispersion_doughs: int
    dispersion_excess: float
    spread_doughs: int
    spread_log_sd: float = math.inf
    usual_spread: float | None = None

    def __post_init__(self) -> None:
        """Refuse rules that would doubt a single dough or most of the doughs."""
        if min(self.outlier_doughs, self.dispersion_doughs, self.spread_doughs) < 2:
            raise ValueError("outlier_doughs, dispersion_doughs and spread_doughs must be 2 or more")
        if not (
            0 <= self.outlier_chance <= 0.5 and 0 <= self.outlier_share <= 0.5 and self.dispersion_excess >= 0
        ):
            raise ValueError("outlier_chance and outlier_share must be 0..0.5, dispersion_excess 0 or more")
        if not self.spread_log_sd > 0:
            raise ValueError("spread_log_sd must be above 0")
