"""One entry makes a task: function, shapes, address, verb, client method and sample follow from it."""

import json
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import get_args

import pytest

import advisor
from advisor.client import Client
from advisor.registry import TASKS, Task
from advisor.schema.findings import Answer
from advisor.sweeps.schema import Swept

ROOT = Path(__file__).resolve().parents[1]
HEAVY = ("numpy", "pandas", "scipy", "pulp", "highspy", "fastapi", "starlette", "uvicorn", "rich", "httpx")


@pytest.mark.parametrize("entry", TASKS, ids=lambda one: one.name)
def test_an_entry_holds_together(entry: Task) -> None:
    assert entry.function.__name__ == entry.name
    hints = entry.function.__annotations__
    assert hints["return"] is entry.answer and issubclass(entry.answer, Answer)
    assert entry.request in get_args(hints["request"])
    assert entry.knows_shop == ("notebook" in hints)
    assert getattr(advisor, entry.name) is entry.function
    assert entry.method == "GET" or getattr(Client, entry.name).__doc__.startswith(entry.summary)
    assert not entry.form or entry.document


def test_every_task_that_is_posted_has_its_sample() -> None:
    index = tomllib.loads((ROOT / "samples" / "samples.toml").read_text(encoding="utf-8"))
    assert {one.name: index[one.sample]["call"] for one in TASKS if one.method == "POST"} == {
        one.name: one.address for one in TASKS if one.method == "POST"
    }


def test_words_of_a_sweep_are_those_of_its_shape() -> None:
    assert {one.swept_as for one in TASKS} - {""} == set(get_args(Swept))


def test_the_package_lists_its_tasks() -> None:
    tables = {"as_frame", "recipes_from_frame", "recipes_to_frame", "save_table"}
    beside = {"AdvisorError", "materials", "past", "rack", "remember", "__version__", *tables}
    assert {one.name for one in TASKS} | beside == set(dir(advisor))
    assert advisor.__version__
    with pytest.raises(AttributeError, match="tidy"):
        _ = advisor.tidy


@pytest.mark.parametrize(
    ("module", "allowed"), [("advisor", ()), ("advisor.registry", ()), ("advisor.client", ("httpx", "rich"))]
)
def test_importing_loads_nothing_heavy(module: str, allowed: tuple[str, ...]) -> None:
    asked = f"import json, sys, {module}; print(json.dumps([one for one in {HEAVY!r} if one in sys.modules]))"
    loaded = json.loads(
        subprocess.run(
            [sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
    )
    assert set(loaded) <= set(allowed)


def test_the_server_works_where_the_system_counts_no_resources() -> None:
    asked = (
        "import sys; sys.modules['resource'] = None\n"
        "from fastapi.testclient import TestClient\n"
        "from api.app import create_app\n"
        "answer = TestClient(create_app()).get('/metrics')\n"
        "print(answer.status_code, 'dough_requests' in answer.text)"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stdout.split() == ["200", "True"], done.stderr


def test_an_answer_is_short_to_look_at() -> None:
    entry = next(one for one in TASKS if one.name == "correct")
    body = json.loads((ROOT / "samples" / f"{entry.sample}.json").read_text(encoding="utf-8"))
    told = repr(entry.function(body))
    assert told.startswith("CorrectionAnswer(") and "status='corrected'" in told and "changes=<3>" in told
    assert len(told) < 300


def test_the_client_works_where_neither_solver_nor_server_is_installed() -> None:
    hidden = ("pulp", "highspy", "numpy", "pandas", "fastapi", "starlette", "uvicorn", "rich")
    asked = (
        f"import sys; sys.modules.update(dict.fromkeys({hidden!r}))\n"
        "from advisor.registry import TASKS\n"
        "from advisor.client import Client\n"
        "print(len([(one.request, one.answer) for one in TASKS]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == str(len(TASKS)), done.stderr


def test_a_new_task_touches_its_folder_and_its_entry(tmp_path: Path) -> None:
    for package in ("advisor", "rules"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    folder = tmp_path / "advisor" / "greeting"
    folder.mkdir()
    (folder / "__init__.py").write_text('"""A greeting."""\n')
    (folder / "schema.py").write_text(
        "from advisor.schema.base import Asked, Name\n"
        "from advisor.schema.findings import Answer\n"
        "class GreetingRequest(Asked):\n    name: Name\n"
        "class GreetingAnswer(Answer):\n    greeting: str\n"
    )
    (folder / "task.py").write_text(
        "from advisor.greeting.schema import GreetingAnswer, GreetingRequest\n"
        "from advisor.recipe.request import read_request\n"
        "def greet(request, *, rulebook=None, notebook=None):\n"
        "    name = read_request(GreetingRequest, request).name\n"
        "    return GreetingAnswer(greeting=f'Good day, {name}.', cautions=(), notes=(), rules_version='1')\n"
    )
    registry = tmp_path / "advisor" / "registry.py"
    entry = (
        'Task(name="greet", module="advisor.greeting.task", address="greetings", summary="Say good day", '
        'shapes="advisor.greeting.schema:Greeting"),\n'
    )
    text = registry.read_text()
    registry.write_text(text.replace("TASKS = (\n", f"TASKS = (\n    {entry}"))
    (tmp_path / "asked.json").write_text('{"name": "Mill Pond"}')

    def run(*command: str) -> str:
        done = subprocess.run(
            [sys.executable, *command], cwd=tmp_path, capture_output=True, text=True, check=False
        )
        assert not done.returncode, done.stderr
        return done.stdout

    assert "Say good day" in run("-m", "advisor", "--help")
    assert "Good day, Mill Pond." in run("-m", "advisor", "greet", "asked.json")
    asked = "import advisor, advisor.client as c; print('greet' in dir(advisor), c.Client.greet.__doc__)"
    assert run("-c", asked).startswith("True Say good day")
