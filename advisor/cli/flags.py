"""The options that fill a request: each a flag, the place of the request it fills, and how it is read."""

import argparse
import json
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar, get_args, get_origin

from advisor.writing import Writing

Value = TypeVar("Value")

_ANSWER = "what the verb cost wrote with --json"
_WEIGHING = "HOURS=GRAMS"
_RUN = "liquid of one run in grams, when smooth or with the first ball and the sticking; may be repeated"
LINES = "recipe.lines"


def names(text: str) -> list[str]:
    """Return the parts of names that are separated by commas; a name may hold commas itself."""
    return [part for one in text.split(",") if (part := one.strip())]


def _as_written(read: Callable[[Writing, str], Value]) -> Callable[[str], Value]:
    """Return how an option is read as people write it; what is unclear is asked about."""

    def told(text: str) -> Value:
        try:
            return read(Writing.of(os.environ), text)
        except ValueError as unclear:
            raise argparse.ArgumentTypeError(str(unclear)) from None

    return told


_number = _as_written(Writing.number)
in_grams = _as_written(Writing.grams)
_date = _as_written(Writing.date)


def _pair(sign: str, meant: str, made: Callable[[str, str], Value]) -> Callable[[str], Value]:
    """Return how an option of two parts is read: what is made of them."""

    def told(text: str) -> Value:
        first, parted, second = text.rpartition(sign)
        if not parted or not first.strip() or not second.strip():
            raise argparse.ArgumentTypeError(f"{text!r} is not written as {meant}")
        return made(first.strip(), second.strip())

    return told


_lot = _pair("=", "NAME=LOT", lambda name, lot: (name, lot))
_grams = _pair("=", "NAME=GRAMS", lambda name, grams: (name, in_grams(grams)))
_figure = _pair("=", "NAME=FIGURE", lambda name, figure: (name, _number(figure)))
_weighing = _pair("=", _WEIGHING, lambda hours, grams: [{"hours": _number(hours), "grams": in_grams(grams)}])
_reading = _pair("@", "PH@PERCENT", lambda ph, at: [{"ph": _number(ph), "at_percent": _number(at)}])
_tested = _pair(
    "=", "TEST=A,B,C", lambda test, each: [{"test": test, "values": [*map(_number, each.split(","))]}]
)


def run(text: str) -> list[dict[str, float]]:
    """Return a run of the test of a powder: when it is smooth, or first ball, smooth and sticking."""
    grams = [in_grams(one) for one in text.split(",")]
    seen = ("first_ball", "smooth", "sticks")[len(grams) == 1 :]
    return [dict(zip(seen, grams, strict=len(grams) > 3))]


def _prices(name: str) -> dict[str, float]:
    """Return the prices an earlier costing was reckoned with."""
    try:
        lines = json.loads(Path(name).read_bytes())["lines"]
        return {one["material"]: one["price_per_kg"] for one in lines if one["price_per_kg"] is not None}
    except (OSError, ValueError, KeyError, TypeError):
        raise argparse.ArgumentTypeError(f"{name!r} is not {_ANSWER}") from None


class Option(NamedTuple):
    """A flag, the place of the request it fills, and how it is read.

    ``many`` may be repeated and fills a list or a table; ``const`` is what a flag without a value stands for.
    ``about`` may name the words of a kind, as in ``{feel}``.
    """

    flag: str
    place: str
    about: str
    kind: Callable[[str], Any] = str
    many: bool = False
    metavar: str = "WORD"
    const: Any = None

    @property
    def name(self) -> str:
        """Under which the parser keeps what was typed."""
        return self.flag.lstrip("-").replace("-", "_")

    @property
    def typed(self) -> str:
        """How it is typed."""
        return self.flag if self.const is not None else f"{self.flag} {self.metavar}"

    def fits(self, shape: Any) -> bool:
        """Say whether a shape has room for what it fills."""
        held = list(_held(shape, self.place.split(".")))
        return bool(held) and any(one in (tuple, dict) for one in held) == self.many


def _held(shape: Any, path: Sequence[str]) -> Iterator[Any]:
    """Yield what a place of a request may hold: tuple for a list, dict for a table, None for all else."""
    fields = getattr(shape, "model_fields", {})
    if path[0] in fields:
        inner = fields[path[0]].annotation
        for one in (inner, *get_args(inner)):
            if len(path) > 1:
                yield from _held(one, path[1:])
            else:
                yield get_origin(get_args(one)[0] if hasattr(one, "__metadata__") else one)


