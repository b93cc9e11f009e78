"""What a terminal shows: the answer first, the rest folded, names instead of keys, and never a traceback."""

import json
import random
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import advisor
from advisor.cli.main import main
from advisor.cli.options import OPTIONS, parser
from advisor.registry import TASKS
from advisor.rulebook.load import load_rulebook
from api.app import create_app
from tests.answers.__main__ import CALLS, index

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
WET = str(SAMPLES / "wet-betaine-dough.json")
FOLDING = {
    name: CALLS[entry["call"]].asked_as
    for name, entry in index().items()
    if CALLS[entry["call"]].document and not CALLS[entry["call"]].form
}
Out = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def shown(capsys: Out, *words: str, code: int = 0) -> str:
    assert main(list(words)) == code
    return capsys.readouterr().out


def test_the_next_recipe_and_its_reasons_come_first(capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(SAMPLES)
    lines = shown(capsys, "correct", Path(WET).name).splitlines()
    assert lines[0] == "Mill Pond bar, too wet, clearly: the next recipe"
    answer = json.loads(shown(capsys, "correct", WET, "--json"))
    top = " ".join(" ".join(lines[:24]).split())
    assert top.index("Total") < top.index("Why")
    for change in answer["changes"]:
        name = load_rulebook().ingredients[change["material"]].name
        does, _, cause = change["why"].partition(name)
        assert does.split()[0].lower() in top.lower() and name in top.partition("Why")[2] and cause in top
    assert len(lines) <= 45
    assert lines[-2].startswith("Next: dough-advisor ")


def test_what_stands_out_comes_first_and_at_most_so_many_at_once(
    capsys: Out, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    lines = [("lauryl-sulfate-needles", 40), ("sunflower-oil", 20), ("glycerin", 20), ("water", 20)]
    bar = {"name": "Odd bar", "lines": [{"material": key, "percent": share} for key, share in lines]}
    file = tmp_path / "odd.json"
    file.write_text(json.dumps({"recipe": bar}), encoding="utf-8")
    texts = [one["text"] for one in json.loads(shown(capsys, "assess", str(file), "--json"))["findings"]]
    assert len(texts) > 2
    for most in (len(texts), 2):
        monkeypatch.setitem(vars(load_rulebook().findings), "at_most_in_text", most)
        screen = " ".join(shown(capsys, "assess", str(file)).split())
        assert screen.startswith(f"Odd bar: as it stands What stands out - {texts[0]}")
        assert [text in screen for text in texts] == [number < most for number in range(len(texts))]
        whole = " ".join(shown(capsys, "assess", str(file), "--all").split())
        assert all(text in whole for text in texts)


@pytest.mark.parametrize("name", FOLDING)
def test_every_answer_fits_and_unfolds(name: str, capsys: Out) -> None:
    file = str(SAMPLES / f"{name}.json")
    code = 3 if name == "wishes-that-exclude-each-other" else 0
    folded = shown(capsys, FOLDING[name], file, code=code)
    lines = [line for line in folded.splitlines() if not line.startswith("Next: ")]
    assert len(lines) <= 60, len(lines)
    assert all(len(line) <= 80 for line in lines)
    whole = shown(capsys, FOLDING[name], file, "--all", code=code)
    assert len(whole) >= len(folded) - 200
    assert not any(f": --{name}" in whole for name in ("why", "checks", "cautions", "all"))


def test_each_fold_opens_by_its_name(capsys: Out) -> None:
    folded = shown(capsys, "correct", WET)
    assert "checks hold: --checks" in folded and "\nChecks\n" not in folded
    assert "\nChecks\n" in shown(capsys, "correct", WET, "--checks")
    cautions = json.loads(shown(capsys, "correct", WET, "--json"))["cautions"]
    unfolded = " ".join(shown(capsys, "correct", WET, "--cautions").split())
    assert all(one["text"] in unfolded for one in cautions)
    reasons = " ".join(shown(capsys, "correct", WET, "--why").split())
    assert all(
        one["why_figures"] in reasons
        for one in json.loads(shown(capsys, "correct", WET, "--json"))["changes"]
    )


def test_materials_go_by_names_and_by_keys_only_when_asked(capsys: Out) -> None:
    plain = shown(capsys, "correct", WET)
    assert "isethionate-powder" not in plain
    assert "isethionate-powder" in shown(capsys, "correct", WET, "--keys")


def test_long_names_wrap_and_are_never_cut(capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "44")
    lines = shown(capsys, "correct", WET).splitlines()
    hint = next(place for place, line in enumerate(lines) if line.startswith("Next: "))
    assert all(len(line) <= 44 for line in lines[:hint])
    name = load_rulebook().ingredients["phenoxyethanol-blend"].material.name
    assert name.split()[-1] in " ".join(lines)


def test_user_text_is_text(tmp_path: Path, capsys: Out) -> None:
    body = json.loads(Path(WET).read_text())
    body["recipe"]["name"] = "[red]Bar[/red] \x1b[31m\u202e"
    (tmp_path / "odd.json").write_text(json.dumps(body))
    out = shown(capsys, "correct", str(tmp_path / "odd.json"))
    assert out.startswith("[red]Bar[/red] [31m") and "\x1b" not in out


def test_options_stand_only_where_they_work() -> None:
    offered = {
        name: {flag for action in made._actions for flag in action.option_strings}
        for name, made in parser(None)[0]._subparsers._group_actions[0].choices.items()  # type: ignore[union-attr,attr-defined]
    }
    assert "--missing" in offered["substitute"] and "--missing" not in offered["correct"]
    assert {"--batch", "--balance"} <= offered["weigh"] and "--feel" not in offered["weigh"]
    assert "--feel" in offered["correct"] and "--feel" not in offered["dose"]
    reached = {option.flag for option in OPTIONS} & set().union(*offered.values())
    assert {"--feel", "--market", "--ph", "--lost", "--shelf", "--target-ph"} <= reached


def test_inner_fields_are_set_by_their_path(capsys: Out) -> None:
    out = shown(capsys, "assess", WET, "--set", "wishes.active.min=60", "--set", "report=null", "--json")
    [band] = [one for one in json.loads(out)["checks"] if one["name"] == "active matter"]
    assert band["min"] == 60
    for wrong in ("wishes", "=1", "wishes..x=1", "recipe.name.x=1"):
        assert main(["assess", WET, "--set", wrong]) == 2
    assert "holds no fields" in capsys.readouterr().err


def test_an_answer_is_read_as_its_recipe(tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "next.json").write_text(shown(capsys, "correct", WET, "--json"))
    sheet = shown(capsys, "weigh", str(tmp_path / "next.json"), "--batch", "1000", "--balance", "0.1")
    assert sheet.startswith("Weigh sheet: Mill Pond bar") and "485.0" in sheet


def test_bare_version_and_slips(capsys: Out) -> None:
    assert shown(capsys).startswith("usage: dough-advisor")
    assert load_rulebook().edition in shown(capsys, "--version")
    assert main(["corect", WET]) == 2
    assert "Did you mean correct" in capsys.readouterr().err
    assert main(["xyzzy"]) == 2


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_completion_knows_every_verb(shell: str, capsys: Out) -> None:
    script = shown(capsys, "completion", shell)
    assert all(verb in script for verb in parser("")[1])


def test_every_help_has_an_example(capsys: Out) -> None:
    for verb in parser("")[1]:
        with pytest.raises(SystemExit) as stop:
            main([verb, "--help"])
        assert stop.value.code == 0
        assert f"dough-advisor {verb}" in capsys.readouterr().out.partition("example:")[2]


@pytest.mark.parametrize("port", ["0", "65536", "-1", "a", ""])
def test_a_port_out_of_range_is_two(port: str, capsys: Out) -> None:
    assert main(["serve", f"--port={port}"]) == 2
    assert "The options: dough-advisor serve --help" in capsys.readouterr().err


@pytest.mark.parametrize("verb", parser("")[1])
def test_what_a_verb_does_not_take_names_the_help_of_that_verb(verb: str, capsys: Out) -> None:
    assert main([verb, *["one"] * 9, "--no-such-option"]) == 2
    assert f"The options: dough-advisor {verb}" in capsys.readouterr().err


def test_a_port_in_use_is_two(capsys: Out) -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert main(["serve", "--port", str(taken.getsockname()[1])]) == 2
    assert "Name another --port" in capsys.readouterr().err


@pytest.mark.parametrize(
    "known", ["dust", "eyes", "pair:cationic-with-anionic", "too_wet", "kaolin", "estimate"]
)
def test_ids_are_explained_with_basis_and_source(known: str, capsys: Out) -> None:
    out = shown(capsys, "explain", known)
    assert "rules/" in out and "basis" in out
    assert main(["explain", "no-such-thing"]) == 2


def test_materials_are_found_by_words_in_any_order(capsys: Out) -> None:
    assert "betaine-30" in shown(capsys, "materials", "betaine", "cocamidopropyl")
    assert f"{len(load_rulebook().ingredients)} materials" in shown(capsys, "materials")
    assert "kaolin" in shown(capsys, "materials", "kaoiln")
    assert main(["materials", "betaine", "kaolin"]) == 2
    assert "No material is called so." in capsys.readouterr().err


def test_what_is_no_verb_no_file_and_no_request_ends_in_words(tmp_path: Path, capsys: Out) -> None:
    """Command lines drawn at random from sound and torn parts: an exit code and words, never a traceback."""
    draw = random.Random(20261128)
    text = Path(WET).read_bytes()
    files = [WET, str(tmp_path), str(tmp_path / "none.json"), "\x00", "", str(tmp_path / "é.csv")]
    for number in range(30):
        torn = bytearray(text)
        for _ in range(draw.randint(1, 6)):
            torn[draw.randrange(len(torn))] = draw.randrange(256)
        made = tmp_path / f"torn-{number}.{draw.choice(['json', 'csv', 'xlsx', 'ods', 'tsv', 'txt'])}"
        made.write_bytes(draw.choice([bytes(torn), b"PK" + bytes(torn), b"\xff\xfe" + bytes(torn)]))
        files.append(str(made))
    words = [
        "--json",
        "--all",
        "--why",
        "--keys",
        "--normalise",
        "--set",
        "report.feel=1",
        "--feel",
        "too_dry",
        "--batch",
        "1e309",
        "-5",
        "--market",
        "mars",
        "--set",
        "recipe.lines.0=2",
        "--shelf",
        ",,",
        "--notebook",
        "none",
        str(tmp_path),
        "--ph",
        "nan",
        "--degree",
    ]
    safe = [verb for verb in parser("")[1] if verb not in ("serve", "sweep", "backup", "restore", "keys")]
    codes = set()
    for _ in range(400):
        asked = [
            draw.choice([*safe, "corect", "", "-x"]),
            *[draw.choice((WET, draw.choice(files)))],
            *draw.choices(words, k=draw.choice((0, 0, 1, 2, 4))),
        ]
        try:
            code = main(asked)
        except SystemExit as stop:
            code = stop.code  # type: ignore[assignment]
        out = capsys.readouterr()
        assert code in (0, 2, 3), (asked, code, out.err)
        assert "Traceback" not in out.err and "A fault of the advisor" not in out.err, asked
        assert code == 0 or out.err.strip(), asked
        codes.add(code)
    assert codes >= {0, 2}


def test_a_fault_is_told_in_words(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("secret")

    for entry in TASKS:
        monkeypatch.setitem(vars(entry), "function", broken)
    assert main(["correct", WET]) == 4
    err = capsys.readouterr().err
    assert "ZeroDivisionError in broken" in err and "secret" not in err and "Traceback" not in err


def test_a_record_of_which_nothing_is_known_yet_shows_what_is_known(capsys: Out, tmp_path: Path) -> None:
    file = tmp_path / "weir.csv"
    file.write_text("isethionate-powder,60\nkaolin,10\nbetaine-30,30\n", encoding="utf-8")
    screen = shown(capsys, "record", str(file), "--batch", "500")
    assert "Weights" in screen
    assert "One bar on the balance" not in screen
    paper = shown(capsys, "record", str(file), "--batch", "500", "--print", "text")
    assert "One bar on the balance" in paper


@pytest.mark.parametrize(
    ("words", "count"), [(["coco", "betaine"], "1 material\n"), (["mica"], None), (["xyzzy"], None)]
)
def test_the_list_the_package_and_the_interface_find_the_same(
    words: list[str], count: str | None, capsys: Out
) -> None:
    found = [one.key for one in advisor.materials(" ".join(words))]
    code = main(["materials", *words])
    out = capsys.readouterr().out
    assert (code == 0) is bool(found) and all(f" {key} " in out for key in found)
    assert count is None or out.startswith(count)
    with TestClient(create_app()) as client:
        asked = client.get("/v1/materials", params={"q": " ".join(words), "limit": 200}).json()
    assert [one["key"] for one in asked["items"]] == found


def test_every_verb_of_a_task_prints_a_request_to_begin_from(capsys: Out) -> None:
    for one in TASKS:
        if one.sample and one.name != "sweep":
            with pytest.raises(SystemExit) as ended:
                main([one.asked_as, "--example"])
            assert not ended.value.code
            assert one.request.model_validate_json(capsys.readouterr().out)


def test_the_example_of_a_sweep_is_a_file_that_it_sweeps(
    capsys: Out, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit):
        main(["sweep", "--example"])
    Path("range.ndjson").write_text(capsys.readouterr().out, encoding="utf-8")
    sample = json.loads((SAMPLES / "betaine-gone-from-the-range.json").read_text(encoding="utf-8"))
    words = ("range.ndjson", "--task", sample["task"], "-o", "next.ndjson", "--workers", "1")
    shown(capsys, "sweep", *words)
    told = [json.loads(line) for line in Path("next.ndjson").read_text(encoding="utf-8").splitlines()]
    whole = advisor.sweep(sample).model_dump(mode="json")["answers"]
    assert len(told) == len(sample["recipes"]) > 1
    assert [one.get("answer") for one in told] == [one.get("answer") for one in whole]
