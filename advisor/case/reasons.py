"""The sentences that say why a line moved; each follows from the demands it serves."""

from collections.abc import Sequence
from typing import Literal

from advisor.frozen import cached_property, dataclass, field
from advisor.recipe.batch import NO_BATCH, Batch
from advisor.recipe.demand import Demand, Side
from advisor.recipe.measures import Amounts
from advisor.rulebook.feels import Route
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.program import ProgramRules
from advisor.schema.base import WHOLE
from advisor.schema.findings import Change
from advisor.writing import behind, decimals, in_state

_REASONS_AT_MOST = 3
_NOTICED = 1e-6
_MOST = 0.5
_KEPT = {
    "law": "the law",
    "active": "the strength",
    "wish": "what you wished",
    "use": "to the usual range",
    "advice": "to what is advised",
    "total": "the total",
}


@dataclass(frozen=True, slots=True)
class Move:
    """One line that moved [%, or g in a bowl]."""

    one: Ingredient
    before: float
    after: float


@dataclass(frozen=True)
class Reasons:
    """Why the lines of an answer moved, each told from the rows that break where that line alone goes back.

    Parameters
    ----------
    moves : sequence of Move
        Every line that moved.
    amounts : mapping
        The whole answer [%].
    demands : sequence of Demand
        Every demand the answer meets, the report's target among them.
    route : str
        Which way the report points; "keep" where nothing was reported.
    rules : ProgramRules
    unpriced : mapping, optional
        What the answer would be had no price been asked of it [%]; None where none was.
    batch : Batch
        How much is made.
    begun : mapping
        What moved before any other line had to [%]: a swap as it stands.
    """

    moves: Sequence[Move]
    amounts: Amounts
    demands: Sequence[Demand]
    route: Route
    rules: ProgramRules
    unpriced: Amounts | None = None
    batch: Batch = NO_BATCH
    begun: Amounts = field(default_factory=dict)

    def change(self, move: Move, instead: str = "") -> Change:
        """Return a move with its reason, or what is said instead, and what were so had the line stayed."""
        broken = self._broken_without(move, self.amounts)
        return Change(
            material=move.one.key,
            before=move.before,
            after=move.after,
            change=round(move.after - move.before, 4),
            why=instead or f"{_does(move)}{self._because(move, broken)}.",
            why_figures=_figures(move, broken, self.amounts),
            grams_before=self.batch.of_percent(move.before),
            grams_after=self.batch.of_percent(move.after),
        )

    def cause(self, move: Move) -> Demand | Literal["price", "total"]:
        """Return the one cause of a move: a demand that breaks where it goes back, the price, the total."""
        return self._cause(move, self._broken_without(move, self.shown_by(move)))

    def _cause(self, move: Move, broken: Sequence[Demand]) -> Demand | Literal["price", "total"]:
        if self._for_price(move):
            asked = [demand for demand in broken if demand.rank in ("law", "wish")]
            return asked[0] if asked and (asked[0].kind == "law" or not self._by_price(move)) else "price"
        return broken[0] if broken else "total"

    def shown_by(self, move: Move) -> Amounts:
        """Return the answer that shows why a line moves: the one without the price where it moves there."""
        return self.amounts if self.unpriced is None or self._for_price(move) else self.unpriced

    def _broken_without(self, move: Move, amounts: Amounts) -> list[Demand]:
        """Return the demands that break where a line alone goes back, what set the lines moving first."""
        key = move.one.key
        concerned = [demand for demand in self.demands if _concerns(demand, key)]
        broken = _broken(_back(move, amounts), amounts, concerned, WHOLE)
        held = move.one.main_role in self.rules.held.roles
        first = ("law", "wish") if held else ()
        return sorted(
            broken,
            key=lambda demand: (demand.kind not in first, not demand.cause, *self._remoteness(demand)),
        )

    @cached_property
    def _own(self) -> Amounts:
        return {**self.amounts, **{move.one.key: move.before for move in self.moves}, **self.begun}

    def _remoteness(self, demand: Demand) -> tuple[bool, bool, float]:
        """Return what ranks a demand as what set the lines moving: missed at first, the report's, by most."""
        gap = demand.gap(self._own, WHOLE)
        missed = gap if gap > _NOTICED else 0.0
        return not missed, not demand.target, -missed / max(demand.maximum or demand.minimum or 0.0, _NOTICED)

    def _because(self, move: Move, broken: Sequence[Demand]) -> str:
        """Return the one cause of a move in the maker's words; ``broken`` is what breaks in the answer."""
        told_here = self.shown_by(move) is self.amounts
        cause, words = self._cause(move, broken) if told_here else self.cause(move), self.rules.reasons
        if cause == "price":
            return f", {self._by_price(move) or words.whole}"
        if cause == "total":
            return f", {words.filled}" if move.after > move.before else f": {words.room}"
        side = _side(cause, _back(move, self.shown_by(move)))
        return f", {self._words_of(cause, side, move)}"

    def _for_price(self, move: Move) -> bool:
        """Tell whether most of a move is made for the price: the answer of least change does not make it."""
        if self.unpriced is None:
            return False
        otherwise = self.unpriced.get(move.one.key, 0.0) - move.before
        return otherwise / (move.after - move.before) < _MOST

    def _words_of(self, demand: Demand, side: Side, move: Move) -> str:
        words, name = self.rules.reasons.cause, demand.name
        told = words.get(f"{demand.group}:{side}:{self.route}") or words.get(f"{demand.group}:{side}")
        if demand.group == "active" and demand.rank == "wish":
            told = words["wish"]
        told = demand.cause or told or words.get(demand.group) or words.get(demand.kind) or words["other"]
        return told.format(name=name, material=move.one.name)

    def _by_price(self, move: Move) -> str:
        """Return that a line costs more than what rises in its place, or less than what falls."""
        rises = move.after > move.before
        others = [
            one for one in self.moves if (one.after > one.before) != rises and one.one.price is not None
        ]
        whole = sum(abs(one.after - one.before) for one in others)
        if move.one.price is None or not whole:
            return ""
        mean = sum(abs(one.after - one.before) * (one.one.price or 0.0) for one in others) / whole
        if rises:
            return self.rules.reasons.cheaper if move.one.price < mean else ""
        return self.rules.reasons.dearer if move.one.price > mean else ""


