"""The rack: from doughs that were written down to dates, and to what is to be done today."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, cast

from advisor.drying.schema import Chore, RackAnswer, RackDates, Racked, ToDo
from advisor.drying.task import dry
from advisor.errors import InvalidRequest
from advisor.frozen import dataclass, field
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import read_request
from advisor.rulebook.drying import RackRules
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.base import Basis
from advisor.schema.drying import DryingAnswer, DryingDates, DryingRequest, SellDates
from advisor.schema.findings import TextItem
from advisor.schema.notebook import StoredDough

_DAY = datetime.date(2000, 1, 1)


def rack(
    doughs: Iterable[StoredDough | Mapping[str, Any]],
    *,
    today: datetime.date,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> RackAnswer:
    """Return every batch that dries, with its dates, and what is to be done today.

    Parameters
    ----------
    doughs : iterable of StoredDough or mapping
        As the notebook keeps them. On the rack are those that were made lately and not packed.
    today : date
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    The dates are those of the drying task. Weighings it refuses count as none, so that a slip widens the
    dates and takes no batch off the rack.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> made = {"id": "d-1", "recipe": {"name": "Weir bar", "lines": lines}, "made_on": "2026-03-30"}
    >>> answer = rack([made], today=datetime.date(2026, 3, 31))
    >>> answer.items[0].dates.handle.isoformat(), [one.text for one in answer.today]
    ('2026-04-01', ['Turn Weir bar of 2026-03-30.', 'Weigh Weir bar of 2026-03-30.'])
    """
    rules = rulebook or load_rulebook()
    read = (read_request(StoredDough, one) for one in doughs)
    lying = sorted(_lying(read, today, rules.drying.rack), key=lambda found: (found[0], found[1].id or ""))
    drying = _Drying(rules, notebook)
    found = [_racked(made, dough, today, drying) for made, dough in lying]
    return RackAnswer(
        on=today,
        items=tuple(one for one, _ in found),
        today=tuple(todo for one, _ in found for todo in _todo(one, today, rules)),
        cautions=(),
        notes=tuple(note for _, notes in found for note in notes),
        rules_version=rules.edition,
    )


def _lying(
    doughs: Iterable[StoredDough], today: datetime.date, of: RackRules
) -> Iterator[tuple[datetime.date, StoredDough]]:
    """Yield the doughs on the rack with their days: made lately, and not packed."""
    for dough in doughs:
        made = dough.made_on
        if made is not None and dough.packed_grams is None and 0 <= (today - made).days <= of.days_at_most:
            yield made, dough


@dataclass(frozen=True)
class _Drying:
    """How batches dry: reckoned once for all that are alike but for their day."""

    rules: Rulebook
    notebook: Notebook | None
    known: dict[str, tuple[DryingAnswer, DryingDates, str | None]] = field(default_factory=dict)

    def of(self, made: datetime.date, dough: StoredDough) -> tuple[DryingDates, Basis, str | None]:
        """Return the dates of a batch, what they rest on, and why its weighings were refused if they were."""
        asked = DryingRequest(weighings=dough.drying, recipe=dough.recipe, made_on=_DAY)
        alike = asked.model_dump_json(exclude={"recipe": {"name"}})
        if alike not in self.known:
            answer, why = self._reckoned(asked)
            self.known[alike] = answer, cast("DryingDates", answer.dates), why
        answer, dates, why = self.known[alike]
        return _moved(dates, made - _DAY), answer.basis, why

    def _reckoned(self, asked: DryingRequest) -> tuple[DryingAnswer, str | None]:
        try:
            return dry(asked, rulebook=self.rules, notebook=self.notebook), None
        except InvalidRequest as error:
            if not asked.weighings:
                raise
            bare = asked.model_copy(update={"weighings": ()})
            return dry(bare, rulebook=self.rules, notebook=self.notebook), error.detail


def _moved(dates: DryingDates, by: datetime.timedelta) -> DryingDates:
    """Return dates of a batch that was made so much later."""
    sell = SellDates(**{name: date + by for name, date in dates.sell})
    return DryingDates(**{name: date + by for name, date in dates if name != "sell"}, sell=sell)


def _racked(
    made: datetime.date, dough: StoredDough, today: datetime.date, drying: _Drying
) -> tuple[Racked, tuple[TextItem, ...]]:
    rules = drying.rules.drying
    name = f"{dough.product or dough.recipe.name or dough.batch or 'Batch'} of {made}"
    dates, basis, why = drying.of(made, dough)
    turn = max(today, made + datetime.timedelta(days=rules.rack.turn_days))
    racked = Racked(
        id=dough.id or "",
        name=name,
        recipe_key=dough.recipe_key,
        version=dough.version,
        made_on=made,
        weighings=len(dough.drying),
        dates=RackDates(**dict(dates), turn=turn if turn < dates.handle else None),
        basis=basis,
    )
    if why is None:
        return racked, ()
    text = rules.text["rack_refused"].format(name=name, why=why)
    return racked, (TextItem(id="weighings-refused", text=text),)


def _todo(one: Racked, today: datetime.date, rules: Rulebook) -> Iterator[ToDo]:
    """Yield what is due; what is ready for sale is neither weighed on nor turned."""
    dates = one.dates
    ready: Chore | None = "sell" if dates.sell.typical <= today else None
    due: list[Chore] = [ready] if ready else []
    if not ready:
        due += ["turn"] if dates.turn == today else []
        due += ["weigh"] if dates.weigh_next <= today else []
    for do in due:
        yield ToDo(id=one.id, do=do, text=rules.drying.text[f"rack_{do}"].format(name=one.name))
