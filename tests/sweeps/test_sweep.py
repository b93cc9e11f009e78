"""Sweeps: order, failures in place, the same answers from every executor, files that go on where they stopped."""

import gc
import json
import os
import subprocess
import sys
import warnings
import weakref
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import pytest

import advisor
from advisor.cli.main import main
from advisor.errors import AdvisorError, InvalidRequest
from advisor.rulebook.load import load_rulebook
from advisor.sweeps import executor
from advisor.sweeps.chunk import Job, Outcome, Setting, job_of, refused
from advisor.sweeps.executor import InProcess, Processes, chunks, in_order
from helpers import makers
from helpers.server import PATIENCE

Body = dict[str, Any]
REPORT = {"feel": "too_wet", "degree": "slight"}


def recipes(count: int) -> list[Body]:
    return [makers.recipe(seed) for seed in range(count)]


def told(answer: Any) -> Any:
    """Return an answer as JSON, without what names a single run."""
    body = json.loads(answer.model_dump_json())
    for entry in body["answers"]:
        if "problem" in entry:
            entry["problem"]["instance"] = ""
    return body


@pytest.fixture(scope="module")
def request_of_forty() -> Body:
    asked = recipes(40)
    asked[3] = {"name": "wrong", "lines": [{"material": "kaolin", "percent": "much"}]}
    asked[4] = ["no recipe"]  # type: ignore[call-overload]
    asked[5] = {"lines": [{"material": "kaolinn", "percent": 100}]}
    asked[6] = {"lines": [{"material": "kaolin", "percent": 99}]}
    return {"task": "correction", "recipes": asked, "report": REPORT, "wishes": {"market": "eu"}}


@pytest.fixture(scope="module")
def alone(request_of_forty: Body) -> Any:
    return told(advisor.sweep(request_of_forty, workers=1))


def test_each_recipe_is_answered_in_its_place_as_if_asked_alone(request_of_forty: Body, alone: Any) -> None:
    shared = {"report": REPORT, "wishes": {"market": "eu"}}
    assert [entry["index"] for entry in alone["answers"]] == list(range(40))
    for recipe, entry in zip(request_of_forty["recipes"], alone["answers"], strict=True):
        try:
            single = advisor.correct({"recipe": recipe, **shared})
        except AdvisorError as error:
            assert (entry["problem"]["code"], entry["problem"]["detail"]) == (error.code, error.detail)
        else:
            assert entry["answer"] == json.loads(single.model_dump_json())
    assert alone["notes"][0]["text"] == "40 recipes: 36 answered, 4 with a problem."
    assert alone["rules_version"] == load_rulebook().edition
    assert {caution["id"] for caution in alone["cautions"]} >= {"dust", "law-in-force"}


def test_problems_point_into_the_sweep(alone: Any) -> None:
    where = [alone["answers"][index]["problem"]["errors"][0]["where"] for index in (3, 4, 5, 6)]
    assert where == [
        "/recipes/3/lines/0/percent",
        "/recipes/4",
        "/recipes/5/lines/0/material",
        "/recipes/6/lines",
    ]


def test_a_conflict_points_into_the_sweep() -> None:
    lines = [("isethionate-powder", 55), ("betaine-30", 27), ("kaolin", 12), ("glycerin", 6)]
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines]}
    wishes = {"active": {"min": 60}, "fixed": ["kaolin", "betaine-30", "glycerin"]}
    body = {"task": "correction", "recipes": [recipe] * 2, "report": REPORT, "wishes": wishes}
    problem = told(advisor.sweep(body))["answers"][1]["problem"]
    assert problem["code"] == "no-recipe-fits"
    places = [entry["where"] for entry in (*problem["errors"], *problem["conflict"])]
    assert all(place.startswith(("/recipes/1", "/wishes", "/report")) for place in places), places


def test_worker_processes_give_the_same_answers(request_of_forty: Body, alone: Any) -> None:
    assert told(advisor.sweep(request_of_forty, workers=2)) == alone


