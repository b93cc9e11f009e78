"""A record of an earlier day is held against the law of that day, as the record written then was."""

import datetime
from collections.abc import Iterator

import pytest

from advisor.batch_record.task import record
from advisor.rulebook.load import load_rulebook

TODAY = "2026-11-28"
TEXTS = load_rulebook().law_texts
CONCERNED = sorted(
    {"Hexyl Salicylate", "CI 77820"}
    | {name for file in TEXTS.files.values() for change in file.announced for name in change.components[:3]}
)
PARTS = {**dict.fromkeys(CONCERNED, 1.0), "Zea Mays Starch": 100.0 - len(CONCERNED)}
# How old our text of a law is has nothing to do with the day a batch was made.
OF_THE_TEXT = {"law-age", "law-review-due"}


def turning_days() -> Iterator[datetime.date]:
    """Yield the days beside every change of a law, and those on which it is first announced."""
    announced = [change.applies_from for file in TEXTS.files.values() for change in file.announced]
    for change in sorted({*TEXTS.changes, *announced}):
        for apart in (-250, -170, -1, 0):
            yield change + datetime.timedelta(days=apart)


def told(made_on: datetime.date, market: str) -> tuple[list[str], list[str]]:
    scented = {
        "key": "scented",
        "name": "Scented",
        "form": "powder",
        "roles": ["filler"],
        "composition": PARTS,
    }
    lines = [{"material": "isethionate-powder", "percent": 60}, {"material": "scented", "percent": 40}]
    answer = record(
        {
            "recipe": {"lines": lines},
            "materials": [scented],
            "batch_grams": 400,
            "market": market,
            "made_on": made_on.isoformat(),
        }
    )
    cautions = [one.text for one in answer.cautions if one.id not in OF_THE_TEXT]
    return cautions, [one.text for one in answer.notes]


@pytest.mark.parametrize("market", ["eu", "uk", "us", "ca", "jp"])
def test_an_earlier_batch_is_told_the_law_of_its_day(market: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = set()
    for day in dict.fromkeys(turning_days()):
        monkeypatch.setenv("DOUGH_TODAY", TODAY)
        later = told(day, market)
        monkeypatch.setenv("DOUGH_TODAY", day.isoformat())
        assert later == told(day, market), day
        seen.add(str(later))
    assert len(seen) > 1 or market == "jp"
