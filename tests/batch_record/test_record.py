"""The batch record: planned beside weighed, what was measured, and what is still missing."""

from typing import Any

import pytest

from advisor.batch_record.task import record
from advisor.errors import InvalidRequest
from advisor.printing.document import Facts
from advisor.printing.record import batch_record
from advisor.schema.batch_record import BatchRecordRequest

BATCH: dict[str, Any] = {
    "recipe": {
        "name": "Mill Pond bar",
        "lines": [
            {"material": "isethionate-powder", "percent": 60},
            {"material": "kaolin", "percent": 18},
            {"material": "betaine-30", "percent": 21.5},
            {"material": "sodium-benzoate", "percent": 0.5},
        ],
    },
    "batch_grams": 400,
}
DONE: dict[str, Any] = {
    **BATCH,
    "batch": "26-041",
    "product": "Mill Pond bar",
    "made_on": "2026-11-20",
    "made_by": "A. Maker",
    "checked_by": "B. Second",
    "equipment": "steel bowl, press",
    "lots": {
        "isethionate-powder": "I1",
        "kaolin": "K7",
        "betaine-30": "B3",
        "sodium-benzoate": "S1",
    },
    "weighed": {"isethionate-powder": 240.0, "kaolin": 72.0, "betaine-30": 86.0, "sodium-benzoate": 2.1},
    "report": {"feel": "workable", "dough_c": 22, "room_rh": 50},
    "ph": [{"ph": 5.8, "at_percent": 10, "temperature_c": 24}],
    "drying": [{"hours": h, "grams": g} for h, g in ((0, 80.0), (24, 76.0), (72, 72.5), (168, 70.6))],
    "tests": {"mush": 2.1, "wear_percent": 3.0, "cracks": "none after six cycles"},
    "bars": 4,
    "packed_grams": 282.0,
    "label_checked": True,
}


def test_a_bare_record_says_everything_it_lacks() -> None:
    answer = record(BATCH)
    assert [item.id for item in answer.missing] == [
        "product",
        "batch",
        "made-on",
        "made-by",
        "equipment",
        "lots",
        "weighed",
        "report",
        "ph",
        "drying",
        "tests",
        "yield",
        "label",
        "checked-by",
    ]
    assert [line.planned_grams for line in answer.lines] == [240.0, 72.0, 86.0, 2.0]
    assert answer.dried is None
    assert "not known" in answer.preservation[0].text


def test_a_whole_record_lacks_nothing() -> None:
    answer = record(DONE)
    assert answer.missing == ()
    assert answer.weighed_grams == pytest.approx(400.1)
    assert answer.yield_percent == pytest.approx(70.5)
    assert answer.dried is not None
    assert answer.dried.dried is not None
    assert [remark.id for remark in answer.remarks] == ["deviation-sodium-benzoate"]
    assert any("outside its working range" in item.text for item in answer.preservation)
    assert "sale" in [note.id for note in answer.notes]


def test_lots_and_weights_are_asked_by_material() -> None:
    answer = record({**DONE, "lots": {"kaolin": "K7"}, "weighed": {"kaolin": 72.0, "water": 3.0}})
    missing = {item.id: item.text for item in answer.missing}
    assert "Kaolin" not in missing["lots"]
    assert "Sodium benzoate" in missing["weighed"]
    assert "strange-water" in [remark.id for remark in answer.remarks]


def test_the_record_can_be_sent_again() -> None:
    answer = record(DONE)
    assert BatchRecordRequest.model_validate(answer.record.model_dump()) == answer.record


def test_wrong_fields_name_their_place() -> None:
    with pytest.raises(InvalidRequest) as caught:
        record({**BATCH, "ph": [{"ph": 15, "at_percent": 10}]})
    assert [fault.where for fault in caught.value.faults] == ["/ph/0/ph"]


def test_the_printed_record_states_the_dried_bar_not_the_dough() -> None:
    answer = record(DONE)
    assert answer.dried is not None
    assert answer.dried.dried is not None
    totals = answer.dried.dried.totals
    assert totals is not None
    dried, dough = totals.as_dried, totals
    assert dried.active != dough.active
    facts = dict(
        pair for block in batch_record(answer).blocks if isinstance(block, Facts) for pair in block.pairs
    )
    assert facts["In it"] == f"active {dried.active:g} %, water {dried.water:g} %"


def test_weighings_that_cannot_be_are_remarked_on_and_the_record_stands() -> None:
    rising = [{"hours": h, "grams": g} for h, g in ((0, 80.0), (24, 76.0), (72, 77.5), (168, 70.6))]
    answer = record({**DONE, "drying": rising})
    assert answer.dried is None
    remark = next(item.text for item in answer.remarks if item.id == "drying-not-told")
    assert "77.5 g at 72 h" in remark


def test_the_record_says_when_to_look_at_the_bars_again() -> None:
    answer = record(DONE)
    assert answer.dried is not None
    assert answer.dried.dates is not None
    assert answer.dried.dates.handle.isoformat() == "2026-11-22"


@pytest.mark.parametrize("market", ["eu", "uk", "us", "ca", "jp"])
def test_the_duties_of_a_market_are_listed_to_tick_and_only_where_one_is_named(market: str) -> None:
    duties = [note.id for note in record({**BATCH, "market": market}).notes if note.id.startswith("duty-")]
    assert duties
    assert not [note for note in record(BATCH).notes if note.id.startswith("duty-")]
