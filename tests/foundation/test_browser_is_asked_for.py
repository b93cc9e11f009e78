"""Proves the words of the browser script where it may or can install nothing."""

import subprocess
from pathlib import Path

import pytest


@pytest.mark.parametrize(
    ("commands", "code", "words"),
    [
        pytest.param({"chromium": "exit 1"}, 0, "", id="there"),
        pytest.param({}, 1, "package manager of this system", id="no-apt"),
        pytest.param({"apt-get": "exit 1", "id": "echo 1000"}, 1, "sudo .ci/browser", id="not-root"),
    ],
)
def test_the_words(root: Path, tmp_path: Path, commands: dict[str, str], code: int, words: str) -> None:
    for name, body in commands.items():
        (tmp_path / name).write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
        (tmp_path / name).chmod(0o755)
    ended = subprocess.run(
        ["/bin/sh", str(root / ".ci" / "browser")],
        env={"PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (ended.returncode, ended.stdout) == (code, "")
    assert words in ended.stderr
