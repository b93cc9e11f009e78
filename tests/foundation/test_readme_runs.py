"""Every command that a text prints runs as it is printed, or at least is one; what is shown is what is seen."""

import argparse
import doctest
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from advisor.cli.options import parser
from helpers.server import Served
from tests.foundation.shown import beside_its_files, told, typed

FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`dough-advisor ([^`]+)`")
HISTORY = ("CHANGELOG.md", "docs/decisions.md")


def commands(text: str, language: str = "sh") -> list[str]:
    """Return the commands of a text's blocks, without their remarks."""
    blocks = [block for kind, block in FENCED.findall(text) if kind == language]
    return [
        line
        for block in blocks
        for line in (re.sub(r"\s+#.*", "", one) for one in block.splitlines())
        if line
    ]


@pytest.fixture(scope="session")
def texts(root: Path, files: list[Path]) -> dict[str, str]:
    """Return what people read, by path."""
    read = {path.relative_to(root).as_posix(): path for path in files if path.suffix == ".md"}
    read |= {path.relative_to(root).as_posix(): path for path in (root / ".github").rglob("*.md")}
    return {
        name: path.read_text(encoding="utf-8") for name, path in sorted(read.items()) if name not in HISTORY
    }


def test_what_is_shown_is_what_is_seen(readme: str) -> None:
    assert readme.count("```console") >= 3
    assert told(readme) == readme, "python -m tests.foundation.shown writes it anew"


def test_every_command_runs(
    readme: str, root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = commands(readme)
    assert len(printed) >= 18
    made = targets(root)
    with beside_its_files(readme), Served(tmp_path / "notebook.sqlite3") as server:
        for command in printed:
            match shlex.split(command):
                case ["dough-advisor", *_]:
                    assert typed(command)[0] == 0, (command, capsys.readouterr().err)
                case ["python", "-m", module]:
                    words = [sys.executable, "-m", module, server.url.rstrip("/")]
                    ran = subprocess.run(words, cwd=root, capture_output=True, text=True, check=False)
                    assert ran.returncode == 0 and ran.stdout, (command, ran.stderr)
                case ["make", target]:
                    assert target in made
                case ["pip", "install", what]:
                    assert extras(root) >= set(re.findall(r"\w+", what))
                case _:
                    assert command == ". .venv/bin/activate", f"{command} is a command nobody tries"


def targets(root: Path) -> set[str]:
    return set(re.findall(r"^([a-z-]+):", (root / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))


def extras(root: Path) -> set[str]:
    read = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    return set(read["project"]["optional-dependencies"])


def test_every_command_stands_in_a_block_that_says_what_it_is(texts: dict[str, str]) -> None:
    outside = {name: FENCED.sub("", text) for name, text in texts.items()}
    found = {name: re.findall(r"^ {4,}\S.*$", text, re.MULTILINE) for name, text in outside.items()}
    assert not {name: lines for name, lines in found.items() if lines}
    assert not [name for name, text in texts.items() for kind, _ in FENCED.findall(text) if not kind]


def test_every_command_within_a_sentence_is_one(texts: dict[str, str]) -> None:
    known = parser(None)[0]
    [verbs] = [one for one in known._actions if isinstance(one, argparse._SubParsersAction)]
    said = [(name, words) for name, text in texts.items() for words in INLINE.findall(FENCED.sub("", text))]
    assert len(said) > 60
    wrong = []
    for name, words in said:
        verb, *rest = shlex.split(words)
        options = (
            {"--help", "--version"}
            if verb.startswith("-")
            else set(verbs.choices[verb]._option_string_actions)
        )
        given = {verb, *rest} if verb.startswith("-") else set(rest)
        wrong += [
            (name, words, one) for one in given if one.startswith("-") and one != "-" and one not in options
        ]
    assert not wrong


def test_every_extra_that_is_named_is_one(texts: dict[str, str], root: Path) -> None:
    named = {
        word
        for text in texts.values()
        for what in re.findall(r"'\.\[([\w,]+)\]'", text)
        for word in what.split(",")
    }
    assert {"serve", "fit", "notebook"} <= named <= extras(root)


def test_every_command_of_make_and_every_module_that_is_named_is_there(
    texts: dict[str, str], root: Path
) -> None:
    everything = "".join(texts.values())
    named = set(re.findall(r"`make ([a-z-]+)", everything))
    assert len(named) > 12 and named <= targets(root)
    modules = set(re.findall(r"python -m ((?:tests|samples)[\w.]+)", everything))
    assert len(modules) > 6
    for module in modules:
        path = root / module.replace(".", "/")
        assert path.with_suffix(".py").is_file() or (path / "__main__.py").is_file(), module


def test_the_python_of_the_readme_runs(root: Path) -> None:
    found = doctest.testfile(str(root / "README.md"), module_relative=False)
    assert found.attempted >= 4 and not found.failed
