"""The smallest weight a balance is good for."""

from advisor.rulebook.weighing import MinimumWeightRules


def minimum_weight(spread_grams: float, balance_step: float, rules: MinimumWeightRules) -> float:
    """Return the minimum weight of a pharmacopoeia [g].

    Parameters
    ----------
    spread_grams : float
        Standard deviation of repeated weighings [g], 0 or more.
    balance_step : float
        What the balance reads to [g].
    rules : MinimumWeightRules
        Factor, least spread [steps] and share (0..1).

    Notes
    -----
    For pharmacies: it asks about ten times more of a balance than a bar needs.

    Examples
    --------
    >>> rules = MinimumWeightRules(
    ...     factor=2.0, least_spread_steps=0.41, share=0.001, basis="published", source="USP <41>"
    ... )
    >>> round(minimum_weight(0.00015, 0.0001, rules), 5), round(minimum_weight(0.0, 1.0, rules), 6)
    (0.3, 820.0)

    References
    ----------
    United States Pharmacopeia, general chapter 41, Balances.
    """
    return rules.factor * max(spread_grams, rules.least_spread_steps * balance_step) / rules.share


def smallest_sensible(balance_step: float, error_share: float) -> float:
    """Return the weight in which half a step is ``error_share`` (0..1), in the unit of the step.

    Examples
    --------
    >>> smallest_sensible(0.1, 0.01)
    5.0
    """
    return balance_step / 2 / error_share
