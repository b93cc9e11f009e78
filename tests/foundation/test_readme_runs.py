"""Every command of the README runs as it is printed, and what it shows is what is seen."""

import doctest
import re
from pathlib import Path

import pytest

from tests.foundation.shown import beside_its_files, told, typed

COMMANDS = re.compile(r"^(dough-advisor [^#\n]+)", re.MULTILINE)
# They need a server, or change the notebook of this machine.
NOT_HERE = ("serve", "backup", "restore", "keys")


def test_what_is_shown_is_what_is_seen(readme: str) -> None:
    assert readme.count("```console") >= 3
    assert told(readme) == readme, "python -m tests.foundation.shown writes it anew"


def test_every_command_runs(readme: str, capsys: pytest.CaptureFixture[str]) -> None:
    commands = [
        line.strip()
        for block in re.findall(r"```sh\n(.*?)```", readme, re.DOTALL)
        for line in COMMANDS.findall(block)
        if line.split()[1] not in NOT_HERE
    ]
    assert len(commands) >= 9
    with beside_its_files(readme):
        for command in commands:
            assert typed(command)[0] == 0, (command, capsys.readouterr().err)


def test_the_python_of_the_readme_runs(root: Path) -> None:
    found = doctest.testfile(str(root / "README.md"), module_relative=False)
    assert found.attempted >= 4 and not found.failed
