"""A demand of the trade: its rows are what is solved, its check is what is answered."""

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Literal, get_args

from advisor.frozen import dataclass
from advisor.optimise.row import TOLERANCE, Row, weighed
from advisor.schema.findings import Check

Rank = Literal["advice", "default", "wish", "dough", "held", "law", "total"]
# Least sacred first, as they are given up.
RANKS: tuple[Rank, ...] = get_args(Rank)
Kind = Literal["total", "law", "wish", "dough", "use", "advice"]
Side = Literal["min", "max"]
Group = Literal[
    "total",
    "law",
    "apart",
    "banned",
    "active",
    "claim",
    "fixed",
    "line",
    "components",
    "components_dried",
    "preserved",
    "use",
    "no-lever",
    "powder-kept",
    "soluble",
    "wetness",
    "watery",
    "oil",
    "coarse",
    "humectant",
    "hygroscopic",
    "in-use",
    "beside",
    "frame",
    "level",
    "function",
    "missing",
    "primary-active",
    "balance",
    "humectant-kept",
    "mildness",
    "ratio",
    "structure",
    "fillers",
    "water",
    "wrong-way",
    "powders",
    "draft",
]
_DIGITS = 3
# How near its bound a percent binds, and a ratio [-].
_BINDS, _RATIO_BINDS = 0.01, 0.002


@dataclass(frozen=True, slots=True)
class Measure:
    """A quotient of two sums over a recipe, ``scale * sum(top * amount) / sum(bottom * amount)``.

    ``bottom`` None stands for the whole: with ``scale`` 100 the measure is a percent of it. Amounts may be
    percent or grams: a measure does not change when all are multiplied alike.

    Examples
    --------
    >>> strength = Measure({"betaine": 0.3, "isethionate": 0.84}, None, 100.0)
    >>> strength.of({"betaine": 50.0, "isethionate": 50.0})
    57.0
    """

    top: Mapping[str, float]
    bottom: Mapping[str, float] | None
    scale: float = 1.0

    def of(self, amounts: Mapping[str, float], whole: float | None = None) -> float | None:
        """Return the measure; None where there is nothing to divide by.

        ``whole`` stands for the sum of all amounts where it is known.
        """
        below = whole if whole is not None and self.bottom is None else self.below(amounts)
        return None if below <= 0 else self.scale * weighed(self.top, amounts) / below

    def touches(self, key: str) -> bool:
        """Tell whether a material counts in either sum, the whole apart."""
        return key in self.top or (self.bottom is not None and key in self.bottom)

    def below(self, amounts: Mapping[str, float]) -> float:
        """Return the sum it is divided by."""
        if self.bottom is None:
            return sum(amounts.values())
        return weighed(self.bottom, amounts)

    def row(self, name: str, side: Side, bound: float, keys: tuple[str, ...], whole: float | None) -> Row:
        """Return the linear row that keeps the measure on one side of ``bound``.

        ``whole`` is the sum of all amounts where it is fixed (100 for percent); None where it may grow.
        """
        sense: Literal["<=", ">="] = ">=" if side == "min" else "<="
        share = bound / self.scale
        if self.bottom is None:
            grown, fixed = (-share, 0.0) if whole is None else (0.0, bound * whole / self.scale)
            return Row(name, self.top, sense, fixed, each=grown)
        coefficients = {
            key: c for key in keys if (c := self.top.get(key, 0.0) - share * self.bottom.get(key, 0.0))
        }
        return Row(name, coefficients, sense, 0.0)


