"""A lot a recipe names: its certificate, price, dates and stock stand in the place of what is typical."""

import datetime
from collections.abc import Callable, Mapping
from typing import Any

import pytest

import advisor
from advisor.errors import InvalidRecipe

LINES = {"isethionate-powder": 60.0, "kaolin": 12.0, "betaine-30": 24.0, "glycerin": 4.0}
TODAY = datetime.date(2031, 6, 1)


def recipe(
    unit: str = "percent", lots: Mapping[str, str] | None = None, times: float = 1.0
) -> dict[str, Any]:
    named = {"betaine-30": "B-1", "isethionate-powder": "I-1"} if lots is None else lots
    return {
        "lines": [
            {"material": key, unit: times * amount, **({"lot": named[key]} if key in named else {})}
            for key, amount in LINES.items()
        ]
    }


def shop(**figures: Any) -> Any:
    """Return a notebook in which lot B-1 of betaine has these figures, and I-1 of isethionate none."""
    lots = [
        {"material": "betaine-30", "lot": "B-1", **figures},
        {"material": "isethionate-powder", "lot": "I-1"},
    ]
    return advisor.remember({"format": 1, "lots": lots}, today=TODAY)


CALLS: dict[str, tuple[Callable[..., Any], dict[str, Any]]] = {
    "assess": (advisor.assess, {"recipe": recipe()}),
    "correct": (advisor.correct, {"recipe": recipe(), "report": {"feel": "too_wet"}}),
    "add": (
        advisor.add,
        {"recipe": recipe("grams", times=10.0), "report": {"feel": "too_dry"}, "balance_step": 0.1},
    ),
    "substitute": (advisor.substitute, {"recipe": recipe(), "missing": "kaolin"}),
    "weigh": (advisor.weigh, {"recipe": recipe(), "batch_grams": 500, "balance_step": 0.1}),
    "recover": (
        advisor.recover,
        {
            "recipe": recipe(),
            "batch_grams": 100,
            "weighed": {"isethionate-powder": 64.0},
            "mixed": True,
            "balance_step": 0.1,
        },
    ),
    "strength": (advisor.strength, {"recipe": recipe()}),
    "label": (advisor.label, {"recipe": recipe(), "market": "eu"}),
    "record": (advisor.record, {"recipe": recipe(), "batch_grams": 500}),
    "dry": (
        advisor.dry,
        {
            "recipe": recipe(),
            "weighings": [{"hours": h, "grams": g} for h, g in ((0, 80), (24, 74), (48, 71))],
        },
    ),
    "trial": (advisor.trial, {"recipes": [recipe()]}),
}
FIGURES = [
    *(
        (call, {"active": 35.0})
        for call in ("assess", "correct", "add", "substitute", "weigh", "recover", "strength", "dry", "trial")
    ),
    *((call, {"price_per_kg": 9.0}) for call in ("assess", "correct", "substitute")),
    *((call, {"expires": "2031-05-31"}) for call in CALLS if call not in ("label", "dry")),
    *((call, {"received": "2031-06-02"}) for call in CALLS if call not in ("label", "dry")),
    *((call, {"stock_grams": 10.0}) for call in ("add", "weigh", "recover", "trial")),
]


def bare(answer: Any) -> dict[str, Any]:
    """Return an answer without its notes, which name every figure of a lot."""
    told = answer.model_dump()
    return {name: value for name, value in told.items() if name != "notes"}


@pytest.mark.parametrize(("call", "figures"), FIGURES)
def test_every_figure_of_a_lot_counts(call: str, figures: dict[str, Any]) -> None:
    task, body = CALLS[call]
    assert bare(task(body, notebook=shop(**figures))) != bare(task(body, notebook=shop()))


@pytest.mark.parametrize("call", CALLS)
def test_what_a_lot_says_of_itself_is_told(call: str) -> None:
    task, body = CALLS[call]
    answer = task(body, notebook=shop(active=35.0))
    notes = [*answer.notes, *getattr(answer, "weighing", answer).notes]
    said = next(note.text for note in notes if note.id == "lot")
    assert said.endswith("has its own figures: active matter 35 %.")


