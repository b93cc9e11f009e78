"""Where the tests of the foundation look: this checkout and its texts."""

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def root() -> Path:
    """Return the top folder of the checkout."""
    return Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def readme(root: Path) -> str:
    """Return the text of the README."""
    return (root / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def files(root: Path) -> list[Path]:
    """Return every file of the checkout that people wrote: not hidden, but for what builds and ignores."""
    top = [
        path for path in root.iterdir() if not path.name.startswith(".") or path.name in (".ci", ".gitignore")
    ]
    every = [path for start in top for path in (start.rglob("*") if start.is_dir() else [start])]
    made = {"__pycache__", "build", "dist", "artefacts"}
    return [path for path in every if path.is_file() and made.isdisjoint(path.relative_to(root).parts)]