@pytest.mark.slow
def test_two_workers_of_a_dask_cluster_give_the_same_answers(
    request_of_forty: Body, alone: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("advisor.sweeps.cluster._SECONDS_TO_FIND", PATIENCE)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        distributed = pytest.importorskip("distributed")
        cluster = distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
        )
        with cluster:
            answered = told(advisor.sweep(request_of_forty, scheduler=cluster.scheduler_address))
            own = {
                "key": "my-clay",
                "name": "Clay",
                "form": "powder",
                "roles": ["filler"],
                "composition": {"Kaolin": 100},
            }
            lines = [{"material": "my-clay", "percent": 70}, {"material": "betaine-30", "percent": 30}]
            shared = {"task": "assessment", "recipes": [{"lines": lines}] * 40, "materials": [own]}
            inline = told(advisor.sweep(shared, scheduler=cluster.scheduler_address))
        gc.collect()  # what the cluster left open warns here, and not in another test
    assert answered == alone
    assert inline == told(advisor.sweep(shared, workers=1))


def test_a_scheduler_that_is_not_there_is_the_callers_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("advisor.sweeps.cluster._SECONDS_TO_FIND", 0.2)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with pytest.raises(InvalidRequest, match="No scheduler answers"):
            advisor.sweep({"task": "assessment", "recipes": recipes(1)}, scheduler="tcp://127.0.0.1:9")


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"task": "corection"}, ""),
        ({"task": None}, ""),
        ({"recipes": []}, "/recipes"),
        ({"recipes": None}, "/recipes"),
        ({"recipes": [{}] * 10_001}, "/recipes"),
        ({"report": {"feel": "odd"}}, "/report/feel"),
        ({"missing": "kaolin"}, "/missing"),
        ({"recipe": {"lines": []}}, "/recipe"),
        ({"wishes": {"market": "mars"}}, "/wishes/market"),
    ],
)
def test_what_is_shared_must_be_right(change: Body, where: str) -> None:
    body = {"task": "correction", "recipes": recipes(1), "report": REPORT} | change
    with pytest.raises(InvalidRequest) as caught:
        advisor.sweep(body)
    assert caught.value.faults[0].where == where


def test_inline_materials_are_compiled_once_and_count_as_they_do_in_one_request() -> None:
    own = {"key": "kaolin", "name": "Wetter clay", "form": "powder", "roles": ["filler"],
           "composition": {"Kaolin": 100}, "uptake": 0.9}  # fmt: skip
    body = {"recipes": recipes(12), "materials": [own], "report": REPORT}
    answers = told(advisor.sweep(body | {"task": "correction"}))["answers"]
    for recipe, entry in zip(body["recipes"], answers, strict=True):  # type: ignore[arg-type]
        single = advisor.correct({"recipe": recipe, "materials": [own], "report": REPORT})
        assert entry["answer"] == json.loads(single.model_dump_json())
    with pytest.raises(InvalidRequest, match="given twice"):
        advisor.sweep(body | {"task": "correction", "materials": [own, own]})


def test_a_missing_material_in_a_sweep() -> None:
    body = {
        "task": "substitution",
        "recipes": recipes(10),
        "missing": "betaine-30",
        "shelf": ["cocoamphoacetate"],
    }
    answers = told(advisor.sweep(body))["answers"]
    for recipe, entry in zip(body["recipes"], answers, strict=True):  # type: ignore[arg-type]
        holds = any(line["material"] == "betaine-30" for line in recipe["lines"])
        if not holds:
            assert entry["problem"]["errors"][0]["where"] == "/missing"
        elif "answer" in entry:
            assert all(
                line["material"] != "betaine-30"
                for o in entry["answer"]["options"]
                for line in o["recipe"]["lines"]
            )