def test_active_matter_takes_the_place_of_water_and_wets_less() -> None:
    # 24 % of betaine: 35 instead of 30 % active, 59 instead of 64 % water, wetting 1 - 5 x 0.005 = 0.975.
    typical = advisor.assess({"recipe": recipe()}, notebook=shop())
    strong = advisor.assess({"recipe": recipe()}, notebook=shop(active=35.0))
    assert strong.totals.active - typical.totals.active == pytest.approx(24 * 0.05)
    assert typical.totals.water - strong.totals.water == pytest.approx(24 * 0.05)
    drop = 24 * 0.025 / (LINES["isethionate-powder"] * 0.36 + LINES["kaolin"] * 0.42)
    wetness = [answer.consistency.wetness for answer in (typical, strong)]
    assert wetness[0] is not None and wetness[1] is not None
    assert 0 < wetness[0] - wetness[1] < 2 * drop


def test_a_certificate_makes_the_strength_surer() -> None:
    typical = advisor.strength({"recipe": recipe()}, notebook=shop())
    certified = advisor.strength({"recipe": recipe()}, notebook=shop(active=30.0))
    assert certified.mean == pytest.approx(typical.mean, abs=0.2)
    assert certified.sd < typical.sd


def kept(**figures: Any) -> Any:
    lots = [{"material": "isethionate-powder", "lot": "I-1", **figures}]
    return advisor.remember({"format": 1, "lots": lots})


def test_fatty_acid_is_a_component_and_may_move_the_label() -> None:
    wishes = {"components": {"Coconut Acid": {"max": 30}}}
    body = {"recipe": recipe(), "wishes": wishes}

    def acid(notebook: Any) -> float:
        [check] = [
            one for one in advisor.assess(body, notebook=notebook).checks if one.about == ("Coconut Acid",)
        ]
        return check.value

    assert (acid(kept()), acid(kept(free_fatty_acid=12.0))) == (pytest.approx(5.4), pytest.approx(7.2))
    names = {
        share: advisor.label(
            {"recipe": recipe(), "market": "ca"}, notebook=kept(free_fatty_acid=share)
        ).ingredients
        for share in (0.0, 14.0)
    }
    assert set(names[14.0]) >= set(names[0.0])


def test_a_coarse_lot_is_advised_to_be_milled() -> None:
    coarse = advisor.assess({"recipe": recipe()}, notebook=kept(fineness="coarse"))
    fine = advisor.assess({"recipe": recipe()}, notebook=kept(fineness="fine"))
    assert fine.consistency.coarse_share == 0.0
    assert coarse.consistency.coarse_share == pytest.approx(60 / 72, abs=1e-3)
    report = {"feel": "crumbling", "signs": ["gritty"]}
    told = advisor.correct({"recipe": recipe(), "report": report}, notebook=kept(fineness="coarse"))
    assert told != advisor.correct({"recipe": recipe(), "report": report}, notebook=kept())


def test_answers_carry_the_lots_on() -> None:
    notebook = shop(active=31.0)
    corrected = advisor.correct({"recipe": recipe(), "report": {"feel": "too_wet"}}, notebook=notebook)
    named = {line.material: line.lot for line in corrected.recipe.lines}
    assert (named["betaine-30"], named["kaolin"]) == ("B-1", None)
    assert "lot" not in next(
        line for line in corrected.model_dump()["recipe"]["lines"] if line["material"] == "kaolin"
    )
    sheet = advisor.weigh(
        {"recipe": corrected.recipe.model_dump(), "batch_grams": 200, "balance_step": 0.1}, notebook=notebook
    )
    assert {line.material: line.lot for line in sheet.lines} == named
    bowl = advisor.add(CALLS["add"][1], notebook=notebook).bowl_after
    assert {line.material: line.lot for line in bowl.lines} == named


