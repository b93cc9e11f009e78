"""Figures, weights and days are read and written as people do: what is unclear is asked, never guessed."""

import io
import itertools
import json
import random
from datetime import date, timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
from advisor.errors import InvalidRecipe
from advisor.tables import read_recipe
from advisor.writing import GRAMS_PER_OUNCE, Unclear, Writing
from api.app import create_app
from api.settings import Settings

POINT, COMMA, UNSET = Writing("."), Writing(","), Writing()


def test_what_is_written_is_read_again() -> None:
    rng = random.Random(7)
    for writing, decimals in itertools.product((POINT, COMMA), range(5)):
        for _ in range(200):
            value = round(rng.uniform(0, 5000), decimals)
            assert writing.number(writing.text(f"{value:.{decimals}f}")) == value


def test_thousands_are_told_from_decimals_or_asked() -> None:
    for whole, rest in itertools.product(range(1, 1000, 37), range(0, 1000, 111)):
        text = f"{whole},{rest:03}"
        assert COMMA.number(text) == float(f"{whole}.{rest:03}")
        assert POINT.number(text) == whole * 1000 + rest
        with pytest.raises(Unclear, match=str(whole * 1000 + rest)):
            UNSET.number(text)
        assert UNSET.number(f"{text}.5") == POINT.number(f"{text}.5") == whole * 1000 + rest + 0.5


@pytest.mark.parametrize("text", ["", "much", "1,2,3", "1.2.3", "12,34.5", "nan", "inf", "--1", "1 oz"])
def test_no_number_is_refused(text: str) -> None:
    for writing in (UNSET, POINT, COMMA):
        with pytest.raises(Unclear):
            writing.number(text)


def test_days_are_read_in_either_order_only_where_it_is_known() -> None:
    first, then = Writing(day="%d %b %Y"), Writing(day="%b %d, %Y")
    for day in (date(2031, 1, 1) + timedelta(days=step) for step in range(0, 365, 7)):
        iso, slashed = day.isoformat(), f"{day.day}/{day.month}/{day.year}"
        assert {one.date(one.text(iso)) for one in (first, then, UNSET)} == {iso}
        assert first.date(slashed) == then.date(f"{day.month}/{day.day}/{day.year}") == iso
        if day.day > 12 or day.day == day.month:
            assert UNSET.date(slashed) == iso
        else:
            for unknown in (UNSET, Writing.of({"DOUGH_DATES": "iso"})):
                with pytest.raises(Unclear, match="may be"):
                    unknown.date(slashed)


def test_what_is_no_figure_stays() -> None:
    for text in ("rules 2026.11.1+ab", "2009/1223", "127.0.0.1:8000", "Annex V, 29", "a 2031-13-99"):
        assert Writing(",", "%d %b %Y").text(text) == text


@pytest.mark.parametrize("setting", [{"DOUGH_DECIMAL": "dot"}, {"DOUGH_DATES": "late"}])
def test_a_setting_that_is_none_is_named(setting: dict[str, str]) -> None:
    with pytest.raises(ValueError, match=next(iter(setting))):
        Writing.of(setting)


def grams(table: str, writing: Writing = UNSET) -> list[float]:
    recipe, _ = read_recipe(table.encode(), "bar", "bar.csv", writing)
    return [line["grams"] for line in recipe["lines"]]


def test_a_weight_of_thousands_is_told_by_the_cells_beside_it() -> None:
    assert grams("material;grams\nKaolin;1,250\nWater;12,5") == [1.25, 12.5]
    assert grams("material;grams\nKaolin;1,250\nWater;12.5") == [1250, 12.5]
    assert grams("material;grams\nKaolin;1,250\nWater;40", COMMA) == [1.25, 40]
    with pytest.raises(InvalidRecipe) as asked:
        grams("material;grams\nKaolin;1,250\nWater;40")
    assert [(fault.where, "1250 or 1.25" in fault.problem) for fault in asked.value.faults] == [
        ("line 2", True)
    ]


def test_ounces_are_read_by_heading_and_by_cell() -> None:
    for table in ("material;oz\nKaolin;2,5\nWater;1", "Kaolin;2.5 oz\nWater;1 oz"):
        assert grams(table) == pytest.approx([2.5 * GRAMS_PER_OUNCE, GRAMS_PER_OUNCE])


def test_the_command_line_reads_and_writes_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    bar = tmp_path / "bar.csv"
    bar.write_text("material;percent\nSCI powder;66,5\nKaolin;9\nBetaine 30;24,5\n", encoding="utf-8")
    monkeypatch.setenv("DOUGH_NOTEBOOK", "none")
    asked = ["correct", str(bar), "--feel", "too_wet", "--batch", "17,5 oz", "--units", "oz"]
    assert main(asked) == 0
    assert "17.5 oz" in capsys.readouterr().out
    monkeypatch.setenv("DOUGH_DECIMAL", "comma")
    assert main(asked) == 0
    told = capsys.readouterr().out
    assert "17,5 oz" in told and "66,5" in told and "24.5" not in told
    assert main([*asked, "--json"]) == 0
    assert '"before": 24.5' in capsys.readouterr().out
    monkeypatch.delenv("DOUGH_DECIMAL")
    assert main([*asked, "--batch", "1,250"]) == 2
    assert "1250 or 1.25" in capsys.readouterr().err


def test_the_currency_of_the_settings_is_that_of_costs_that_name_none(
    root: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    body = json.loads((root / "samples" / "what-a-market-bar-costs.json").read_text(encoding="utf-8"))
    body.pop("currency", None)
    with TestClient(create_app(Settings.read({"DOUGH_CURRENCY": "SEK"}))) as client:
        assert client.post("/v1/costings", json=body).json()["currency"] == "SEK"
        assert client.post("/v1/costings", json=body | {"currency": "EUR"}).json()["currency"] == "EUR"
    monkeypatch.setenv("DOUGH_CURRENCY", "SEK")
    monkeypatch.setenv("DOUGH_NOTEBOOK", "none")
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(body).encode())))
    assert main(["cost", "-"]) == 0
    assert "SEK" in capsys.readouterr().out


def test_a_form_of_the_server_is_written_by_its_settings(root: Path) -> None:
    body = json.loads((root / "samples" / "weigh-sheet-on-two-balances.json").read_text(encoding="utf-8"))
    with TestClient(create_app(Settings.read({"DOUGH_DECIMAL": "comma"}))) as client:
        plain, table = (
            client.post("/v1/weighings", json=body, headers={"Accept": media}).text
            for media in ("text/plain", "text/csv")
        )
    assert "30,00" in plain and "30.00" not in plain
    assert "30.00" in table
