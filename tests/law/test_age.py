"""The age of a law: told past six months, changes six months ahead and from their day, reviews when due."""

import datetime
from typing import Any

import pytest

from advisor import assess, label, record
from advisor.law.age import due
from advisor.rulebook.age import today
from advisor.rulebook.load import load_rulebook

BOOK = load_rulebook()
LINES = {
    "isethionate-powder": 60.0,
    "kaolin": 9.0,
    "betaine-30": 25.0,
    "glycerin": 5.0,
    "dmdm-hydantoin-55": 1.0,
}


def assessed(market: str, day: str, monkeypatch: pytest.MonkeyPatch, **more: Any) -> Any:
    monkeypatch.setenv("DOUGH_TODAY", day)
    lines = [{"material": key, "percent": of} for key, of in LINES.items()]
    return assess({"recipe": {"lines": lines}, "wishes": {"market": market}, **more})


@pytest.mark.parametrize(("day", "told"), [("2026-04-29", False), ("2026-04-30", True), ("2026-11-28", True)])
def test_a_text_past_six_months_is_the_last_caution(
    day: str, told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    cautions = assessed("eu", day, monkeypatch).cautions
    assert ("law-age" in [item.id for item in cautions]) == told
    if told:
        assert cautions[-1].id == "law-age"
    if day == "2026-11-28":
        assert "12 months old" in cautions[-1].text


@pytest.mark.parametrize(("day", "told"), [("2027-05-28", False), ("2027-05-29", True)])
def test_an_overdue_review_is_said_in_every_answer(
    day: str, told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = [item.id for item in assessed("jp", day, monkeypatch).cautions]
    assert ("law-review-due" in found) == told


@pytest.mark.parametrize(
    ("day", "word"),
    [("2026-06-30", None), ("2026-07-01", "From 2027-01-01"), ("2027-01-01", "Since 2027-01-01")],
)
def test_a_ban_to_come_is_told_six_months_ahead(
    day: str, word: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = {note.id: note.text for note in assessed("us", day, monkeypatch).notes}
    text = told.get("law-announced-washington-releasers")
    assert (text is None) if word is None else (text or "").startswith(word)


def test_a_figure_holds_from_its_day() -> None:
    def highest(day: datetime.date) -> list[float | None]:
        limits = BOOK.law_texts.on(day)["eu"].limits
        return [limit.max for limit in limits if limit.id == "restricted-hexyl-salicylate"]

    assert highest(datetime.date(2026, 4, 30)) == []
    assert highest(datetime.date(2026, 5, 1)) == [0.5]


def test_the_law_of_every_day_is_whole() -> None:
    changes = {
        day
        for lists in BOOK.law_texts.rows.values()
        for some in lists.values()
        for row in some
        for day in (row.applies_from, row.applies_until)
        if day
    }
    for day in (datetime.date(2020, 1, 1), *changes):
        assert set(BOOK.law_texts.on(day)) == {"eu", "uk", "jp", "ca", "us"}


@pytest.mark.parametrize(("day", "markets"), [("2027-04-27", 0), ("2027-04-28", 5), ("2027-06-01", 5)])
def test_reviews_are_due_thirty_days_ahead(day: str, markets: int) -> None:
    assert len(due(BOOK.law_texts, datetime.date.fromisoformat(day))) == markets


def test_today_is_an_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DOUGH_TODAY", "2031-02-03")
    assert today() == datetime.date(2031, 2, 3)
    monkeypatch.delenv("DOUGH_TODAY")
    assert today() == datetime.date.today()


@pytest.mark.parametrize(("day", "told"), [("2026-03-26", False), ("2026-03-27", True), ("2026-11-28", True)])
def test_a_change_that_concerns_every_product_stands_with_the_duties(
    day: str, told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DOUGH_TODAY", day)
    recipe = {"lines": [{"material": "kaolin", "percent": 70}, {"material": "betaine-30", "percent": 30}]}
    labelled = label({"recipe": recipe, "market": "eu"}).remarks
    recorded = record({"recipe": recipe, "market": "eu", "batch_grams": 500}).notes
    for said in (labelled, recorded):
        assert ("law-announced-green-claims" in [item.id for item in said]) == told
        assert "duty-safety-report" in [item.id for item in said]
    looked_at = assess({"recipe": recipe, "wishes": {"market": "eu"}})
    assert "law-announced-green-claims" not in [note.id for note in looked_at.notes]


def test_what_stands_in_no_list_names_its_own_act() -> None:
    for law in BOOK.laws.values():
        assert all(
            not one.source.startswith(law.head.source + ",") for one in (*law.head.duty, *law.head.announced)
        )
        for condition in law.head.condition:
            listed = "Annex" in condition.entry or law.head.market not in ("eu", "uk")
            assert law.source_of(condition).startswith(f"{law.head.source}, ") == listed, condition.id
