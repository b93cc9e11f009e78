"""Answers of samples and of ordinary recipes on a screen: how long they are, and that every hint runs as printed."""

import io
import json
import re
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from advisor.cli.main import main
from advisor.registry import TASKS
from advisor.rulebook.load import load_rulebook
from tests.answers.__main__ import CALLS, index
from tests.helpers.ordinary import bowls, corrections, drawn, substitutions

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
SHOWN = {
    name: CALLS[entry["call"]].asked_as
    for name, entry in index().items()
    if entry["call"] != "sweeps" and name != "wishes-that-exclude-each-other"
}
WHOLE = ("label", "record", "plan-day")  # what is ticked off by hand is never cut
SHORT = ("assess", "add", "dose", "dry", "draft", "compare", "strength", "titrate", "uptake", "rework")
Out = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def beside_the_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(SAMPLES.parent)


def screen(capsys: Out, *words: str) -> list[str]:
    assert main(list(words)) == 0, capsys.readouterr().err
    return capsys.readouterr().out.splitlines()


@pytest.mark.parametrize("name", [name for name, verb in SHOWN.items() if verb not in WHOLE])
def test_a_sample_is_answered_on_one_screen(name: str, capsys: Out) -> None:
    verb = SHOWN[name]
    lines = screen(capsys, verb, f"samples/{name}.json")
    dangers = lines[lines.index("Take care") :] if "Take care" in lines else []
    # Dangers never give way: what they need beyond ten lines makes an answer longer.
    beyond = max(0, (dangers.index("") if "" in dangers else len(dangers)) - 10)
    assert len(lines) - beyond <= (24 if verb in SHORT else 45)
    assert max(map(len, lines)) <= 80
    assert lines[-1].startswith(("Next: dough-advisor ", "      "))


def ordinary() -> Iterator[tuple[str, dict[str, Any]]]:
    yield from (("correct", one.request) for one in drawn(corrections(), 12))
    yield from (("add", one.request) for one in drawn(bowls(), 8))
    yield from (("substitute", one.request) for one in drawn(substitutions(), 6))


