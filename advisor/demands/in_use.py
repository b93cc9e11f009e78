"""What a report of the finished bar asks of the next recipe, by the moves in the rules."""

from collections.abc import Iterable, Iterator, Mapping

from advisor.demands.context import not_past
from advisor.frozen import dataclass, replace
from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Amounts
from advisor.rulebook.feels import InUseMove, InUseRules, MakesUp, is_mainly
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.table import Ends
from advisor.schema.base import WHOLE, Degree
from advisor.schema.recipe import Report


@dataclass(frozen=True)
class InUse:
    """The moves a recipe has room for: demands, and how much drier it becomes [share of a step].

    ``limits`` say that nothing moves against the report, and no line far that only makes up for another.
    """

    demands: tuple[Demand, ...]
    drier: float
    limits: tuple[Demand, ...]


def moves_in_use(
    report: Report, ingredients: Mapping[str, Ingredient], amounts: Amounts, rules: InUseRules, source: str
) -> InUse:
    """Return the first moves of a report that a recipe has room for."""
    demands: list[Demand] = []
    drier, taken = 0.0, 0
    moves = [move for move in rules.move if move.feel == report.feel]
    for move in moves:
        if taken == rules.moves_at_most:
            break
        asked = list(_asked(move, report, ingredients, amounts, rules, source))
        drier = move.drier[report.degree] if move.drier else drier
        taken += bool(asked or move.drier)
        demands += asked
    spoken = frozenset(key for one in demands if not one.serves for key in one.about)
    limits = (
        *_not_undone(moves, ingredients, amounts, source),
        *_moderate(report.degree, ingredients.values(), amounts, rules.makes_up, spoken),
    )
    return InUse(tuple(demands), drier, limits)


def _not_undone(
    moves: Iterable[InUseMove], ingredients: Mapping[str, Ingredient], amounts: Amounts, source: str
) -> Iterator[Demand]:
    """Yield that no line of what the moves speak of goes the other way, whether a move is asked or not."""
    for move in moves:
        of = _lines_of(move, ingredients)
        if not of.top or move.drier or move.ratio:
            continue
        if move.up:
            now = of.of(amounts) or 0.0
            most = max(now, min(move.at_most, now + move.up["severe"]))
            asked = _demand(move, f"{move.name}, as before", of, source, minimum=now, maximum=most)
            yield replace(
                asked, id=f"wrong-way:{move.id}", group="wrong-way", target=False, shown_when_met=False
            )
        for key in of.top:
            low, high = (amounts[key], None) if move.up or move.never_less else (None, amounts[key])
            yield not_past(ingredients[key], low, high, basis=move.basis, source=source)


def _moderate(
    degree: Degree,
    ingredients: Iterable[Ingredient],
    amounts: Amounts,
    makes_up: MakesUp,
    spoken: frozenset[str],
) -> Iterator[Demand]:
    """Yield that what only makes up for a move goes no further than such a line is moved itself."""
    for one in ingredients:
        if one.main_role in makes_up.points and one.key not in spoken:
            now, most = amounts[one.key], makes_up.points[one.main_role][degree]
            yield replace(
                not_past(one, max(0.0, now - most), now + most, basis=makes_up.basis, source=makes_up.source),
                id=f"beside:{one.key}",
                group="beside",
            )


def _lines_of(move: InUseMove, ingredients: Mapping[str, Ingredient]) -> Measure:
    return Measure({key: 1.0 for key, one in ingredients.items() if move.speaks_of(one)}, None, WHOLE)


def _asked(
    move: InUseMove,
    report: Report,
    ingredients: Mapping[str, Ingredient],
    amounts: Amounts,
    rules: InUseRules,
    source: str,
) -> Iterator[Demand]:
    """Yield what a move asks; nothing where the recipe has no room for it."""
    if move.ratio is not None:
        yield from _held_beside(move, move.ratio, report, ingredients, amounts, source)
        return
    degree = report.degree
    of = _lines_of(move, ingredients)
    now = of.of(amounts) or 0.0
    if move.drier or not of.top or now < move.least:
        return
    if move.up is not None:
        wanted, most = (min(move.at_most, now + move.up[step]) for step in (degree, "severe"))
        if wanted > now:
            yield _demand(move, move.name, of, source, minimum=wanted, maximum=most)
        return
    fall = move.down[degree] if move.down else now * move.share[degree] if move.share else 0.0
    fall = min(fall, now - move.kept)
    if fall <= 0:
        return
    fallen = _demand(move, move.name, of, source, maximum=now - fall)
    yield fallen
    names = {key: 1.0 for key, one in ingredients.items() if is_mainly(one, move.instead)}
    if names:
        instead = Measure(names, None, WHOLE)
        least = (instead.of(amounts) or 0.0) + rules.instead_share * fall
        named = f"what takes the place of {move.name}"
        yield replace(
            _demand(move, named, instead, source, minimum=least),
            id=f"{fallen.id}-instead",
            serves=fallen.id,
            cause=f"so that it takes the place of {move.name}",
        )


def _held_beside(
    move: InUseMove,
    ratio: Ends,
    report: Report,
    ingredients: Mapping[str, Ingredient],
    amounts: Amounts,
    source: str,
) -> Iterator[Demand]:
    """Yield how near a move brings two kinds of active matter to their band, where they lie outside."""
    over, under = (
        {key: one.active for key, one in ingredients.items() if is_mainly(one, names)}
        for names in (move.components, move.beside)
    )
    of = Measure(over, under)
    now = of.of(amounts)
    if now and not ratio.min <= now <= ratio.max:
        way = move.share[report.degree] if move.share else 1.0
        low, high = (now + way * (end - now) for end in (ratio.min, ratio.max))
        yield _demand(move, move.name, of, source, minimum=min(ratio.min, low), maximum=max(ratio.max, high))


def _demand(
    move: InUseMove,
    name: str,
    measure: Measure,
    source: str,
    *,
    minimum: float | None = None,
    maximum: float | None = None,
) -> Demand:
    return Demand(
        id=f"target:in-use-{move.id}",
        group="in-use",
        target=True,
        name=name,
        measure=measure,
        unit="%" if measure.bottom is None else "1",
        kind="dough",
        rank="dough",
        minimum=minimum,
        maximum=maximum,
        about=tuple(sorted({*measure.top, *(measure.bottom or ())})),
        basis=move.basis,
        source=f"{source}; {move.source}",
        cause=move.why,
    )
