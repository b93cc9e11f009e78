"""Recipes with a past, stock and rack on the command line, in the notebook a server keeps too."""

import datetime
import io
import json
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
from api.app import create_app
from api.settings import Settings

RECIPE = "material,percent\nisethionate-powder,60\nkaolin,10\nbetaine-30,30\n"


@pytest.fixture
def ran(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    """Return what a command writes, in a folder whose notebook is a new file."""
    monkeypatch.setenv("DOUGH_NOTEBOOK", str(tmp_path / "notebook.sqlite3"))
    monkeypatch.chdir(tmp_path)
    Path("weir-bar.csv").write_text(RECIPE)

    def run(*words: str, sent: str = "") -> str:
        monkeypatch.setattr("sys.stdin", type("In", (), {"buffer": io.BytesIO(sent.encode())}))
        assert main(words) == 0, capsys.readouterr().err
        return capsys.readouterr().out

    return run


def test_a_recipe_is_kept_changed_and_read_again(ran) -> None:
    assert "0 recipes" in ran("recipes")
    assert json.loads(ran("recipes", "--json"))["items"] == []
    assert "weir-bar, version 1" in ran("keep", "weir-bar.csv", "--as", "weir-bar")
    answer = ran("correct", "weir-bar.csv", "--feel", "too_wet", "--json")
    assert "weir-bar, version 2" in ran("keep", "-", "--as", "weir-bar", "--note", "It sagged.", sent=answer)
    told = ran("recipes", "weir-bar")
    assert "Version 1" in told and "It sagged." in told and "Cocamidopropyl betaine" in told
    kept = ran("recipes", "weir-bar", "--json")
    assert json.loads(kept)["recipe"]["lines"] == json.loads(answer)["recipe"]["lines"]
    assert json.loads(ran("recipes", "weir-bar", "--version", "1", "--json"))["version"] == 1
    first = ran("recipes", "weir-bar", "--version", "1")
    assert "Kaolin, white" in first and "Version 1" in first and "Version 2" not in first
    assert "weir-bar" in ran("recipes")
    [last] = json.loads(ran("recipes", "--json"))["items"]
    assert last == json.loads(kept) and last["version"] == 2
    sheet = ran("weigh", "-", "--batch", "500", "--balance", "0.1", "--json", sent=kept)
    assert json.loads(sheet)["total_grams"] == 500.0


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("My Bar", "'My Bar' is no key of a recipe: small letters, digits and hyphens. Try --as my-bar."),
        (
            "Crème, 2",
            "'Crème, 2' is no key of a recipe: small letters, digits and hyphens. Try --as creme-2.",
        ),
        ("?", "'?' is no key of a recipe: small letters, digits and hyphens."),
        ("b" * 65, f"{'b' * 65!r} is no key of a recipe: at most 64 letters."),
    ],
)
def test_what_is_no_key_of_a_recipe_is_told_so(
    key: str, told: str, ran, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["keep", "weir-bar.csv", f"--as={key}"]) == 2
    assert capsys.readouterr().err == f"{told}\n"


def test_stock_and_rack_of_the_servers_notebook(ran, tmp_path: Path) -> None:
    today = datetime.datetime.now(datetime.UTC).date()
    lines = [{"material": "kaolin", "percent": 40}, {"material": "betaine-30", "percent": 60}]
    made = {"recipe": {"name": "Weir bar", "lines": lines}, "batch_grams": 100, "lots": {"kaolin": "K-1"}}
    with TestClient(create_app(Settings(notebook=str(tmp_path / "notebook.sqlite3")))) as client:
        client.put("/v1/materials/kaolin/lots/K-1", json={"stock_grams": 500.0})
        client.put("/v1/recipes/weir-bar", json={"recipe": made["recipe"]})
        of = {"recipe_key": "weir-bar", "version": 1, "made_on": str(today), "outcome": "workable"}
        assert client.post("/v1/doughs", json={**made, **of}).status_code == 201
    assert "460 g" in ran("stock") and "Kaolin" in ran("stock")
    rack = ran("rack")
    assert "--weighing HOURS=GRAMS" in rack
    assert "Next: dough-advisor recipes weir-bar" in ran("recipes")
    assert "dough-advisor weigh weir-bar" in ran("recipes", "weir-bar")
    assert "Weir bar of" in rack and str(today + datetime.timedelta(days=1)) in rack
    assert f"Made {today}: workable." in ran("recipes", "weir-bar")


def test_one_is_told_as_one_and_none_as_many(ran) -> None:
    ran("book", "kaolin", "K-1", "--stock", "500")
    ran("note", "weir-bar.csv", "--feel", "too_wet")
    told = ran("backup", "one.backup")
    assert "0 materials, 1 lot, 0 uptake tests, 1 dough, 0 recipes, 0 keys; " in told
    assert "1 lot\n" in ran("stock") and "1 dough\n" in ran("doughs")
    assert "A day of 1 batch\n" in ran("plan-day", "weir-bar.csv=500")
    assert "A day of 2 batches\n" in ran("plan-day", "weir-bar.csv=500", "weir-bar.csv=300")
