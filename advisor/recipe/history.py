"""What doughs a maker wrote down took of each material, and where they become evidence of the window."""

import datetime
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from advisor.learning import Dough, faded
from advisor.recipe.consistency import Judged, evidence
from advisor.recipe.read import read_recipe
from advisor.recipe.request import KnownMaterials, read_formula
from advisor.schema.recipe import Method, PastDough, Report

if TYPE_CHECKING:
    from advisor.schema.notebook import StoredDough


def read_history(history: Sequence[PastDough], known: KnownMaterials) -> list[Judged]:
    """Return earlier doughs as they were judged, in the order they came.

    Parameters
    ----------
    history : sequence of PastDough
        Doughs with their reports.
    known : KnownMaterials
        The materials they may name.

    Raises
    ------
    InvalidRecipe, UnknownMaterial
        In a recipe of the history; the place is named.
    """
    return [
        Judged.of(
            read_formula(past.recipe, known, where=f"/history/{index}/recipe", lots=past.lots), past.report
        )
        for index, past in enumerate(history)
    ]


def dough_weights(
    dates: Sequence[datetime.date | None], half_life_days: float | None, today: datetime.date | None = None
) -> list[float]:
    """Return how much each dough counts, by its age before the newest; one without a date counts in full.

    A dough dated after ``today`` ages no other: a slip of the pen must not make all the rest old.

    Examples
    --------
    >>> day = datetime.date
    >>> dough_weights([day(2031, 1, 1), None, day(2031, 3, 2)], 30)
    [0.25, 1.0, 1.0]
    """
    dated = [date for date in dates if date is not None]
    if half_life_days is None or not dated:
        return [1.0] * len(dates)
    newest = max([date for date in dated if today is None or date <= today] or dated)
    return [1.0 if date is None else faded((newest - date).days, half_life_days) for date in dates]


def stored_evidence(dough: "StoredDough", known: KnownMaterials, where: str = "") -> list[Dough]:
    """Return what a dough of the notebook says of the window: none, one or two judgements.

    The outcome stands for the bowl as it was after the additions; where nothing was added it is the later and
    better judgement of the recipe itself.

    Raises
    ------
    InvalidRecipe, UnknownMaterial
        The place is named.
    """
    was = read_formula(
        dough.recipe, known, [one.material for one in dough.added], f"{where}/recipe", dough.lots
    )
    rules, lots = known.rulebook.dough, was.lot_names
    first, last = dough.report, dough.outcome
    if isinstance(last, str):
        last = Report.model_validate({"feel": last})

    def told(report: Report, amounts: Mapping[str, float], method: Method | None) -> Judged:
        return Judged(was.measures, amounts, report.feel, report.degree, report.method or method, lots)

    found = [] if first is None else evidence([told(first, was.amounts, None)], rules)
    if last is None:
        return found
    method = None if first is None else first.method
    if not dough.added:
        return evidence([told(last, was.amounts, method)], rules) or found
    grams = was.written.grams or dough.batch_grams
    if grams is None:
        return found
    bowl = {key: percent * grams / 100 for key, percent in was.amounts.items()}
    for one in dough.added:
        bowl[one.material] += one.grams
    return [*found, *evidence([told(last, bowl, method)], rules)]


def check_dough(dough: "StoredDough", known: KnownMaterials) -> None:
    """Refuse a dough that names what nobody knows.

    Raises
    ------
    InvalidRecipe, UnknownMaterial
        The place is named.
    """
    known.all((one.material, f"/added/{place}/material") for place, one in enumerate(dough.added))
    stored_evidence(dough, known)
    known.all((key, f"/lots/{key}") for key in dough.lots or {})


def used_grams(dough: "StoredDough") -> dict[str, float]:
    """Return what a dough took of each material [g]: what was weighed, else its share of the batch.

    Examples
    --------
    >>> from advisor.schema.notebook import StoredDough
    >>> lines = [{"material": "kaolin", "percent": 60}, {"material": "water", "percent": 40}]
    >>> of = {"recipe": {"lines": lines}, "batch_grams": 200.0, "weighed": {"kaolin": 121.5}}
    >>> used_grams(StoredDough.model_validate({**of, "added": [{"material": "water", "grams": 2.0}]}))
    {'kaolin': 121.5, 'water': 82.0}
    """
    written = read_recipe(dough.recipe)
    batch = dough.batch_grams or written.grams or 0.0
    used = {key: percent * batch / 100 for key, percent in written.percents.items()}
    used |= dough.weighed or {}
    for one in dough.added:
        used[one.material] = used.get(one.material, 0.0) + one.grams
    return used
