"""The command line where a pipe is closed, a terminal narrow, a home missing or text not what it says it is."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.cli.main import main
from advisor.registry import TASKS

ROOT = Path(__file__).resolve().parents[2]
WET = str(ROOT / "samples" / "wet-betaine-dough.json")
VERBS = [one for one in TASKS if one.method == "POST" and one.sample and one.name != "sweep"]
Out = pytest.CaptureFixture[str]


def run(*words: str, **changed: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name not in ("HOME", "XDG_DATA_HOME")}
    return subprocess.run(
        [sys.executable, "-m", "advisor", *words],
        cwd=ROOT,
        env={**kept, **changed},
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
    )


@pytest.mark.slow
def test_a_closed_pipe_is_silence() -> None:
    command = f"{sys.executable} -m advisor materials | head -1"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0 and done.stderr == "" and done.stdout.strip()


@pytest.mark.slow
def test_without_a_home_and_with_ascii_it_answers() -> None:
    done = run("correct", WET, DOUGH_NOTEBOOK="none", PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.returncode == 0 and done.stdout.startswith("Mill Pond bar") and "Traceback" not in done.stderr
    done = run("correct", WET, DOUGH_NOTEBOOK="", HOME="/nowhere")
    assert done.returncode == 0 and "Traceback" not in done.stderr


@pytest.mark.parametrize("columns", ["1", "40", "60", "200", "0", "-3", "wide"])
def test_any_width_is_answered(columns: str, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    for verb in ("correct", "weigh", "assess"):
        more = ("--batch", "500", "--balance", "0.1") if verb == "weigh" else ()
        assert main([verb, WET, *more]) == 0
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("verb", VERBS, ids=lambda verb: verb.name)
def test_any_verb_refuses_any_file_in_words(verb: object, tmp_path: Path, capsys: Out) -> None:
    """What belongs to another verb, or to none, ends in an exit code and words."""
    name = verb.asked_as  # type: ignore[attr-defined]
    torn = tmp_path / "torn.json"
    own = (ROOT / "samples" / f"{verb.sample}.json").read_bytes()  # type: ignore[attr-defined]
    for bad in (
        b"",
        b"null",
        b"{}",
        b'{"recipe": 3}',
        b'{"recipe": {"lines": [{}]}}',
        own[:-40],
        b"\xff\xfe" + own,
    ):
        torn.write_bytes(bad)
        assert main([name, str(torn)]) == 2
        assert capsys.readouterr().err.strip()
    for file in (tmp_path, tmp_path / "absent.csv", ROOT / "README.md"):
        assert main([name, str(file)]) == 2
        assert capsys.readouterr().err.strip()
    for flags in (["--set", "a"], ["--notebook", str(tmp_path)], ["--set", "materials=[1]"]):
        assert main([name, str(ROOT / "samples" / f"{verb.sample}.json"), *flags]) in (0, 2, 4)  # type: ignore[attr-defined]
        assert "Traceback" not in capsys.readouterr().err