def _concerns(demand: Demand, key: str) -> bool:
    """Tell whether a line counts in a demand; in one of the law only what is limited itself does."""
    return key in demand.measure.top if demand.kind == "law" else demand.measure.touches(key)


def _back(move: Move, amounts: Amounts) -> Amounts:
    return {**amounts, move.one.key: move.before}


def _figures(move: Move, broken: Sequence[Demand], amounts: Amounts) -> str:
    """Return what the figures would be had this line alone stayed."""
    left = _back(move, amounts)
    stayed = f"Left at {move.before:g} %" if move.before else "Without it"
    if broken:
        told = "; ".join(_consequence(demand, left, WHOLE) for demand in broken[:_REASONS_AT_MOST])
        return f"{stayed}, {told}."
    return f"{stayed}, the parts would add up to {sum(left.values()):.2f} %, not 100."


def _does(move: Move) -> str:
    name = move.one.name
    if not move.before:
        return f"New: {name}"
    if not move.after:
        return f"No more {name}"
    return f"{'More' if move.after > move.before else 'Less'} {name}"


def _side(demand: Demand, left: Amounts) -> Side:
    value = demand.measure.of(left, WHOLE) or 0.0
    return "min" if demand.minimum is not None and value < demand.minimum else "max"


def why_added(
    move: Move, amounts: Amounts, demands: Sequence[Demand], *, otherwise: str, effect: str = ""
) -> tuple[str, str]:
    """Return what an addition does, and which demands would be missed by more without it: a sentence each.

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
    asked = [
        demand
        for demand in demands
        if demand.measure.touches(move.one.key)
        or (demand.measure.bottom is None and demand.maximum is not None)
    ]
    broken = _broken(left, amounts, asked, None)
    does = effect or _effect(move, broken)
    if not broken:
        return f"{does}: {otherwise}.", ""
    told = "; ".join(_consequence(demand, left, None) for demand in broken[:_REASONS_AT_MOST])
    return f"{does}.", f"Without these {move.after - move.before:g} g, {told}."


def _broken(left: Amounts, amounts: Amounts, demands: Sequence[Demand], whole: float | None) -> list[Demand]:
    """Return the demands further from being met without a move, those of the report first."""
    without, after = (sum(one.values()) if whole is None else whole for one in (left, amounts))
    broken = [
        d
        for d in demands
        if (gap := d.gap(left, without)) > _NOTICED and gap > d.gap(amounts, after) + _NOTICED
    ]
    broken.sort(key=lambda demand: (not demand.target, demand.kind == "advice"))
    return broken


def _effect(move: Move, broken: Sequence[Demand]) -> str:
    """Return what a move does for the dough; where it is not made for the dough, what it keeps."""
    if not broken or any(demand.kind == "dough" for demand in broken):
        return _in_the_dough(move)
    new = "New: keeps" if not move.before else "Keeps"
    return f"{new} {_KEPT['active' if broken[0].group == 'active' else broken[0].kind]}"


def _in_the_dough(move: Move) -> str:
    up = move.after > move.before
    new = "New, and takes" if not move.before else "Takes"
    if move.one.liquid_warm:
        if up:
            return "New, and wets the powders" if not move.before else "Wets the powders"
        return "Brings less liquid"
    if up:
        return f"{new} up liquid" if move.one.uptake else f"{new} its place among the solids"
    return "Leaves more liquid to the other powders"


def _consequence(demand: Demand, left: Amounts, whole: float | None) -> str:
    value = demand.measure.of(left, whole) or 0.0
    low, high = demand.minimum, demand.maximum
    digits = decimals(value, [bound for bound in (low, high) if bound is not None], demand.unit)
    unit = behind(demand.unit)
    return (
        f"{in_state(demand.name, demand.state)} would be {value:.{digits}f}{unit} "
        f"({_band(low, high, digits)}{unit})"
    )


def _band(low: float | None, high: float | None, digits: int) -> str:
    if low is not None and high is not None:
        if abs(low - high) < 1e-9:
            return f"wanted {low:.{digits}f}"
        return f"wanted {low:.{digits}f} to {high:.{digits}f}"
    return f"at least {low:.{digits}f}" if low is not None else f"at most {high:.{digits}f}"