_REPORT = (
    Option("--feel", "report.feel", "what happened: {feel}"),
    Option("--degree", "report.degree", "how badly: slightly, clearly or badly"),
    Option("--kneaded-minutes", "report.kneaded_minutes", "how long kneaded", _number, metavar="MINUTES"),
    Option("--rested-minutes", "report.rested_minutes", "how long rested", _number, metavar="MINUTES"),
    Option("--dough-c", "report.dough_c", "how warm the dough is", _number, metavar="DEGREES"),
    Option("--room-c", "report.room_c", "how warm the room is", _number, metavar="DEGREES"),
    Option("--room-rh", "report.room_rh", "humidity of the room in percent", _number, metavar="PERCENT"),
    Option("--minutes-since-melt", "report.minutes_since_melt", "since the melt", _number, metavar="MINUTES"),
    Option("--dried-days", "report.dried_days", "for how many days it dried", _number, metavar="DAYS"),
    Option("--sign", "report.signs", "a sign seen: {sign}; may be repeated", many=True),
    Option("--method", "report.method", "worked by hand, mixer or press"),
    Option("--method", "method", "worked by hand, mixer or press"),
)
_WISHES = (
    Option("--market", "wishes.market", "where the bar is sold: eu, uk, us, ca, jp or none"),
    Option("--market", "market", "where the bar is sold: eu, uk, us, ca, jp or none"),
    Option("--aim", "wishes.aim", "closest or lowest_cost"),
    Option("--used-on", "wishes.used_on", "hand_and_body, face or hair"),
    Option("--used-on", "used_on", "hand_and_body, face or hair"),
    Option(
        "--claim",
        "wishes.claims",
        "what it is to be: sulfate_free, palm_free, vegan, unscented or not_ethoxylated; may be repeated",
        many=True,
    ),
    Option("--active-min", "wishes.active.min", "least active matter", _number, metavar="PERCENT"),
    Option("--active-max", "wishes.active.max", "most active matter", _number, metavar="PERCENT"),
    Option("--stay", "wishes.fixed", "materials that stay as they are, by commas", names, True, "NAMES"),
    Option("--feature", "features", "what is to be in it; may be repeated", _figure, True, "NAME=PERCENT"),
    Option("--shelf", "shelf", "materials at hand, separated by commas", names, True, "NAMES"),
    Option("--missing", "missing", "the material that cannot be had", metavar="NAME"),
    Option("--with", "replacements", "what is to take its place, by commas", names, True, "NAMES"),
    Option("--wanted", "powders", "powders to use next, separated by commas", names, True, "NAMES"),
    Option("--left", "left_grams", "what is left of it", in_grams, metavar="GRAMS"),
)
_BATCH = (
    Option("--batch", "batch_grams", "how much is made", in_grams, metavar="GRAMS"),
    Option("--balance", "balance_step", "what the balance reads to", in_grams, metavar="GRAMS"),
    Option("--fine-balance", "fine_balance_step", "what a finer balance reads to", in_grams, metavar="GRAMS"),
    Option("--bar", "dried_bar_grams", "what a dried bar is to weigh", in_grams, metavar="GRAMS"),
    Option("--lost", "lost_grams", "what was lost on gloves and bowl", in_grams, metavar="GRAMS"),
    Option("--lot", LINES, "the lot of a material; may be repeated", _lot, True, "NAME=LOT"),
    Option("--lot", "lots", "the lot of a material; may be repeated", _lot, True, "NAME=LOT"),
    Option("--weighed", "weighed", "what was weighed; may be repeated", _grams, True, "NAME=GRAMS"),
    Option("--mixed", "mixed", "what was weighed is already kneaded together", const=True),
    Option("--not-mixed", "mixed", "it still can be taken out", const=False),
    Option("--made-on", "made_on", "the day it was made, as in 2026-05-31", _date, metavar="DATE"),
    Option("--number", "batch", "the number of the batch", metavar="TEXT"),
    Option("--number", "particulars.batch", "the number of the batch", metavar="TEXT"),
    Option("--product", "product", "what it is sold as", metavar="TEXT"),
    Option("--made-by", "made_by", "who made it", metavar="NAME"),
    Option("--checked-by", "checked_by", "who checked it", metavar="NAME"),
    Option("--bars", "bars", "how many bars it gave", int, metavar="COUNT"),
    Option("--packed", "packed_grams", "what was packed; it then leaves the rack", in_grams, metavar="GRAMS"),
    Option("--notes", "notes", "what else was seen", metavar="TEXT"),
    Option("--outcome", "outcome", "how it was in the end: {feel}"),
    Option("--test", "bar_tests", "mush, cracks, wear, lather or ph of bars", _tested, True, "TEST=A,B,C"),
)
_MEASURED = (
    Option("--ph", "ph", "the pH that was read", _number, metavar="PH"),
    Option("--ph", "ph", "the pH that was read, and in how strong a solution", _reading, True, "PH@PERCENT"),
    Option("--ph-at", "ph_at_percent", "how strong the solution was", _number, metavar="PERCENT"),
    Option("--first-ph", "first_ph", "the pH before the dose", _number, metavar="PH"),
    Option("--dose", "dose", "what was dosed", _number, metavar="AMOUNT"),
    Option("--second-ph", "second_ph", "the pH after it", _number, metavar="PH"),
    Option("--target-ph", "target_ph", "the pH that is wanted", _number, metavar="PH"),
    Option(
        "--test-percent", "test_percent", "how strong the tested solution was", _number, metavar="PERCENT"
    ),
    Option("--test-dough", "test_dough_grams", "dough in the tested solution", in_grams, metavar="GRAMS"),
    Option("--humidity", "room_rh", "humidity of the room in percent", _number, metavar="PERCENT"),
    Option("--material", "material", "what it is of", metavar="NAME"),
    Option("--unit", "unit", "what the dose is counted in: grams, millilitres or drops"),
    Option("--confirmed", "confirmed", "an unusual pH is meant", const=True),
    Option("--liquid", "liquid", "what the powder took up, if not water", metavar="NAME"),
    Option("--powder", "powder_grams", "powder in each cup", in_grams, metavar="GRAMS"),
    Option("--step", "step_grams", "liquid added at a time", in_grams, metavar="GRAMS"),
    Option("--repeat", "repeats", _RUN, run, True, "SMOOTH|BALL,SMOOTH,STICKS"),
    Option("--volume", "volume_ml", "titrant that was used", _number, metavar="ML"),
    Option("--concentration", "concentration_mol_per_l", "of the titrant", _number, metavar="MOL/L"),
    Option("--sample", "sample_grams", "how much of the lot was weighed", in_grams, metavar="GRAMS"),
    Option("--made-to", "made_to_ml", "what it was made up to, if not 1000 ml", _number, metavar="ML"),
    Option("--aliquot", "aliquot_ml", "how much of that was titrated, if not 25 ml", _number, metavar="ML"),
    Option("--molar-mass", "molar_mass", "of the active matter", _number, metavar="G/MOL"),
    Option("--weighing", "weighings", "a bar on the balance; may be repeated", _weighing, True, _WEIGHING),
    Option("--weighing", "drying", "a bar on the balance; may be repeated", _weighing, True, _WEIGHING),
)
_SOLD = (
    Option("--loss", "loss_percent", "what is lost of a batch, if not the usual", _number, metavar="PERCENT"),
    Option("--wrap", "per_bar.wrap", "the wrap of a bar", _number, metavar="PRICE"),
    Option("--label-cost", "per_bar.label", "the label of a bar", _number, metavar="PRICE"),
    Option("--work", "per_batch.work", "the work on a batch", _number, metavar="PRICE"),
    Option("--factor", "factor", "times the cost of a bar is its price", _number, metavar="FACTOR"),
    Option("--price", "prices", "what was paid for a kilogram; may be repeated", _figure, True, "NAME=PRICE"),
    Option("--currency", "currency", "what the figures are in, as in EUR"),
    Option("--since", "earlier_prices", f"{_ANSWER}: says what moved", _prices, True, "FILE"),
    Option("--dried", "dried", "it is of dried bars", const=True),
    Option("--fresh", "dried", "it is of fresh dough", const=False),
    Option("--mass-left", "mass_left", "what is left of 100 g of dough", in_grams, metavar="GRAMS"),
    Option("--grams", "grams", "how much there is", in_grams, metavar="GRAMS"),
    Option("--net", "particulars.net_grams", "what a bar weighs when packed", in_grams, metavar="GRAMS"),
    Option("--best-before", "particulars.best_before", "until when it is good", _date, metavar="DATE"),
    Option("--responsible", "particulars.responsible", "name and address of who answers for it"),
    Option("--contact", "particulars.contact", "where a customer asks", metavar="TEXT"),
)
_LOT = (
    Option("--stock", "stock_grams", "how much there is", in_grams, metavar="GRAMS"),
    Option("--price", "price_per_kg", "what a kilogram costs", _number, metavar="PRICE"),
    Option("--active", "active", "active matter by its certificate", _number, metavar="PERCENT"),
    Option("--received", "received", "the day it came", _date, metavar="DATE"),
    Option("--expires", "expires", "until when it is good", _date, metavar="DATE"),
    Option("--free-fatty-acid", "free_fatty_acid", "by its certificate", _number, metavar="PERCENT"),
    Option("--fineness", "fineness", "fine or coarse"),
)
OPTIONS = (*_REPORT, *_WISHES, *_BATCH, *_MEASURED, *_SOLD, *_LOT)
