"""Tells what a shop's doughs have taught of its workable window."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from statistics import NormalDist
from typing import Any, get_args

from advisor.experiment.schema import (
    LearnedDemand,
    LearnedLot,
    MeasureNext,
    MethodWindow,
    Outlier,
    WindowAnswer,
    WindowRequest,
)
from advisor.frozen import cached_property, dataclass, replace
from advisor.laboratory.uptake import LEVEL, demand_of
from advisor.learning import Window
from advisor.recipe.belief import method_key, pooled_sd
from advisor.recipe.consistency import evidence
from advisor.recipe.history import dough_weights, read_history
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import KnownMaterials, opened
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Method
from advisor.writing import counted

_NO_DOUGHS = "No judged dough yet: this is the first guess, the same for everybody."
_CONTRADICTION = (
    "The doughs contradict each other more than chance explains, so the intervals are wider. "
    "Another lot, another room, or a report that slipped?"
)


def window_of(
    request: WindowRequest | Mapping[str, Any] | None = None,
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> WindowAnswer:
    """Return the workable window by method, each powder's demand, and what to measure next.

    Parameters
    ----------
    request : WindowRequest or mapping, optional
        Doughs besides those of the notebook.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    The window is told for the mean of the powders in the doughs; without doughs it is the prior, and wide.
    Centres are on the scale of the library's wetting index, where 1 is the first guess.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> past = [{"recipe": {"lines": lines}, "report": {"feel": "too_wet"}}] * 3
    >>> answer = window_of({"history": past})
    >>> answer.doughs, answer.by_method[0].method, answer.powders[0].doughs
    (3, 'hand', 3)
    """
    wanted, known = opened(WindowRequest, request or {}, rulebook, notebook)
    shop = _with_history(known, wanted)
    return _Taught(shop, known, known.rulebook).answer()


def _with_history(known: KnownMaterials, wanted: WindowRequest) -> Notebook:
    """Return the notebook with the doughs of the request after its own."""
    shop = known.notebook
    inline = replace(shop, materials={**shop.materials, **known.inline}) if known.inline else shop
    if not wanted.history:
        return inline
    rules = known.rulebook.dough
    more = [
        (f"history/{place}", evidence([one], rules))
        for place, one in enumerate(read_history(wanted.history, known))
    ]
    weights = dough_weights([past.made_on for past in wanted.history], wanted.half_life_days, shop.today)
    return replace(
        inline,
        doughs=(
            *shop.doughs,
            *(
                replace(dough, weight=w)
                for (_, found), w in zip(more, weights, strict=True)
                for dough in found
            ),
        ),
        names=(*shop.names, *(name for name, found in more for _ in found)),
    )


@dataclass(frozen=True)
class _Taught:
    shop: Notebook
    known: KnownMaterials
    rulebook: Rulebook

    @cached_property
    def window(self) -> Window:
        return self.shop.window

    @cached_property
    def usual(self) -> dict[str, float]:
        """The mean share of each powder in the demand of the doughs."""
        total: dict[str, float] = defaultdict(float)
        for dough in self.shop.doughs:
            for key, share in dough.shares.items():
                if pooled_sd(key, self.rulebook.dough) is None:
                    total[key] += share / len(self.shop.doughs)
        return dict(total)

    def answer(self) -> WindowAnswer:
        window, shop = self.window, self.shop
        rules = self.rulebook.dough
        outliers = tuple(
            dict.fromkeys(
                shop.names[place] if place < len(shop.names) else str(place) for place in window.outliers
            )
        )
        powders = tuple(self._powder(key) for key in sorted(self.usual))
        return WindowAnswer(
            doughs=len(shop.doughs),
            level=LEVEL,
            by_method=tuple(self._method(method) for method in get_args(Method)),
            spread=round(window.prior.spread, 4),
            spread_basis="own" if len(shop.doughs) >= rules.learning.spread_doughs else rules.classes.basis,
            dispersion=round(window.dispersion, 2),
            widened=window.contradicted,
            powders=powders,
            lots=tuple(self._lot(key) for key in window.powders if "#" in key and window.support.get(key)),
            measure_next=self._next(powders),
            outliers=tuple(Outlier(dough=name, text=self._odd()) for name in outliers),
            outliers_set_aside=window.set_aside,
            unread=shop.unread,
            cautions=(),
            notes=self._notes(),
            rules_version=self.rulebook.edition,
        )

    def _odd(self) -> str:
        if self.window.set_aside:
            return "It fits ill to the other doughs and was not counted. Was it weighed as written?"
        return "It fits ill to the other doughs, as do too many of them; all were counted."

    def _method(self, method: Method) -> MethodWindow:
        usual = self.rulebook.dough.pooling.usual_method
        key = method_key(method)
        shares = self.usual if method == usual else {**self.usual, key: 1.0}
        window = self.window if method == usual else self._with_sd(key)
        low, high = window.interval(shares, LEVEL)
        doughs = self.shop.doughs
        if method == usual:
            count = sum(not any(k.startswith("method:") for k in dough.shares) for dough in doughs)
        else:
            count = sum(key in dough.shares for dough in doughs)
        return MethodWindow(
            method=method,
            centre=round(math.exp(window.centre(shares)[0]), 3),
            low=round(math.exp(low), 3),
            high=round(math.exp(high), 3),
            level=LEVEL,
            doughs=count,
        )

    def _with_sd(self, key: str) -> Window:
        """Return the window with a key no dough carried believed as the rules say."""
        sd = pooled_sd(key, self.rulebook.dough) or 0.0
        prior = self.window.prior
        return replace(self.window, prior=replace(prior, demand_sds={key: sd, **prior.demand_sds}))

    def _powder(self, key: str) -> LearnedDemand:
        one = self.shop.get(key)
        uptake = 1.0 if one is None else one.uptake
        library_sd = self.rulebook.dough.prior.demand_relative_sd if one is None else one.uptake_sd
        mean, sd = self.window.demand(key)
        doughs = self.window.support.get(key, 0)
        basis = "estimate" if one is None or one.estimated else "published"
        taught = bool(library_sd) and 1 - (sd / library_sd) ** 2 >= self.rulebook.dough.classes.own_from
        return LearnedDemand(
            material=key,
            learned=demand_of(uptake * math.exp(mean), sd, "own" if taught else basis),
            prior=demand_of(uptake, library_sd, basis),
            relative_sd=round(sd, 4),
            use=round(self.usual.get(key, 0.0), 4),
            doughs=doughs,
        )

    def _lot(self, key: str) -> LearnedLot:
        material, _, lot = key.partition("#")
        mean, sd = self.window.demand(key)
        reach = NormalDist().inv_cdf((1 + LEVEL) / 2) * sd
        return LearnedLot(
            material=material,
            lot=lot,
            factor=round(math.exp(mean), 3),
            low=round(math.exp(mean - reach), 3),
            high=round(math.exp(mean + reach), 3),
            doughs=self.window.support.get(key, 0),
        )

    def _next(self, powders: Sequence[LearnedDemand]) -> MeasureNext | None:
        """Return the powder with the greatest uncertainty left times use."""
        best = max(powders, key=lambda one: (one.relative_sd * one.use, one.material), default=None)
        if best is None or not best.relative_sd:
            return None
        one = self.shop.get(best.material)
        name = best.material if one is None else one.name
        return MeasureNext(
            material=best.material,
            text=f"{name} takes up {100 * best.use:.0f} % of your liquids, and that is known to about "
            f"{100 * best.relative_sd:.0f} %: its bench test would tell most.",
        )

    def _notes(self) -> tuple[TextItem, ...]:
        found = []
        if not self.shop.doughs:
            found.append(TextItem(id="no-doughs", text=_NO_DOUGHS))
        if self.window.contradicted:
            found.append(TextItem(id="contradiction", text=_CONTRADICTION))
        if self.shop.unread:
            unread = counted(len(self.shop.unread), "dough")
            text = f"Nothing is learned from {unread} of materials nobody knows."
            found.append(TextItem(id="unread-doughs", text=text))
        return tuple(found)
