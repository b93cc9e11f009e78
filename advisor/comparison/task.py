"""The comparison: two recipes as they stand, and what shifts from the first to the second."""

from collections.abc import Mapping
from typing import Any

from advisor.case.case import Case
from advisor.case.cautions import special_first
from advisor.case.watch import cautions_of
from advisor.comparison.beside import Beside, beside, shifts
from advisor.comparison.schema import Compared, ComparedLine, ComparisonAnswer, ComparisonRequest, LabelBeside
from advisor.labelling.ingredient_list import label_change
from advisor.labelling.notes import law_notes
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import check_wished_keys, opened, read_formula
from advisor.rulebook.load import Rulebook
from advisor.shifts.between import listed

_DECIMALS = 4


def compare(
    request: ComparisonRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> ComparisonAnswer:
    """Return two recipes side by side.

    Parameters
    ----------
    request : ComparisonRequest or mapping
        The two recipes, the earlier one first, with wishes and inline materials where there are any.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Each recipe is what an assessment makes of it, figure by figure. What is told of mildness and foam goes
    by ranks, weighted by active matter; no bar was measured.

    Examples
    --------
    >>> weak = [{"material": "betaine-30", "percent": 40}, {"material": "isethionate-powder", "percent": 60}]
    >>> more = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = compare({"recipes": [{"lines": weak}, {"lines": more}]})
    >>> [(line.material, line.change) for line in answer.lines], answer.shifts[0].text
    ([('betaine-30', -10.0), ('isethionate-powder', 10.0)], 'Active matter goes from 62.4 to 67.8 %.')
    """
    wanted, known = opened(ComparisonRequest, request, rulebook, notebook)
    formulas = [read_formula(one, known, where=f"/recipes/{i}") for i, one in enumerate(wanted.recipes)]
    every = {key: one for formula in formulas for key, one in formula.ingredients.items()}
    if wanted.wishes:
        check_wished_keys(wanted.wishes, every, every)
    wished = (*wanted.wishes.lines, *wanted.wishes.fixed) if wanted.wishes else ()
    first, second = (
        Case.at(formula, known, wishes=wanted.wishes).with_materials(
            {**{key: every[key] for key in wished}, **formula.ingredients}
        )
        for formula in formulas
    )
    a, b = _compared(first), _compared(second)
    of = beside(first, second)
    return ComparisonAnswer(
        lines=_lines(first, second),
        a=a,
        b=b,
        shifts=shifts(of, (a.checks, b.checks)),
        label=_label(of),
        cautions=special_first(
            one for case in (first, second) for one in cautions_of(case, case.formula.amounts)
        ),
        notes=tuple(
            dict.fromkeys(
                (
                    *(note for case in (first, second) for note in case.formula.notes),
                    *(note for case in (first, second) for note in law_notes(case, case.formula.amounts)),
                )
            )
        ),
        rules_version=known.rulebook.edition,
    )


def _compared(case: Case) -> Compared:
    state = case.state(case.formula.amounts)
    return Compared(**dict(state), checks=case.checks_as_written(), price=state.totals.price_per_kg)


def _lines(first: Case, second: Case) -> tuple[ComparedLine, ...]:
    before, after = first.formula.amounts, second.formula.amounts
    written = (*first.formula.written.percents, *second.formula.written.percents)
    both = {key: (before.get(key, 0.0), after.get(key, 0.0)) for key in written}
    return tuple(
        ComparedLine(material=key, a=a, b=b, change=round(b - a, _DECIMALS)) for key, (a, b) in both.items()
    )


def _label(of: Beside) -> LabelBeside:
    """Return how the second ingredient list differs from the first."""
    earlier, later = listed(of, of.before), listed(of, of.after)
    return LabelBeside(**dict(label_change(earlier.names, later, of.label)), allergens=later.allergens)