@dataclass(frozen=True, slots=True)
class Demand:
    """A measure with the bounds asked of it, where they come from, and how sacred they are.

    ``group`` says what it speaks of, ``id`` names its rows, ``called`` names it before a figure where its
    name ends with one. ``where`` holds the JSON Pointer of each bound of a wish. ``rank`` orders conflicts:
    advice is given up first, law never. ``dampest`` holds the measure at the dampest state of a dried bar.
    ``target`` marks what the task is to reach, ``in_bowl`` what can be asked of a dough to which things are
    only added, ``shown_when_met`` whether a check that is met is told, ``cause`` the reason of a move where
    it has one of its own, ``serves`` the id of the demand that it only goes with.
    """

    id: str
    group: Group
    name: str
    measure: Measure
    unit: str
    kind: Kind
    rank: Rank
    minimum: float | None = None
    maximum: float | None = None
    state: Literal["as_made", "as_dried"] = "as_made"
    about: tuple[str, ...] = ()
    basis: str = ""
    source: str = ""
    where: Mapping[Side, str] | None = None
    dampest: Measure | None = None
    target: bool = False
    in_bowl: bool = False
    shown_when_met: bool = True
    cause: str = ""
    called: str = ""
    serves: str = ""

    @property
    def held(self) -> bool:
        """Whether it keeps one line at its own percent: by a wish, or because its kind is no lever."""
        return self.group in ("fixed", "no-lever")

    def bound(self, side: Side) -> float | None:
        """Return one bound."""
        return self.minimum if side == "min" else self.maximum

    def rows(self, keys: tuple[str, ...], whole: float | None) -> list[Row]:
        """Return one row for each bound; those of the law scaled to a largest coefficient of 1."""
        rows = []
        for side in ("min", "max"):
            bound = self.bound(side)
            if bound is not None:
                row = self.measure.row(f"{self.id}:{side}", side, bound, keys, whole)
                rows.append(_scaled(row) if self.kind in ("law", "use") else row)
        return rows

    def gap(self, amounts: Mapping[str, float], whole: float | None = None) -> float:
        """Return by how much the measure lies outside its bounds, in its own unit."""
        value = self.measure.of(amounts, whole)
        return 0.0 if value is None else self._outside(value)

    def _outside(self, value: float) -> float:
        under = 0.0 if self.minimum is None else self.minimum - value
        over = 0.0 if self.maximum is None else value - self.maximum
        return max(under, over, 0.0)

    def check(self, amounts: Mapping[str, float], whole: float | None = None) -> Check | None:
        """Hold the demand against amounts; None where the measure has no meaning there, or it is not told."""
        value = self.measure.of(amounts, whole)
        if value is None:
            return None
        met = self._outside(value) <= TOLERANCE
        verdict: Literal["pass", "depends", "over"] | None = None
        if self.dampest is not None:
            damp = self.dampest.of(amounts, whole)
            damp_met = damp is None or self._outside(damp) <= TOLERANCE
            verdict = "pass" if met and damp_met else "over" if not met and not damp_met else "depends"
        ok = met and verdict in (None, "pass")
        if ok and not self.shown_when_met:
            return None
        bounds = [bound for bound in (self.minimum, self.maximum) if bound is not None]
        room = _RATIO_BINDS if self.unit == "1" else _BINDS
        return Check(
            name=self.name,
            value=_rounded(value, _DIGITS if met else _DIGITS + 3),
            unit=self.unit,
            min=_tidy(self.minimum),
            max=_tidy(self.maximum),
            ok=ok,
            binding=any(abs(value - bound) <= room + TOLERANCE for bound in bounds),
            kind=self.kind,
            state=self.state,
            about=self.about,
            verdict=verdict,
            basis=self.basis,
            source=self.source,
        )


def total_demand(keys: Iterable[str], whole: float, asked: float, unit: Literal["%", "g"]) -> Demand:
    """Return that all lines, of which there is ``whole``, make what is asked [unit]."""
    return Demand(
        id="total",
        group="total",
        name="total",
        measure=Measure(dict.fromkeys(keys, 1.0), None, whole),
        unit=unit,
        kind="total",
        rank="total",
        minimum=asked,
        maximum=asked,
        basis="exact",
    )


def _rounded(value: float, digits: int) -> float:
    """Round to so many decimals, and a small figure to as many significant ones."""
    small = 0 < abs(value) < 1
    return round(value, digits - 1 - math.floor(math.log10(abs(value))) if small else digits)


@lru_cache(maxsize=8192)
def _tidy(bound: float | None) -> float | None:
    # -0.0 finds what is remembered of 0.0.
    return None if bound is None else 0.0 + _rounded(bound, _DIGITS + 1)


def _scaled(row: Row) -> Row:
    largest = max((abs(c + row.each) for c in row.coefficients.values()), default=0.0)
    return row if largest in (0.0, 1.0) else row.per(largest)
