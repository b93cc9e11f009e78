"""Proves the commands of make, and their words where Python is missing, old or bare."""

import os
import subprocess
from pathlib import Path

import pytest

OLD = "exit 1"
BARE = 'case "$2" in *ensurepip*) exit 1 ;; esac'
GOOD = "exit 0"


def make(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run make in a folder, knowing nothing of a make that runs these tests."""
    without = {name: value for name, value in os.environ.items() if not name.startswith(("MAKE", "MFLAGS"))}
    return subprocess.run(
        ["make", *words], cwd=folder, env=without, capture_output=True, text=True, check=False
    )


def find_python(
    root: Path, folder: Path, scripts: dict[str, str], named: str = ""
) -> subprocess.CompletedProcess[str]:
    """Run the search for a Python where the only ones are these scripts."""
    for name, body in scripts.items():
        (folder / name).write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
        (folder / name).chmod(0o755)
    return subprocess.run(
        ["/bin/sh", str(root / ".ci" / "python")],
        env={"PATH": str(folder), "PYTHON": named},
        capture_output=True,
        text=True,
        check=False,
    )


def test_help_is_what_make_does_unasked(root: Path) -> None:
    told = make(root).stdout
    assert [line.split()[1] for line in told.splitlines() if line.startswith("  make ")] == [
        *("help", "demo", "test", "quick", "coverage", "check", "serve", "docs", "bench", "samples"),
        *(
            "screenshots",
            "learning",
            "soak",
            "mutate",
            "law-age",
            "format",
            "wheel",
            "release-notes",
            "sbom",
            "lock",
            "clean",
        ),
    ]


def test_the_first_good_python_is_taken(root: Path, tmp_path: Path) -> None:
    found = find_python(root, tmp_path, {"python3": OLD, "python3.12": BARE, "python3.11": GOOD})
    assert (found.returncode, found.stdout, found.stderr) == (0, "python3.11\n", "")


def test_a_named_python_is_taken_and_no_other(root: Path, tmp_path: Path) -> None:
    scripts = {"python3": GOOD, "my own python": GOOD, "python2": OLD}
    assert find_python(root, tmp_path, scripts, "my own python").stdout == "my own python\n"
    assert find_python(root, tmp_path, scripts, "python2").returncode == 1


@pytest.mark.parametrize(
    ("scripts", "words"),
    [
        pytest.param({}, ("No Python was found", "3.11 or newer", "apt install python3"), id="none"),
        pytest.param({"python3": OLD}, ("too old", "3.11 or newer", "make PYTHON="), id="old"),
        pytest.param({"python3": BARE}, ("without venv and pip", "python3-venv"), id="bare"),
    ],
)
def test_the_words_say_what_to_install(
    root: Path, tmp_path: Path, scripts: dict[str, str], words: tuple[str, ...]
) -> None:
    found = find_python(root, tmp_path, scripts)
    assert (found.returncode, found.stdout) == (1, "")
    assert not [word for word in words if word not in found.stderr]


def test_make_ends_with_those_words_and_leaves_nothing_behind(root: Path, tmp_path: Path) -> None:
    (tmp_path / "Makefile").write_text((root / "Makefile").read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "pyproject.toml").touch()
    (tmp_path / ".ci").symlink_to(root / ".ci")
    ended = make(tmp_path, "demo", "PYTHON=no-such-python")
    assert ended.returncode != 0
    assert "No Python was found (looked for: no-such-python)" in ended.stderr
    assert not (tmp_path / ".venv").exists()


@pytest.mark.parametrize("script", ["run", "browser", "javascript", "python", "no-packages"])
def test_the_scripts_are_whole(root: Path, script: str) -> None:
    path = root / ".ci" / script
    assert os.access(path, os.X_OK) or script in ("python", "no-packages")
    shell = "bash" if "bash" in path.read_text(encoding="utf-8").splitlines()[0] else "sh"
    subprocess.run([shell, "-n", str(path)], check=True)


def test_the_checks_stand_in_the_agreed_order(root: Path) -> None:
    told = make(root, "--dry-run", "--always-make", "check").stdout
    tools = ("ruff format --check", "ruff check", "mypy", "lint-imports", ".ci/javascript", "pytest")
    places = [told.index(tool) for tool in tools]
    assert places == sorted(places)