def test_what_a_lot_taught_counts_where_it_is_named() -> None:
    wet = {"feel": "too_wet", "degree": "severe"}
    past = [
        {"recipe": recipe(lots={"isethionate-powder": lot}), "report": report}
        for lot, report in (("thirsty", {"feel": "workable"}), ("soft", wet)) * 3
    ]

    def centre(lot: str) -> float:
        asked = {"recipe": recipe(lots={"isethionate-powder": lot}), "history": past}
        answer = advisor.assess(asked)
        assert answer.consistency.chance_workable is not None
        return answer.consistency.chance_workable

    assert centre("thirsty") > centre("never-seen") > centre("soft")


def test_a_lot_beside_the_recipe_is_the_same_as_in_its_line() -> None:
    plain = recipe(lots={})
    beside = {"recipe": plain, "report": {"feel": "workable"}, "lots": {"isethionate-powder": "x"}}
    inside = {"recipe": recipe(lots={"isethionate-powder": "x"}), "report": {"feel": "workable"}}
    asked = {"recipe": recipe(lots={"isethionate-powder": "x"})}
    assert advisor.assess({**asked, "history": [beside] * 3}) == advisor.assess(
        {**asked, "history": [inside] * 3}
    )
    twice = {**inside, "lots": {"isethionate-powder": "y"}}
    with pytest.raises(InvalidRecipe) as refused:
        advisor.assess({**asked, "history": [twice]})
    assert [fault.where for fault in refused.value.faults] == ["/history/0/recipe/lines/0/lot"]


def test_a_lot_nothing_is_kept_of_is_said_to_be_typical() -> None:
    told = advisor.assess({"recipe": recipe(lots={"kaolin": "Ω 7"})})
    assert [note.text for note in told.notes if note.id == "lot-without-figures"] == [
        "No figures of lot Ω 7 of Kaolin are kept; typical ones stand in."
    ]


def test_cautions_stand_only_where_a_date_or_a_stock_is_passed() -> None:
    fine = shop(expires=str(TODAY), received=str(TODAY), stock_grams=120.0)
    assert not [item for item in advisor.weigh(CALLS["weigh"][1], notebook=fine).cautions if "lot" in item.id]
    short = advisor.weigh(CALLS["weigh"][1], notebook=shop(stock_grams=119.9))
    assert [item.text for item in short.cautions if item.id == "lot-too-little"] == [
        "Lot B-1 of Cocamidopropyl betaine has 119.9 g in stock, and 120 g are wanted: enough for 99.9 % of the batch."
    ]
    day = {**CALLS["record"][1], "made_on": "2031-03-01"}
    for made_on, told in ((day, []), (CALLS["record"][1], ["lot-expired"])):
        answer = advisor.record(made_on, notebook=shop(expires="2031-05-01"))
        assert [item.id for item in answer.cautions if item.id.startswith("lot")] == told


@pytest.mark.parametrize(
    ("held", "told"),
    [
        ((70.0, 49.0), ["119 g, and 120 g are wanted: enough for 99.2 % of the batch"]),
        ((70.0, 50.0), []),
        ((70.0, None), []),
        ((), []),
    ],
)
def test_where_no_lot_is_named_all_of_them_have_to_do(
    held: tuple[float | None, ...], told: list[str]
) -> None:
    lots = [
        {"material": "betaine-30", "lot": f"B-{place}"} | ({} if grams is None else {"stock_grams": grams})
        for place, grams in enumerate(held)
    ]
    notebook = advisor.remember({"format": 1, "lots": lots}, today=TODAY)
    asked = {**CALLS["weigh"][1], "recipe": recipe(lots={})}
    said = [
        one.text for one in advisor.weigh(asked, notebook=notebook).cautions if one.id == "stock-too-little"
    ]
    assert said == [f"All lots of Cocamidopropyl betaine together hold {one}." for one in told]
