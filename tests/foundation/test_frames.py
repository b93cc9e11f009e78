"""Answers, lists and recipes as DataFrames, saved and read again; the notebook tutorial runs whole."""

import json
import sys
import zipfile
from pathlib import Path
from typing import Any

import matplotlib as mpl
import pandas as pd
import pytest
from matplotlib import pyplot

import advisor
from advisor import plots
from advisor.errors import InvalidRecipe, InvalidRequest, NotInstalled
from advisor.registry import TASKS
from advisor.schema.findings import Answer

mpl.use("Agg")
ASKED = [one for one in TASKS if one.sample and one.name not in ("sweep", "draft")]


@pytest.fixture(scope="module")
def root() -> Path:
    return Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def closed_pictures() -> Any:
    yield
    pyplot.close("all")


def asked(name: str, root: Path) -> Any:
    [one] = [task for task in ASKED if task.name == name]
    return one.function(json.loads((root / "samples" / f"{one.sample}.json").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", [one.name for one in ASKED])
def test_every_answer_is_a_table_and_shows_itself(name: str, root: Path) -> None:
    answer = asked(name, root)
    assert isinstance(answer, Answer)
    assert len(answer.to_frame()) >= 1 and len(answer.to_frame().columns) >= 1
    shown = answer._repr_html_()
    assert shown.startswith("<table") and shown.endswith("</ul>")
    assert all(
        one.text.split(":")[0] in shown for one in answer.cautions if not one.standing and "'" not in one.text
    )


def test_a_part_is_what_the_answer_holds(root: Path) -> None:
    answer = asked("correct", root)
    whole = answer.model_dump(mode="json")
    assert answer.to_frame("changes").to_dict("records") == whole["changes"]
    assert (
        answer.to_frame("after.totals")["as_dried.water"].item()
        == whole["after"]["totals"]["as_dried"]["water"]
    )
    with pytest.raises(InvalidRequest, match="there are: cautions"):
        answer.to_frame("lines")
    with pytest.raises(InvalidRequest):
        answer.to_frame("status.word")


def test_what_is_shown_is_escaped() -> None:
    lines = [{"material": "own", "percent": 60}, {"material": "betaine-30", "percent": 40}]
    own = {
        "key": "own",
        "name": "<script>alert(1)</script>",
        "form": "powder",
        "roles": ["filler"],
        "composition": {"<img src=x>": 100},
    }
    answers = [
        advisor.label({"recipe": {"lines": lines}, "materials": [own], "market": "eu"}),
        advisor.correct({"recipe": {"lines": lines}, "materials": [own], "report": {"feel": "too_wet"}}),
    ]
    shown = "".join(answer._repr_html_() for answer in answers)
    assert "&lt;" in shown
    assert "<script" not in shown and "<img" not in shown


def test_recipes_come_back_as_they_went(root: Path) -> None:
    bars = [
        {
            "name": "A",
            "lines": [
                {"material": "kaolin", "percent": 62.5, "lot": "K-1"},
                {"material": "betaine-30", "percent": 37.5},
            ],
        },
        {
            "name": "B",
            "lines": [{"material": "kaolin", "percent": 70.0}, {"material": "betaine-30", "percent": 30.0}],
        },
    ]
    frame = advisor.recipes_to_frame(bars)
    assert advisor.recipes_from_frame(frame) == bars
    grams = frame.rename(columns={"percent": "Grams", "material": "Material", "recipe": "Recipe"})
    assert advisor.recipes_from_frame(grams)[0]["lines"][0]["grams"] == 62.5
    one = frame[frame["recipe"] == "B"].drop(columns="recipe")
    assert advisor.recipes_from_frame(one, "C")[0]["name"] == "C"
    with pytest.raises(InvalidRecipe, match="material"):
        advisor.recipes_from_frame(pd.DataFrame({"what": ["kaolin"]}))


@pytest.mark.parametrize("end", ["csv", "xlsx"])
def test_a_saved_table_holds_no_formula(end: str, tmp_path: Path) -> None:
    path = tmp_path / f"table.{end}"
    frame = pd.DataFrame({"name": ["=1+1", "+cmd", "plain"], "grams": [-5.5, 2.0, 1.0]})
    advisor.save_table(frame, path)
    read = pd.read_csv(path) if end == "csv" else pd.read_excel(path, engine="calamine")
    assert read["name"].tolist() == ["'=1+1", "'+cmd", "plain"]
    assert read["grams"].tolist() == [-5.5, 2.0, 1.0]
    if end == "xlsx":
        assert b"<f>" not in zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml")


def test_without_the_extra_its_name_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for missing in ("openpyxl", "openpyxl.workbook", "matplotlib"):
        monkeypatch.setitem(sys.modules, missing, None)
    with pytest.raises(NotInstalled, match="extra xlsx"):
        advisor.save_table(pd.DataFrame({"a": [1]}), tmp_path / "a.xlsx")
    with pytest.raises(NotInstalled, match="extra plots"):
        plots.window(advisor.window_of())


def test_pictures_show_the_figures_of_the_answer(root: Path) -> None:
    answer = asked("correct", root)
    drawn = plots.thread(answer, advisor.window_of().by_method[0])
    marks = [float(line.get_xdata()[0]) for line in drawn.lines if line.get_marker() in "v^"]
    assert marks == [answer.before.consistency.wetness, answer.after.consistency.wetness]
    bars = plots.composition(answer).patches
    assert sum(bar.get_width() for bar in bars) == pytest.approx(200)
    compared = plots.composition(asked("compare", root))
    assert [label.get_text() for label in compared.get_yticklabels()] == ["a", "b"]
    dried = asked("dry", root)
    fitted = next(line for line in plots.curve(dried).lines if line.get_label() == "fitted")
    assert list(fitted.get_ydata()) == [point.grams for point in dried.curve]
    window = advisor.window_of()
    assert len(plots.window(window).get_yticklabels()) == len(window.by_method)


def test_a_recipe_without_a_powder_has_no_thread() -> None:
    lines = [{"material": "betaine-30", "percent": 60}, {"material": "glycerin", "percent": 40}]
    answer = advisor.correct({"recipe": {"lines": lines}, "report": {"feel": "workable"}})
    with pytest.raises(InvalidRequest, match="neither wet nor dry"):
        plots.thread(answer)


def test_the_notebook_runs_from_top_to_bottom(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    notebook = json.loads((root / "docs" / "tutorial.ipynb").read_text(encoding="utf-8"))
    cells = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    assert not [cell for cell in cells if cell["outputs"]]
    knows: dict[str, Any] = {}
    for cell in cells:
        exec("".join(cell["source"]), knows)  # noqa: S102
    assert knows["answer"].status == "corrected"
    assert knows["learned"].doughs == 3
    assert {path.name for path in tmp_path.iterdir()} == {"bars.csv", "bars.xlsx"}
