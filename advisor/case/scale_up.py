"""Says what a method or a batch size changes that no dough taught, and how much is held back for it."""

from collections.abc import Sequence

from advisor.case.case import Case
from advisor.recipe.belief import method_key
from advisor.rulebook.dough import HoldBackRules
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Method


def not_yet_learned(case: Case, method: Method | None, batch_grams: float) -> tuple[TextItem, ...]:
    """Return what to expect of a method no dough was judged of, and of a batch larger than is usual.

    Nothing is said where no method is told.
    """
    if method is None:
        return ()
    rules = case.rulebook.weighing.scale_up
    if any(method_key(method) in dough.shares for dough in case.learned.past_doughs):
        return ()
    usual = case.rulebook.dough.pooling.usual_method
    new = None if method == usual else rules.methods.get(method)
    large = rules.large if batch_grams >= rules.batch_grams else None
    told = tuple(TextItem(id="scale-up", text=text) for text in (new, large) if text)
    return (*told, TextItem(id="side-test", text=rules.side_test)) if told else ()


def hold_back(case: Case, unknown: Sequence[TextItem]) -> HoldBackRules:
    """Return which shares of a batch are kept back: more of them where its method or size is not learned."""
    share = case.rulebook.dough.hold_back
    if not unknown:
        return share
    by = case.rulebook.weighing.scale_up.held_back
    return share.model_copy(update={"liquids": share.liquids * by, "powders": share.powders * by})
