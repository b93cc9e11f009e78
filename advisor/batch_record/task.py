"""The batch record: one document of one batch, and what it still lacks."""

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.case.case import NOT_READ, Case, Reading
from advisor.case.watch import cautions_of
from advisor.drying.task import dry
from advisor.errors import InvalidRequest
from advisor.labelling.notes import law_notes, preserving
from advisor.law.notes import duty_notes
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.rulebook.load import Rulebook
from advisor.rulebook.weighing import RecordItem, RecordRules
from advisor.schema.batch_record import BatchRecordAnswer, BatchRecordRequest, RecordLine
from advisor.schema.drying import DryingAnswer, DryingRequest
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Wishes


def record(
    request: BatchRecordRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> BatchRecordAnswer:
    """Return the record of one batch: planned and weighed, seen and measured, and what is still missing.

    Parameters
    ----------
    request : BatchRecordRequest or mapping
        Recipe and batch mass, and whatever of the rest is known.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial
    NotInstalled
        The drying log can be fitted but SciPy is missing (extra "fit").

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = record({"recipe": {"lines": lines}, "batch_grams": 500, "weighed": {"betaine-30": 153.5}})
    >>> [(line.planned_grams, line.deviation_percent) for line in answer.lines]
    [(150.0, 2.33), (350.0, None)]
    """
    wanted, known = opened(BatchRecordRequest, request, rulebook, notebook)
    rules = known.rulebook
    formula = read_formula(wanted.recipe, known, lots=wanted.lots)
    wanted = wanted.model_copy(update={"lots": {**(wanted.lots or {}), **formula.lot_names} or None})
    last = Reading(wanted.ph[-1].ph, wanted.ph[-1].at_percent) if wanted.ph else NOT_READ
    case = Case.at(
        formula,
        known,
        wishes=Wishes(market=wanted.market),
        report=wanted.report,
        reading=last,
        day=wanted.made_on,
    )
    said = cautions_of(case, formula.amounts, grams={})
    lines = _lines(wanted, formula)
    dried, doubts = _dried(wanted, rules, notebook)
    weighed = None if wanted.weighed is None else sum(wanted.weighed.values())
    preserved = preserving(case, formula.amounts)
    return BatchRecordAnswer(
        record=wanted,
        lines=lines,
        planned_grams=wanted.batch_grams,
        weighed_grams=None if weighed is None else round(weighed, 4),
        yield_percent=(
            None
            if wanted.packed_grams is None or not weighed
            else round(100 * wanted.packed_grams / weighed, 1)
        ),
        remarks=(*_remarks(wanted, lines, rules.record), *doubts),
        preservation=preserved,
        dried=dried,
        missing=_missing(wanted, lines, rules.record.item, rules.record),
        cautions=tuple(item for item in said if item.id not in rules.record.not_said),
        notes=(
            *formula.notes,
            *(one for one in law_notes(case, formula.amounts) if one not in preserved),
            *duty_notes(case.law, rules.law_words, case.day),
            TextItem(id="sale", text=rules.record.text["sale"]),
        ),
        rules_version=rules.edition,
    )


def _lines(wanted: BatchRecordRequest, formula: Formula) -> tuple[RecordLine, ...]:
    found = []
    for key, percent in formula.written.percents.items():
        planned = wanted.batch_grams * percent / 100
        weighed = (wanted.weighed or {}).get(key)
        found.append(
            RecordLine(
                material=key,
                name=formula.ingredients[key].material.name,
                lot=formula.lot(key),
                planned_grams=round(planned, 4),
                weighed_grams=weighed,
                deviation_percent=None if weighed is None else round(100 * (weighed / planned - 1), 2),
            )
        )
    return tuple(found)


def _remarks(
    wanted: BatchRecordRequest, lines: Sequence[RecordLine], rules: RecordRules
) -> tuple[TextItem, ...]:
    planned = {line.material for line in lines}
    said = [
        TextItem(
            id=f"deviation-{line.material}",
            text=rules.text["deviation"].format(
                name=line.name,
                weighed=f"{line.weighed_grams:g}",
                planned=f"{line.planned_grams:g}",
                percent=f"{line.deviation_percent:+.1f}",
            ),
        )
        for line in lines
        if line.deviation_percent is not None and abs(line.deviation_percent) > rules.deviation_percent
    ]
    said += [
        TextItem(id=f"strange-{key}", text=rules.text["strange"].format(name=key))
        for key in sorted({**(wanted.weighed or {}), **(wanted.lots or {})})
        if key not in planned
    ]
    return tuple(said)


def _missing(
    wanted: BatchRecordRequest,
    lines: Sequence[RecordLine],
    items: Sequence[RecordItem],
    rules: RecordRules,
) -> tuple[TextItem, ...]:
    """Return what the record still asks for, each item by name; of lots and weights the materials."""
    said = []
    for item in items:
        value = getattr(wanted, item.field)
        if item.each:
            open_lines = [line.name for line in lines if line.material not in (value or {})]
            if open_lines:
                text = rules.text["missing"].format(text=item.text, names="; ".join(open_lines))
                said.append(TextItem(id=item.id, text=text))
        elif not value:
            said.append(TextItem(id=item.id, text=item.text))
    return tuple(said)


def _dried(
    wanted: BatchRecordRequest, rules: Rulebook, notebook: Notebook | None
) -> tuple[DryingAnswer | None, tuple[TextItem, ...]]:
    """Return how the bar dried, or why its weighings do not tell."""
    if len(wanted.drying) < rules.drying.fit.least_weighings:
        return None, ()
    request = DryingRequest(
        weighings=wanted.drying,
        recipe=wanted.recipe.of_lots(wanted.lots or {}),
        materials=wanted.materials,
        room_rh=wanted.report.room_rh if wanted.report is not None else None,
        made_on=wanted.made_on,
    )
    try:
        return dry(request, rulebook=rules, notebook=notebook), ()
    except InvalidRequest as refused:
        return None, (TextItem(id="drying-not-told", text=str(refused)),)
