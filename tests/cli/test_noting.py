"""Lots, doughs and what became of them, written down on the command line as the server writes them."""

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
TODAY = datetime.datetime.now(datetime.UTC).date()


class Terminal:
    """Types a command in a folder of its own and returns what it writes."""

    stdin: type[io.TextIOWrapper] = io.TextIOWrapper

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], given: pytest.MonkeyPatch) -> None:
        self.notebook = folder / "notebook.sqlite3"
        self.capsys, self.given = capsys, given

    def __call__(self, *words: str, sent: str = "", code: int = 0) -> str:
        self.given.setattr("sys.stdin", self.stdin(io.BytesIO(sent.encode())))
        assert main(words) == code, self.capsys.readouterr().err
        told = self.capsys.readouterr()
        return told.err if code else told.out

    def read(self, *words: str) -> dict:
        return json.loads(self(*words, "--json"))

    @property
    def stock(self) -> dict[str, float]:
        return {one["lot"]: one["on_hand"] for one in self.read("stock")["items"]}


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Terminal:
    terminal = Terminal(tmp_path, capsys, monkeypatch)
    monkeypatch.setenv("DOUGH_NOTEBOOK", str(terminal.notebook))
    monkeypatch.chdir(tmp_path)
    Path("weir-bar.csv").write_text(RECIPE, encoding="utf-8")
    return terminal


def test_a_lot_is_booked_by_name_and_told_more_of_later(typed: Terminal) -> None:
    told = typed("book", "Kaolin, white", "K-1", "--stock", "500", "--price", "3.2")
    assert told.startswith("Kaolin, white, lot K-1: booked") and "500" in told
    row = typed.read("book", "kaolin", "K-1", "--expires", "2033-03-01")
    assert row == {
        "price_per_kg": 3.2, "expires": "2033-03-01", "stock_grams": 500.0, "material": "kaolin", "lot": "K-1"
    }  # fmt: skip
    with TestClient(create_app(Settings(notebook=str(typed.notebook)))) as client:
        [kept] = client.get("/v1/materials/kaolin/lots").json()["items"]
    assert {name: value for name, value in kept.items() if value is not None} == row
    assert "forgotten" in typed("forget", "lot", "Kaolin, white", "K-1", "--yes") and typed.stock == {}


def test_a_dough_takes_from_its_lots_and_gives_back_when_forgotten(typed: Terminal) -> None:
    for name, lot, grams in (("kaolin", "K-1", "500"), ("betaine-30", "B-1", "200")):
        typed("book", name, lot, "--stock", grams)
    typed("book", "isethionate-powder", "I-1")
    lots = ("--lot", "Kaolin, white=K-1", "--lot", "betaine-30=B-1", "--lot", "isethionate-powder=I-1")
    felt = ("--feel", "Too wet", "--degree", "clearly", "--batch", "1000")
    told = " ".join(typed("note", "weir-bar.csv", *felt, *lots).split())
    assert told.startswith("weir-bar, too wet, clearly: noted as ")
    assert "Kaolin, white, lot K-1: 400 g are left." in told
    assert "it held 200 g, and 300 g went in; nothing is left." in told
    assert "lot I-1: nobody counted it, so nothing falls." in told
    assert typed.stock == {"K-1": 400.0, "B-1": 0.0, "I-1": None}
    [kept] = typed.read("doughs")["items"]
    assert kept["report"] == {"feel": "too_wet"} and kept["made_on"] == str(TODAY)
    assert f"dough-advisor forget dough {kept['id'][:8]}" in told
    typed("note", "last", "--weighed", "Kaolin, white=120.5")
    assert typed.stock["K-1"] == 379.5
    given = typed("forget", "dough", kept["id"][:8], "--yes")
    assert "lot K-1: 500 g again." in given and "lot B-1: 200 g again." in given
    assert typed.stock == {"K-1": 500.0, "B-1": 200.0, "I-1": None}


def test_what_became_of_a_dough_is_added_to_what_is_known_of_it(typed: Terminal) -> None:
    typed("keep", "weir-bar.csv", "--as", "weir-bar")
    typed("note", "weir-bar", "--batch", "500", "--made-on", str(TODAY - datetime.timedelta(days=2)))
    typed("note", "last", "--weighing", "0=112", "--weighing", "24=104", "--ph", "5.6@10")
    typed("note", "last", "--weighing", "48=101", "--outcome", "workable", "--test", "mush=4.2,4.4,4.0")
    [kept] = typed.read("doughs")["items"]
    assert [one["hours"] for one in kept["drying"]] == [0.0, 24.0, 48.0]
    assert (kept["recipe_key"], kept["version"], kept["outcome"]) == ("weir-bar", 1, "workable")
    assert kept["ph"] == [{"ph": 5.6, "at_percent": 10.0}]
    assert kept["bar_tests"][0]["values"] == [4.2, 4.4, 4.0]
    [racked] = typed.read("rack")["items"]
    assert racked["weighings"] == 3 and racked["id"] == kept["id"] and kept["id"][:8] in typed("rack")
    assert "Mush of 3 bars 4.2" in typed("recipes", "weir-bar")
    assert json.loads(typed("record", "last", "--json"))["record"]["drying"] == kept["drying"]
    typed("note", "last", "--packed", "400")
    assert typed.read("rack")["items"] == []