def test_chunks_are_drawn_only_as_they_are_taken_on() -> None:
    drawn = []

    def endless() -> Iterator[Job]:
        while True:
            drawn.append(1)
            yield Job("assessment", {"recipe": makers.recipe(1)})

    outcomes = in_order(Setting.of({}), chunks(endless(), "assessment"), InProcess())
    assert next(outcomes).answered
    outcomes.close()
    assert len(drawn) == 32


def test_a_line_names_its_task_or_takes_the_sweeps() -> None:
    assert job_of({"recipe": 1}).task == "correction"
    assert job_of({"recipe": 1, "missing": "kaolin"}).task == "substitution"
    assert job_of({"recipe": 1}, "assessment").task == "assessment"
    assert job_of({"task": "correction", "recipe": 1}, "assessment") == Job("correction", {"recipe": 1})
    with pytest.raises(InvalidRequest) as caught:
        job_of({"task": "weighing"})
    assert caught.value.faults[0].where == "/task"


def test_a_fault_in_one_recipe_stays_in_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.sweeps import chunk

    def faulty(*_: Any, **__: Any) -> Any:
        raise ZeroDivisionError("a-secret")

    monkeypatch.setitem(vars(chunk.SWEPT["correction"]), "function", faulty)
    jobs = [Job("correction", {}), Job("assessment", {"recipe": makers.recipe(1)})]
    first, second = chunk.answer_chunk(Setting.of({}), jobs)
    assert json.loads(first.text)["code"] == "advisor-error"
    assert b"a-secret" not in first.text
    assert second.answered


@pytest.mark.parametrize("cancelled", [False, True])
def test_answers_that_were_read_are_let_go_at_once(cancelled: bool) -> None:
    """Held by each other, promise and work would wait for a search of the whole memory, answers and all."""
    processes = Processes(1)
    chunk = [Job("assessment", {"recipe": makers.recipe(seed)}) for seed in range(2)]
    gc.disable()
    try:
        waiting = [processes.submit(Setting.of({}), chunk) for _ in range(4)]
        gone = [weakref.ref(one) for one in waiting]
        if cancelled:
            assert waiting[-1].cancel()
            del waiting[-1]
        assert all(len(one.result()) == len(chunk) for one in waiting)
        del waiting
        processes.close()
        assert not any(one() for one in gone)
    finally:
        gc.enable()
        processes.close()


