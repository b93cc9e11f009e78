"""What README and help show of a terminal, told anew: python -m tests.foundation.shown writes it."""

import contextlib
import io
import os
import re
import shlex
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

from advisor.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
TEXTS = (ROOT / "README.md", *sorted((ROOT / "api" / "help" / "pages").rglob("*.md")))
_CONSOLE = re.compile(r"```console\n\$ ([^\n]+)\n(.*?)```", re.DOTALL)
_TABLE = re.compile(r"```csv\n(.*?)```", re.DOTALL)
_NAMED = re.compile(r"`([a-z-]+\.csv)`")


@contextlib.contextmanager
def beside_its_files(text: str) -> Iterator[None]:
    """Work where the tables of a text lie, with the samples, at 80 columns and without a notebook."""
    with tempfile.TemporaryDirectory() as folder:
        for table in _TABLE.finditer(text):
            name = _NAMED.findall(text[: table.start()])[-1]
            (Path(folder) / name).write_text(table[1], encoding="utf-8")
        (Path(folder) / "samples").symlink_to(ROOT / "samples")
        with (
            contextlib.chdir(folder),
            mock.patch.dict(os.environ, {"COLUMNS": "80", "DOUGH_NOTEBOOK": "none"}),
        ):
            yield


def typed(command: str) -> tuple[int, str]:
    """Return the worst exit code and the output of a command, bars among its words."""
    handed, worst = "", 0
    for piece in command.split(" | "):
        program, *words = shlex.split(piece, comments=True)
        if program != "dough-advisor":
            raise ValueError(f"{program} is another program.")
        out = io.StringIO()
        given = io.TextIOWrapper(io.BytesIO(handed.encode()))
        with contextlib.redirect_stdout(out), mock.patch.object(sys, "stdin", given):
            worst = max(worst, main(words))
        handed = out.getvalue()
    return worst, handed


def told(text: str) -> str:
    """Return a text with the output below each command as it is today."""
    if not _CONSOLE.search(text):
        return text
    with beside_its_files(text):
        return _CONSOLE.sub(
            lambda block: f"```console\n$ {block[1]}\n{typed(block[1])[1].rstrip()}\n```", text
        )


if __name__ == "__main__":
    for path in TEXTS:
        path.write_text(told(path.read_text(encoding="utf-8")), encoding="utf-8")