def test_what_is_kept_stands_for_a_file_in_every_verb(typed: Terminal) -> None:
    typed("keep", "weir-bar.csv", "--as", "weir-bar")
    answer = typed("correct", "weir-bar", "--feel", "too_wet", "--json")
    typed("keep", "-", "--as", "weir-bar", sent=answer)
    compared = typed("compare", "weir-bar@1", "weir-bar@2")
    assert compared.startswith("weir-bar@1 beside weir-bar@2")
    weighed = typed.read("weigh", "weir-bar@1", "--batch", "1000", "--balance", "0.1")
    assert {one["material"]: one["grams"] for one in weighed["lines"]}["kaolin"] == 100.0
    day = typed.read("plan_day", "weir-bar=1000", "weir-bar.csv=500", "--balance", "0.5")
    assert [step["grams"] for step in day["order"]] == [1000.0, 500.0]
    assert "no version 9" in typed("assess", "weir-bar@9", code=2)
    assert "There is no file weir" in typed("assess", "weir", code=2)
    typed("forget", "recipe", "weir-bar", "--yes")
    assert typed.read("recipes")["items"] == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("book", "kaolim", "K-1"), "There is no material 'kaolim'."),
        (("book", "kaolin", "K-1", "--expires", "soon"), "needs a date"),
        (("note", "weir-bar.csv", "--feel", "soggy"), "/report/feel"),
        (("note", "weir-bar.csv", "--lot", "kaolim=K-1"), "There is no material 'kaolim'."),
        (("note", "nothing.csv"), "There is no file nothing.csv"),
        (("note", "last"), "There is no file last"),
        (("forget", "dough", "d-1"), "There is no notebook yet"),
        (("forget", "lot", "kaolin"), "forget lot MATERIAL LOT"),
        (("plan_day", "weir-bar.csv=much", "weir-bar.csv=5"), "with its grams"),
    ],
)
def test_what_cannot_be_done_is_two_and_writes_nothing(
    words: tuple[str, ...], told: str, typed: Terminal
) -> None:
    assert told in typed(*words, code=2)
    assert typed.read("doughs")["items"] == [] and typed.stock == {}


class Watched(io.TextIOWrapper):
    """An input with somebody before it."""

    def isatty(self) -> bool:
        return True


def test_what_is_forgotten_does_not_come_back_so_it_is_asked(typed: Terminal) -> None:
    typed("keep", "weir-bar.csv", "--as", "weir-bar")
    typed("book", "kaolin", "K-1", "--stock", "500")
    typed("note", "weir-bar")
    kept = [("recipe", "weir-bar"), ("lot", "kaolin", "K-1"), ("dough", "last")]
    for words in kept:
        assert "say --yes, for there is nobody to ask" in typed("forget", *words, code=2)
    typed.stdin = Watched
    assert "Nothing was forgotten." in typed("forget", "recipe", "weir-bar", sent="n\n", code=2)
    assert [one["key"] for one in typed.read("recipes")["items"]] == ["weir-bar"]
    for words in kept:
        typed("forget", *words, "--yes")
    assert typed.read("recipes")["items"] == typed.read("doughs")["items"] == [] and typed.stock == {}


def test_nothing_that_is_not_there_can_be_forgotten(typed: Terminal) -> None:
    typed("book", "kaolin", "K-1", "--stock", "500")
    for words in (("dough", "d-1"), ("lot", "kaolin", "K-9"), ("recipe", "heron")):
        typed("forget", *words, "--yes", code=2)
    assert typed.stock == {"K-1": 500.0}


def test_trimmings_become_a_material_and_a_line_of_a_recipe(typed: Terminal) -> None:
    answer = typed("rework", "weir-bar.csv", "--dried", "--json")
    assert typed("keep", "-", sent=answer).startswith("Rework of weir-bar: kept as rework-weir-bar")
    Path("next.csv").write_text(
        RECIPE.replace("kaolin,10", "kaolin,5\nRework of weir-bar,5"), encoding="utf-8"
    )
    assert "rework-weir-bar" in typed("weigh", "next.csv", "--batch", "500", "--balance", "0.1", "--json")
    assert typed("keep", "next.csv").startswith("next, version 1")


