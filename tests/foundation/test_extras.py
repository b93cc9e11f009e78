"""An extra that is missing is named with the command that installs it where this program lies."""

import sys
import tomllib
from pathlib import Path

import pytest

from advisor.errors import NotInstalled

INSTALLED_BY = {
    "pyvenv.cfg": "pip install ",
    "pipx_metadata.json": "pipx runpip dough-advisor install ",
    "uv-receipt.toml": 'uv pip install --python "$(uv tool dir)/dough-advisor" ',
}


@pytest.mark.parametrize("mark", INSTALLED_BY)
def test_the_command_is_that_of_whoever_installed_the_program(
    mark: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / mark).touch()
    monkeypatch.setattr(sys, "prefix", str(tmp_path))
    said = NotInstalled.of("The notebook", "notebook").detail
    assert said == f'The notebook needs the extra notebook: {INSTALLED_BY[mark]}"dough-advisor[notebook]".'


def test_every_extra_that_is_named_exists(root: Path) -> None:
    extras = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "optional-dependencies"
    ]
    code = [
        path.read_text(encoding="utf-8") for top in ("advisor", "api") for path in (root / top).rglob("*.py")
    ]
    raised = [piece.split(")")[0] for text in code for piece in text.split("NotInstalled.of(")[1:]]
    named = {words.split('"')[3] for words in raised if words.count('"') >= 4}
    assert {"fit", "notebook", "postgres", "distributed"} <= named <= extras.keys()
