"""The one place of the sentences that say why a line moved; each follows from the demands it serves."""

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.trade.demand import Demand
from advisor.trade.ingredient import Ingredient
from advisor.trade.measures import Amounts

_REASONS_AT_MOST = 3
_WHOLE = 100.0
_NOTICED = 1e-6


@dataclass(frozen=True, slots=True)
class Move:
    """One line that moved [%, or g in a bowl]."""

    one: Ingredient
    before: float
    after: float


def why(move: Move, amounts: Amounts, demands: Sequence[Demand], *, cheapest: bool = False) -> str:
    """Return one sentence: what the change does, and which demands would be broken had this line stayed.

    Parameters
    ----------
    move : Move
    amounts : mapping
        The whole answer [%].
    demands : sequence of Demand
        Every demand the answer meets, the report's target among them.
    cheapest : bool
        Whether the least price was sought.
    """
    left = {**amounts, move.one.key: move.before}
    touched = [demand for demand in demands if demand.measure.touches(move.one.key)]
    broken = _broken(left, amounts, touched, _WHOLE)
    stayed = f"left at {move.before:g} %" if move.before else "without it"
    effect = f"{_effect(move)}, at the least price ({_price(move.one)})" if cheapest else _effect(move)
    if broken:
        told = "; ".join(_consequence(demand, left, _WHOLE) for demand in broken[:_REASONS_AT_MOST])
        return f"{effect}: {stayed}, {told}."
    total = sum(left.values())
    makes_up = f"{stayed}, the parts would add up to {total:.2f} %, not 100"
    return f"{effect}: {makes_up}."


def why_added(
    move: Move, amounts: Amounts, demands: Sequence[Demand], *, otherwise: str, effect: str = ""
) -> str:
    """Return one sentence: what an addition does, and which demands would be missed by more without it.

    Parameters
    ----------
    move : Move
        Before and after in grams.
    amounts : mapping
        The whole bowl afterwards [g].
    demands : sequence of Demand
    otherwise : str
        What is said where no demand alone calls for it.
    effect : str
        What it does, where that is not told by wetting and taking up.
    """
    left = {**amounts, move.one.key: move.before}
    broken = _broken(left, amounts, demands, None)
    does = effect or _effect(move)
    if not broken:
        return f"{does}: {otherwise}."
    told = "; ".join(_consequence(demand, left, None) for demand in broken[:_REASONS_AT_MOST])
    return f"{does}: without these {move.after - move.before:g} g, {told}."


def _broken(left: Amounts, amounts: Amounts, demands: Sequence[Demand], whole: float | None) -> list[Demand]:
    """Return the demands further from being met without a move, those of the report first."""
    broken = [
        d
        for d in demands
        if (gap := d.gap(left, whole)) > _NOTICED and gap > d.gap(amounts, whole) + _NOTICED
    ]
    broken.sort(key=lambda demand: (not demand.id.startswith("target:"), demand.kind == "advice"))
    return broken


def _effect(move: Move) -> str:
    up = move.after > move.before
    new = "New, and takes" if not move.before else "Takes"
    if move.one.liquid_warm:
        if up:
            return "New, and wets the powders" if not move.before else "Wets the powders"
        return "Brings less liquid"
    if up:
        return f"{new} up liquid" if move.one.uptake else f"{new} its place among the solids"
    return "Leaves more liquid to the other powders"


def _price(one: Ingredient) -> str:
    return "price unknown" if one.price is None else f"{one.price:g} per kg"


def _consequence(demand: Demand, left: Amounts, whole: float | None) -> str:
    value = demand.measure.of(left, whole)
    digits = 2 if demand.unit == "%" else 3
    unit = " %" if demand.unit == "%" else ""
    where = " in the dried bar" if demand.state == "as_dried" else ""
    return f"{demand.name}{where} would be {value:.{digits}f}{unit} ({_band(demand, digits)}{unit})"


def _band(demand: Demand, digits: int) -> str:
    low, high = demand.minimum, demand.maximum
    if low is not None and high is not None:
        if abs(low - high) < 1e-9:
            return f"wanted {low:.{digits}f}"
        return f"wanted {low:.{digits}f} to {high:.{digits}f}"
    return f"at least {low:.{digits}f}" if low is not None else f"at most {high:.{digits}f}"
