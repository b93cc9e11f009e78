"""The command line: verbs, tables, JSON, exit codes, and errors on standard error."""

import json
from pathlib import Path

import pytest

from advisor.cli.main import main
from advisor.registry import TASKS
from tests.answers.__main__ import CALLS, index

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
WET = str(SAMPLES / "wet-betaine-dough.json")


def test_a_correction_reads_as_tables_and_sentences(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["correct", WET]) == 0
    out = capsys.readouterr()
    assert "the next recipe" in out.out and "Cocamidopropyl betaine" in out.out and "--cautions" in out.out
    assert out.err == ""


def test_json_is_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["correct", WET, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["status"] == "corrected"


def test_nothing_fits_is_three(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(SAMPLES / "wishes-that-exclude-each-other.json")
    assert main(["correct", path]) == 3
    out = capsys.readouterr()
    assert out.out == ""
    assert "exclude each other" in out.err and "/wishes/fixed/0" in out.err and "Nearest recipe" in out.err
    assert "At the bench: " in out.err
    assert main(["correct", path, "--json"]) == 3
    assert json.loads(capsys.readouterr().err)["code"] == "no-recipe-fits"


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("absent.json", None, "cannot be read"),
        ("broken.json", "{", "is not JSON"),
        ("list.json", "[]", "holds no JSON object"),
        ("deep.json", "[" * 100_000, "is not JSON"),
        ("wrong.json", '{"recipe": {"lines": []}, "report": {"feel": "too_wet"}}', "/recipe/lines"),
        ("absent.csv", None, "There is no file"),
        ("empty.csv", "", "is not a table"),
        ("columns.csv", "stuff,much\nkaolin,3\n", "needs the columns"),
        ("number.csv", "material,percent\nkaolin,lots\n", "line 2"),
        ("infinite.csv", "material,percent\nkaolin,inf\n", "line 2"),
        ("ninety.csv", "material,percent\nkaolin,50\nbetaine-30,40\n", "90 %"),
    ],
)
def test_bad_files_are_two(
    name: str, text: str | None, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert main(["correct", str(path), "--feel", "too_wet"]) == 2
    out = capsys.readouterr()
    assert told in out.err and out.out == ""


def test_not_utf8(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("latin.json", "latin.csv"):
        (tmp_path / name).write_bytes("material;percent\nk\xe4se;100\n".encode("latin-1"))
        assert main(["correct", str(tmp_path / name), "--feel", "too_wet"]) == 2
    assert capsys.readouterr().err


@pytest.mark.parametrize(
    "text",
    [
        "material,percent\nisethionate-powder,55\nkaolin,20\nbetaine-30,25\n",
        "Material;Percent\nisethionate-powder;55,0\nkaolin;20\n\nbetaine-30;25,00 %\n",
        "material\tgrams\nisethionate-powder\t110\nkaolin\t40 g\nbetaine-30\t50\n",
        "\ufeffmaterial,grams\nisethionate-powder,1100\nkaolin,400\nbetaine-30,500\n",
    ],
)
def test_a_table_is_a_recipe(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "my bar.csv"
    path.write_text(text, encoding="utf-8")
    asked = ["correct", str(path), "--feel", "too_dry", "--degree", "slight", "--sign", "dusty"]
    assert main([*asked, "--market", "eu", "--shelf", "glycerin, water", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["recipe"]["name"] == "my bar"
    assert {line["material"] for line in answer["recipe"]["lines"]} >= {"kaolin", "betaine-30"}
    assert "law-in-force" in {caution["id"] for caution in answer["cautions"]}


def test_a_bare_recipe_and_set_fields(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bare.json"
    parts = {"isethionate-powder": 50, "kaolin": 25, "betaine-30": 25}
    lines = [{"material": key, "percent": percent} for key, percent in parts.items()]
    path.write_text(json.dumps({"name": "Bare", "lines": lines}), encoding="utf-8")
    assert main(["correct", str(path), "--set", 'report={"feel": "too_wet"}', "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["recipe"]["name"] == "Bare"
    assert main(["correct", str(path), "--feel", "too_wet", "--set", "shelf"]) == 2
    assert "FIELD=VALUE" in capsys.readouterr().err
    assert main(["correct", str(path), "--feel", "too_wet", "--set", "colour=red"]) == 2
    assert "/colour" in capsys.readouterr().err


@pytest.mark.parametrize("name", [name for name, entry in index().items() if entry["call"] != "sweeps"])
def test_every_sample_reads_on_a_terminal(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    verb = CALLS[index()[name]["call"]].asked_as
    code = main([verb, str(SAMPLES / f"{name}.json")])
    out = capsys.readouterr()
    assert code == (3 if name == "wishes-that-exclude-each-other" else 0)
    assert (out.err if code else out.out).strip()
    assert "{'" not in out.out


def test_assess_reads_as_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", str(SAMPLES / "recipe-to-look-at.json")]) == 0
    out = capsys.readouterr().out
    assert "Active matter" in out and "how wet it is" in out and "--checks" in out


def test_help_names_every_verb(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--help"])
    assert stop.value.code == 0
    out = capsys.readouterr().out
    assert all(verb in out for verb in (*(one.asked_as for one in TASKS if one.method == "POST"), "serve"))


def test_a_table_may_name_materials_as_makers_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material,percent\nSCI powder,60\n Kaolin ,10\nBetaine 30,30\n", encoding="utf-8")
    assert main(["correct", str(path), "--feel", "too_wet", "--shelf", "Rice Flour", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    keys = [line["material"] for line in answer["recipe"]["lines"]]
    assert keys[:3] == ["isethionate-powder", "kaolin", "betaine-30"]
    path.write_text("material,percent\nSodium Cocoyl Isethionate,70\nbetaine-30,30\n", encoding="utf-8")
    assert main(["assess", str(path)]) == 2
    told = capsys.readouterr().err
    assert "did you mean Sodium cocoyl isethionate" in told and "(isethionate-powder)" in told
    assert "dough-advisor materials WORD" in told


def test_a_report_that_is_missing_names_the_option_that_gives_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material,percent\nisethionate-powder,70\nbetaine-30,30\n", encoding="utf-8")
    assert main(["correct", str(path)]) == 2
    assert "/report: Field required (give it with --feel WORD)" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--shelf", "--set", "--notebook", "--market"])
def test_two_dashes_are_no_value(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", str(SAMPLES / "recipe-to-look-at.json"), f"{option}=--"]) == 2
    assert f"{option} needs a value" in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["plan-day", "plan_day"])
def test_a_day_is_planned_by_either_spelling(verb: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([verb, str(SAMPLES / "saturday-with-three-batches.json")]) == 0
    assert capsys.readouterr().out.strip()


@pytest.mark.parametrize(
    ("verb", "sample", "told"),
    [
        ("weigh", "weigh-sheet-on-two-balances", "Kingfisher bar"),
        ("label", "label-of-the-heron-bar", "Sodium Cocoyl Isethionate, Aqua"),
        ("record", "record-of-batch-41", "Batch record"),
    ],
)
def test_sheets_are_printed_in_three_forms(
    verb: str, sample: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(SAMPLES / f"{sample}.json")
    forms = {}
    for form in ("text", "markdown", "html"):
        assert main([verb, path, "--print", form]) == 0
        forms[form] = capsys.readouterr().out
        assert told in forms[form]
    assert len(set(forms.values())) == 3
    assert "<style>" in forms["html"] and "http" not in forms["html"].split("</style>")[0]


def test_a_weigh_sheet_may_be_in_ounces(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(SAMPLES / "weigh-sheet-on-two-balances.json")
    assert main(["weigh", path, "--units", "oz"]) == 0
    assert "26.455 oz" in capsys.readouterr().out


def test_a_table_may_name_lots(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bar.csv"
    path.write_text("material;percent;lot\nkaolin;40; K-7 \nbetaine-30;60;\n", encoding="utf-8")
    assert main(["assess", str(path), "--json"]) == 0
    told = [note["text"] for note in json.loads(capsys.readouterr().out)["notes"]]
    assert any("lot K-7" in text for text in told)


@pytest.mark.parametrize(
    ("verb", "sample", "options"),
    [
        (
            "titrate",
            "lot-from-the-laboratory",
            "--material lauryl-sulfate-powder --volume 22.6 --concentration 0.004 --sample 1.105",
        ),
        (
            "uptake",
            "clay-in-a-cup",
            "--material kaolin --liquid betaine-30 --powder 20 --step 0.2"
            " --repeat 7,8.4,9.6 --repeat 7.2,8.8,10 --repeat 6.8,8.2,9.4",
        ),
    ],
)
def test_what_is_measured_is_told_by_options_alone(
    verb: str, sample: str, options: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = []
    for words in ([str(SAMPLES / f"{sample}.json")], options.split()):
        assert main([verb, *words, "--json"]) == 0
        told.append(json.loads(capsys.readouterr().out))
    assert told[0] == told[1]


@pytest.mark.parametrize("run", ["7,8,9,10", "soon", "7,,9"])
def test_a_run_that_is_none_is_asked_about(run: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["uptake", "--material", "kaolin", "--powder", "20", "--repeat", run]) == 2
    assert "--repeat" in capsys.readouterr().err


def test_a_test_dough_is_proposed_for_a_recipe(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "bar.csv"
    table.write_text("material,percent\nisethionate-powder,60\nkaolin,10\nbetaine-30,30\n", encoding="utf-8")
    assert main(["trial", str(table), "--grams", "80", "--json"]) == 0
    alone = capsys.readouterr()
    assert alone.err.count("left away") == 0
    assert json.loads(alone.out)["weighing"]["total_grams"] == 80
    assert main(["trial", str(table), "--wanted", "rice flour"]) == 0
    assert "What Rice flour takes up: unsure by" in " ".join(capsys.readouterr().out.split())