def test_ordinary_recipes_are_answered_on_one_screen(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    file = Path("bar.json")
    lengths: dict[str, list[int]] = {}
    for verb, body in ordinary():
        file.write_text(json.dumps(body), encoding="utf-8")
        if main([verb, str(file)]) == 0:
            lengths.setdefault(verb, []).append(len(capsys.readouterr().out.splitlines()))
        capsys.readouterr()
    assert max(length for some in lengths.values() for length in some) <= 45, lengths
    assert sorted(lengths["correct"])[len(lengths["correct"]) // 2] <= 30, lengths
    assert max(lengths["add"]) <= 30, lengths


@pytest.mark.parametrize("name", SHOWN)
def test_the_next_command_runs_as_it_is_printed(
    name: str, capsys: Out, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("DOUGH_NOTEBOOK", str(tmp_path / "notebook.sqlite3"))
    lines = screen(capsys, SHOWN[name], f"samples/{name}.json")
    [start] = [place for place, line in enumerate(lines) if line.startswith("Next: ")]
    command = "\n".join([lines[start].removeprefix("Next: "), *lines[start + 1 :]])
    pieces = command.replace("\\\n", " ").replace("\n", " ").split(" > ")[0].split(" | ")
    handed = ""
    for piece in pieces:
        program, *words = shlex.split(piece)
        assert program == "dough-advisor"
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(handed.encode())))
        assert main(words) == 0, (piece, capsys.readouterr().err)
        handed = capsys.readouterr().out
        assert handed.strip()


def test_what_was_typed_is_repeated_in_the_hint(tmp_path: Path, capsys: Out) -> None:
    table = tmp_path / "my bar.csv"
    table.write_text("material,percent\nisethionate-powder,60\nkaolin,10\nbetaine-30,30\n", encoding="utf-8")
    asked = ["correct", str(table), "--feel", "too_wet", "--shelf", "rice flour"]
    hint = " ".join(" ".join(screen(capsys, *asked, "--why", "--keys")[-4:]).replace("\\", "").split())
    assert f"Next: dough-advisor {shlex.join(asked)} --json | dough-advisor weigh -" in hint


def test_sources_stand_in_json_and_on_forms_and_not_in_sentences_of_a_screen(capsys: Out) -> None:
    cited = {book.head.source for book in load_rulebook().laws.values()}
    for name in ("recipe-to-look-at", "over-the-limit-once-dried"):
        for flags in ((), ("--all",)):
            screened = " ".join(" ".join(screen(capsys, SHOWN[name], f"samples/{name}.json", *flags)).split())
            assert not any(source in screened for source in cited)
        whole = "\n".join(screen(capsys, SHOWN[name], f"samples/{name}.json", "--json"))
        assert any(source in whole for source in cited)
    sheet = " ".join(" ".join(screen(capsys, "label", "samples/label-of-the-heron-bar.json")).split())
    assert any(source in sheet for source in cited)


def test_ids_stand_beside_the_sentences_where_keys_are_shown(capsys: Out) -> None:
    sample = "samples/recipe-to-look-at.json"
    answer = json.loads("\n".join(screen(capsys, "assess", sample, "--json")))
    told = " ".join(" ".join(screen(capsys, "assess", sample, "--keys", "--all")).split())
    for kind in ("findings", "notes", "cautions"):
        assert all(f"[{one['id']}]" in told for one in answer[kind])


def test_one_file_of_a_bar_is_enough_for_every_verb(tmp_path: Path, capsys: Out) -> None:
    assert main(["weigh", "samples/wet-betaine-dough.json", "--batch", "500", "--balance", "0.1"]) == 0
    assert "Not asked by weigh, and left away: report" in capsys.readouterr().err
    body = json.loads((SAMPLES / "wet-betaine-dough.json").read_text(encoding="utf-8"))
    (tmp_path / "odd.json").write_text(json.dumps({**body, "colour": "red"}), encoding="utf-8")
    assert main(["weigh", str(tmp_path / "odd.json"), "--batch", "500", "--balance", "0.1"]) == 2
    assert "/colour" in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["correct", "add"])
def test_every_question_names_the_option_that_answers_it(verb: str) -> None:
    from advisor.cli.options import OPTIONS

    flags = {option.place: option.flag for option in OPTIONS}
    for question in load_rulebook().bench.question:
        for field in question.unless[:1]:
            assert flags[f"report.{field}"] == f"--{re.sub('_', '-', field)}"
    assert verb in {one.asked_as for one in TASKS}


def test_batches_are_told_in_grams_beside_percents(capsys: Out) -> None:
    lines = screen(capsys, "correct", "samples/wet-betaine-dough.json", "--batch", "1500", "--balance", "0.1")
    [betaine] = [line for line in lines if line.startswith("Cocamidopropyl betaine, 30")]
    _, new, _, grams, unit = betaine.removeprefix("Cocamidopropyl betaine, 30 % active").split()
    assert unit == "g" and abs(float(grams) - 15 * float(new)) <= 0.05
    assert any(line.startswith("Total") and line.endswith("1500 g") for line in lines)
    assert any("Keep back" in line and " g) " in line for line in lines)


def test_what_is_shown_in_part_is_counted_and_whole_when_asked(capsys: Out) -> None:
    answer = json.loads("\n".join(screen(capsys, "add", "samples/bowl-too-wet.json", "--json")))
    folded = " ".join(screen(capsys, "add", "samples/bowl-too-wet.json"))
    [more] = re.findall(r"(\d+) (?:more )?hints? for the bench", folded) or ["0"]
    whole = " ".join(" ".join(screen(capsys, "add", "samples/bowl-too-wet.json", "--all")).split())
    assert all(one["text"] in whole for one in answer["advice"])
    shown = [one for one in answer["advice"] if one["text"] in " ".join(folded.split())]
    assert len(answer["advice"]) - len(shown) == int(more)


