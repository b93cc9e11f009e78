"""The rack: every batch has the dates the drying task gives it alone, whatever lies beside it."""

import datetime
import random

import pytest

import advisor
from advisor.drying import rack as module
from advisor.drying.rack import rack

TODAY = datetime.date(2031, 3, 20)
LINES = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
WETTER = [{"material": "betaine-30", "percent": 36}, {"material": "isethionate-powder", "percent": 64}]


def batches(seed: int, count: int) -> list[dict]:
    draw, found = random.Random(seed), []
    for number in range(count):
        weighed = draw.choice((0, 0, 1, 3, 5))
        drying = [{"hours": 24.0 * day, "grams": 100 - 7 * (1 - 0.7**day)} for day in range(weighed)]
        if draw.random() < 0.1:
            drying = [{"hours": 24.0 * day, "grams": 50.0 + 20 * day} for day in range(3)]
        made = TODAY - datetime.timedelta(days=draw.randrange(20))
        recipe = {"name": f"Bar {number}", "lines": draw.choice((LINES, WETTER))}
        found.append({"id": f"d-{number}", "recipe": recipe, "made_on": made.isoformat(), "drying": drying})
    return found


@pytest.mark.parametrize("seed", range(3))
def test_a_batch_among_many_has_the_dates_it_has_alone(seed: int) -> None:
    doughs = batches(seed, 12)
    answer = rack(doughs, today=TODAY)
    sent = {one["id"]: one for one in doughs}
    refused = {note.text.split(":")[0] for note in answer.notes}
    assert len(answer.items) == len(doughs)
    for one in answer.items:
        dough = sent[one.id]
        weighings = () if any(one.name in text for text in refused) else dough["drying"]
        asked = {"weighings": weighings, "recipe": dough["recipe"], "made_on": dough["made_on"]}
        alone = advisor.dry(asked)
        assert {name: date for name, date in one.dates if name != "turn"} == dict(alone.dates)
        assert one.basis == alone.basis


def test_what_is_alike_is_reckoned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    real = module.dry

    def counted(*words: object, **more: object) -> object:
        asked.append(words)
        return real(*words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(module, "dry", counted)
    doughs = [{**one, "drying": []} for one in batches(7, 40)]
    assert len(rack(doughs, today=TODAY).items) == 40
    assert len(asked) == len({str(one["recipe"]["lines"]) for one in doughs}) == 2