def test_a_worker_that_dies_is_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first pool is broken by hand, as an out-of-memory killer would break it."""
    made = []
    plain = executor._pool

    def pool(workers: int) -> Any:
        made.append(plain(workers))
        return made[-1]

    monkeypatch.setattr(executor, "_pool", pool)
    processes = Processes(1)
    setting = Setting.of({})
    chunk = [Job("assessment", {"recipe": makers.recipe(seed)}) for seed in range(3)]
    try:
        expected = processes.submit(setting, chunk).result()
        for process in list(made[0]._processes.values()):
            process.kill()
        again = [processes.submit(setting, chunk).result() for _ in range(3)]
    finally:
        processes.close()
    assert all(outcomes == expected for outcomes in again)
    assert len(made) >= 2


def test_a_chunk_that_kills_every_worker_is_answered_with_problems(monkeypatch: pytest.MonkeyPatch) -> None:
    class Deadly:
        def __enter__(self) -> "Deadly":
            return self

        def __exit__(self, *_: object) -> None:
            return None

        def submit(self, *_: object) -> Any:
            done: Any = executor.Future()
            done.set_exception(BrokenProcessPool("gone"))
            return done

        def shutdown(self, **_: object) -> None:
            return None

    monkeypatch.setattr(executor, "_pool", lambda _: Deadly())
    processes = Processes(1)
    outcomes = processes.submit(Setting.of({}), [Job("assessment", {})] * 2).result()
    processes.close()
    assert [json.loads(one.text)["code"] for one in outcomes] == ["solver-timeout"] * 2


def test_a_script_needs_no_guard_to_use_every_core(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(
        "import advisor\n"
        "print('once')\n"
        "lines = [{'material': 'betaine-30', 'percent': 30}, {'material': 'kaolin', 'percent': 70}]\n"
        "request = {'task': 'assessment', 'recipes': [{'lines': lines}] * 70}\n"
        "print(advisor.sweep(request, workers=2).notes[0].text)\n",
        encoding="utf-8",
    )
    root = Path(__file__).resolve().parents[2]
    ran = subprocess.run(
        [sys.executable, str(script)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert ran.stdout.splitlines() == ["once", "70 recipes: 70 answered, 0 with a problem."]
    assert ran.stderr == ""


def test_what_is_given_up_is_not_begun(monkeypatch: pytest.MonkeyPatch) -> None:
    processes = Processes(1)
    jobs = (Job("correction", {"recipe": makers.recipe(1), "report": REPORT}) for _ in range(160))
    promised: list[Any] = []

    def submit(*work: Any) -> Any:
        promised.append(plain(*work))
        return promised[-1]

    plain = processes.submit
    monkeypatch.setattr(processes, "submit", submit)
    outcomes = in_order(Setting.of({}), chunks(jobs, "correction"), processes)
    assert next(outcomes).answered
    outcomes.close()
    processes.close()
    assert len(promised) <= processes.depth + 1
    assert [one.cancelled() for one in promised] == [False] + [True] * (len(promised) - 1)


# -- the command -----------------------------------------------------------------------------------------


def csv_of(asked: list[Body]) -> str:
    rows = [f"{r['name']},{line['material']},{line['percent']}" for r in asked for line in r["lines"]]
    return "\n".join(["recipe,material,percent", *rows, ""])


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "bars.csv"
    path.write_text(csv_of(recipes(24)) + "odd bar,kaolin,lots\n", encoding="utf-8")
    return path


def sweep_command(source: Path, output: Path, *more: str) -> int:
    return main(["sweep", str(source), "--task", "correction", "--feel", "too_wet", "-o", str(output), *more])


def test_a_table_is_swept_into_lines_and_tables(
    table: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "next.ndjson"
    assert sweep_command(table, output, "--degree", "slight", "--market", "eu") == 0
    lines = [json.loads(line) for line in output.read_text(encoding="utf-8").splitlines()]
    assert [line["index"] for line in lines] == list(range(25))
    single = advisor.correct({"recipe": recipes(1)[0], "report": REPORT, "wishes": {"market": "eu"}})
    assert lines[0]["answer"] == json.loads(single.model_dump_json())
    assert lines[24]["problem"]["errors"][0]["where"] == "/recipe/lines/0/percent"
    summary = (tmp_path / "next.summary.csv").read_text(encoding="utf-8").splitlines()
    assert summary[0].startswith("recipe,outcome,lines_moved,why,")
    assert summary[25].startswith("odd bar,refused,,")
    moved = (tmp_path / "next.recipes.csv").read_text(encoding="utf-8").splitlines()
    assert moved[0] == "recipe,material,percent,before"
    assert len(moved) > 100
    out = capsys.readouterr().out
    assert "changed" in out and "refused" in out

    again = tmp_path / "again.ndjson"
    assert sweep_command(tmp_path / "next.recipes.csv", again, "--set", "report={'feel': 'x'}") == 3
    assert b'"problem"' in again.read_bytes()


@pytest.mark.parametrize("keep", [0, 1, 7, 7.5, 25])
def test_an_interrupted_sweep_goes_on(table: Path, tmp_path: Path, keep: float) -> None:
    output = tmp_path / "next.ndjson"
    assert sweep_command(table, output) == 0
    whole = output.read_bytes().splitlines(keepends=True)
    begun = b"".join(whole[: int(keep)]) + (whole[int(keep)][:100] if keep % 1 else b"")
    output.write_bytes(begun)
    assert sweep_command(table, output) == 0
    now = output.read_bytes().splitlines(keepends=True)
    assert now[: int(keep)] == whole[: int(keep)]
    assert [without_instance(line) for line in now] == [without_instance(line) for line in whole]


def without_instance(line: bytes) -> Any:
    entry = json.loads(line)
    if "problem" in entry:
        entry["problem"]["instance"] = ""
    return entry


def test_answers_to_something_else_are_not_gone_on_with(
    table: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "next.ndjson"
    assert sweep_command(table, output) == 0
    before = output.read_bytes()
    assert sweep_command(table, output, "--degree", "severe") == 2
    assert "answers something else" in capsys.readouterr().err
    output.write_bytes(b"my notes\n")
    assert sweep_command(table, output) == 2
    assert output.read_bytes() == b"my notes\n"
    output.write_bytes(before)
    assert sweep_command(table, output) == 0
    assert output.read_bytes() == before


def test_lines_of_tasks_are_swept(tmp_path: Path) -> None:
    source, output = tmp_path / "asked.ndjson", tmp_path / "told.csv"
    recipe = recipes(1)[0]
    lines = [
        json.dumps({"task": "assessment", "recipe": recipe}),
        json.dumps(recipe),
        "{",
        "",
        json.dumps([1]),
        json.dumps({"task": "weighing", "recipe": recipe}),
        json.dumps({"recipe": recipe, "report": {"feel": "too_dry", "degree": "clear"}}),
    ]
    source.write_text("\n".join(lines), encoding="utf-8")
    assert sweep_command(source, output) == 0
    told_lines = [
        json.loads(line) for line in (tmp_path / "told.ndjson").read_text(encoding="utf-8").splitlines()
    ]
    assert [entry.get("problem", {}).get("code") for entry in told_lines] == [
        None,
        None,
        "invalid-request",
        "invalid-request",
        "invalid-request",
        None,
    ]
    assert "totals" in told_lines[0]["answer"]
    assert told_lines[1]["answer"]["status"] == "corrected"
    assert (tmp_path / "told.summary.csv").is_file()
    assert output.read_text(encoding="utf-8").startswith("recipe,material,percent,before\n")


def test_a_missing_material_is_looked_for_in_every_recipe(table: Path, tmp_path: Path) -> None:
    output = tmp_path / "without.ndjson"
    asked = ["sweep", str(table), "--task", "substitution", "--missing", "betaine-30", "-o", str(output)]
    assert main(asked) == 0
    rows = [
        line.split(",")
        for line in (tmp_path / "without.summary.csv").read_text(encoding="utf-8").splitlines()[1:]
    ]
    touched = [
        recipe["name"]
        for recipe in recipes(24)
        if any(x["material"] == "betaine-30" for x in recipe["lines"])
    ]
    assert touched
    assert [row[0] for row in rows if row[1] != "not touched"] == touched
    assert {row[1] for row in rows} <= {"changed", "not touched", "nothing fits"}


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("absent.csv", None),
        ("absent.ndjson", None),
        ("empty.csv", ""),
        ("columns.csv", "bar,material,percent\na,kaolin,3\n"),
        ("latin.csv", b"\xff\xfer\x00\x00\x00"),
    ],
)
def test_files_that_cannot_be_read_are_two(
    name: str, text: str | bytes | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    if text is not None:
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    assert sweep_command(path, tmp_path / "out.ndjson") == 2
    assert not (tmp_path / "out.ndjson").exists()
    assert capsys.readouterr().err


def test_an_outcome_given_beforehand_keeps_its_place() -> None:
    wrong = refused(InvalidRequest("It is wrong."))
    mixed: list[Job | Outcome] = [wrong, Job("assessment", {"recipe": makers.recipe(1)}), wrong]
    outcomes = list(in_order(Setting.of({}), [mixed], InProcess()))
    assert [outcome.answered for outcome in outcomes] == [False, True, False]