def bar(tmp_path: Path, name: str, **more: Any) -> str:
    parts = {"isethionate-powder": 60, "kaolin": 10, "betaine-30": 30}
    lines = [{"material": key, "percent": percent} for key, percent in parts.items()]
    file = tmp_path / f"{name}.json"
    file.write_text(json.dumps({"recipe": {"name": name, "lines": lines}, **more}), encoding="utf-8")
    return str(file)


def test_files_that_are_compared_keep_their_market(tmp_path: Path, capsys: Out) -> None:
    law = {"id": "law-in-force"}.items()

    def compared(*words: str) -> tuple[bool, str]:
        assert main(["compare", *words, "--json"]) == 0
        out = capsys.readouterr()
        return any(law <= one.items() for one in json.loads(out.out)["cautions"]), out.err

    none, eu = bar(tmp_path, "none"), bar(tmp_path, "eu", wishes={"market": "eu"})
    top, us = bar(tmp_path, "top", market="eu"), bar(tmp_path, "us", wishes={"market": "us"})
    assert compared(none, none) == (False, "")
    for pair in ((eu, eu), (eu, none), (none, eu), (top, eu), (none, top)):
        assert compared(*pair) == (True, "")
    lawful, said = compared(eu, us)
    assert not lawful
    assert said == "The files differ in market, eu and us; neither is taken.\n"
    assert compared(eu, us, "--market", "us") == (True, "")


def test_the_market_of_a_label_is_that_of_the_wishes(tmp_path: Path, capsys: Out) -> None:
    sample = "samples/label-of-the-heron-bar.json"
    assert main(["assess", sample, "--json"]) == 0
    out = capsys.readouterr()
    assert "law-in-force" in {one["id"] for one in json.loads(out.out)["cautions"]}
    assert out.err == "Not asked by assess, and left away: particulars, previous.\n"
    assert main(["assess", bar(tmp_path, "both", market="us", wishes={"market": "eu"})]) == 0
    assert "left away: market" in capsys.readouterr().err
    assert main(["assess", bar(tmp_path, "odd", market="eu", wishes=3)]) == 2
    assert "/wishes" in capsys.readouterr().err


@pytest.mark.parametrize("words", [("assess",), ("correct", "--feel", "too_wet")])
def test_a_law_that_was_not_checked_is_said_in_its_place(
    words: tuple[str, ...], tmp_path: Path, capsys: Out
) -> None:
    verb, *flags = words
    [caution] = [one for one in load_rulebook().cautions.caution if one.id == "no-law-checked"]
    file = bar(tmp_path, "weir")
    for more in ((), ("--all",)):
        told = " ".join(screen(capsys, verb, file, *flags, *more))
        assert told.count(f"The law: {caution.text}") == told.count(caution.text) == 1
        assert "The law:" not in told.replace(f"The law: {caution.text}", "")
    assert caution.text not in " ".join(screen(capsys, verb, file, *flags, "--market", "eu", "--all"))


def test_what_was_typed_of_a_bowl_is_typed_of_its_recipe(capsys: Out) -> None:
    def hint(*words: str) -> list[str]:
        said = " ".join(screen(capsys, *words)).replace("\\", "").partition("Next: dough-advisor ")[2]
        return shlex.split(said)

    bowl = "samples/bowl-too-dry.json"
    kept = ["correct", bowl, "--degree", "slight", "--feel", "too_dry"]
    assert hint("add", bowl, "--degree", "slight", "--why", "--lost", "2") == kept
    kept = ["correct", bowl, "--feel=too_dry", "--market", "us"]
    assert hint("add", bowl, "--feel=too_dry", "--lost=2", "--market", "us") == kept


def test_a_trial_is_weighed_on_a_balance_that_shows_it(capsys: Out) -> None:
    sample = "samples/a-new-bar-for-spring.json"
    for step, masses in (("0.1", ("26.2 g", "1.9 g")), ("0.01", ("26.2 g", "1.85 g"))):
        said = " ".join(screen(capsys, "draft", sample, "--balance", step))
        assert all(f" {one} " in said for one in masses), said
        assert said.endswith(f"weigh - --batch 50 --balance {step}")