def test_names_may_hold_commas_and_lots_go_into_the_lines(typed: Terminal) -> None:
    typed("book", "Kaolin", "K-1", "--stock", "50", "--price", "9")
    shelf = "Sodium cocoyl isethionate, fine powder, Cocamidopropyl betaine, sunflower oil"
    answer = typed.read("correct", "weir-bar.csv", "--feel", "too_wet", "--shelf", shelf)
    assert answer["status"] == "corrected"
    costed = typed.read("cost", "weir-bar.csv", "--batch", "1000", "--bar", "80", "--lot", "Kaolin=K-1")
    assert {one["material"]: one["price_per_kg"] for one in costed["lines"]}["kaolin"] == 9
    sheet = typed("weigh", "weir-bar.csv", "--batch", "1000", "--balance", "1", "--lot", "Kaolin=K-1")
    assert "enough for 50 % of the batch" in " ".join(sheet.split())
    assert "is not in the recipe" in typed("assess", "weir-bar.csv", "--lot", "glycerin=G-1", code=2)
    earlier = typed("cost", "weir-bar.csv", "--batch", "1000", "--bar", "80", "--json")
    Path("earlier.json").write_text(earlier, encoding="utf-8")
    asked = ("cost", "weir-bar.csv", "--batch", "1000", "--bar", "80", "--lot", "Kaolin=K-1")
    [moved] = typed.read(*asked, "--since", "earlier.json")["moved"]
    assert (moved["material"], moved["after"]) == ("kaolin", 9)
    assert "give it with --bar GRAMS" in typed("cost", "weir-bar.csv", "--batch", "1000", code=2)
    assert "give it with --feel WORD" in typed("correct", "weir-bar.csv", code=2)


def test_two_files_are_compared_with_their_materials_and_wishes(typed: Terminal) -> None:
    own = {
        "key": "own-clay",
        "name": "Own clay",
        "form": "powder",
        "roles": ["filler"],
        "composition": {"Kaolin": 100},
    }
    lines = [{"material": "own-clay", "percent": 60}, {"material": "betaine-30", "percent": 40}]
    of = {"recipe": {"name": "Weir bar", "lines": lines}, "materials": [own]}
    for name, wishes in (("a", {"active": {"min": 11}, "market": "eu"}), ("b", {"active": {"min": 11}})):
        Path(f"{name}.json").write_text(json.dumps({**of, "wishes": wishes}), encoding="utf-8")
    answer = typed.read("compare", "a.json", "b.json")
    assert {"active matter"} <= {one["name"] for one in answer["a"]["checks"]}
    assert typed("compare", "a.json", "b.json").startswith("a.json beside b.json")


def test_a_label_of_a_noted_dough_says_what_its_record_and_the_shop_say(
    typed: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DOUGH_RESPONSIBLE", "Weir Works, 1 Lane")
    monkeypatch.setenv("DOUGH_CURRENCY", "EUR")
    assert typed.read("cost", "weir-bar.csv", "--batch", "1000", "--bar", "80")["currency"] == "EUR"
    typed("note", "weir-bar.csv", "--batch", "1000", "--number", "41", "--bars", "12", "--packed", "966")
    says = {one["id"]: one["says"] for one in typed.read("label", "last", "--market", "eu")["filled"]}
    assert (says["responsible-person"], says["content"]) == ("Weir Works, 1 Lane", "80.5 g")
    filled = typed.read("label", "last", "--market", "eu", "--net", "79", "--best-before", "2033-03-01")[
        "filled"
    ]
    says = {one["id"]: one["says"] for one in filled}
    assert (says["content"], says["batch"]) == ("79 g", "Batch 41")


@pytest.mark.parametrize("feel", ["too_wet", "too_dry", "workable"])
def test_a_dough_that_is_noted_and_then_corrected_counts_once(feel: str, typed: Terminal) -> None:
    before = typed.read("correct", "weir-bar.csv", "--feel", feel)["before"]["consistency"]
    for _ in range(3):
        typed("note", "weir-bar.csv", "--feel", feel)
    thrice = typed.read("correct", "weir-bar.csv", "--feel", feel)["before"]["consistency"]
    typed("forget", "dough", "last", "--yes")
    twice_and_now = typed.read("correct", "weir-bar.csv", "--feel", feel)["before"]["consistency"]
    typed("forget", "dough", "last", "--yes")
    typed("forget", "dough", "last", "--yes")
    typed("note", "weir-bar.csv", "--feel", feel)
    once = typed.read("correct", "weir-bar.csv", "--feel", feel)["before"]["consistency"]
    assert once["chance_workable"] == before["chance_workable"]
    assert thrice["chance_workable"] != once["chance_workable"]
    assert twice_and_now["chance_workable"] != thrice["chance_workable"]
