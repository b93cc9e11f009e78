"""Proves that /openapi.json is clean, and that clients generated from it work against a live server.

Two linters go by their recommended rules, warnings counted; what is off stands in spectral.yaml with its
reason. The clients are in TypeScript and in Python, and neither generator gets a flag that changes what it
makes. The programs are those of samples/clients; each asks for a correction, a swap, a dough to be kept, a
sweep and a draft, and holds strictly to the types that were generated. Needs what .ci/javascript set up.
"""

import json
import os
import shutil
import sys
import tempfile
import urllib.request
import venv
from collections.abc import Callable
from pathlib import Path

from running import run

from api.app import create_app
from tests.helpers.server import Served

ROOT = Path(__file__).resolve().parent.parent
PROGRAMS = ROOT / "samples" / "clients"
NODE_PROGRAMS = ROOT / ".venv" / "javascript" / "node_modules" / ".bin"
GENERATOR = "openapi-python-client==0.29.1"
GENERATED = "dough-advisor-client"
LINTERS = (
    ("redocly", "lint", "--extends=recommended-strict"),
    ("spectral", "lint", "--fail-severity=warn", f"--ruleset={ROOT / '.ci' / 'spectral.yaml'}"),
)
QUIET = {"REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"}
SAID = ("corrected", "instead", "kept", "swept", "drafted")


def main() -> None:
    """Lint, generate, compile and run; leave with a message where one fails or an answer is empty."""
    with tempfile.TemporaryDirectory(prefix="clients-") as made:
        folder = Path(made)
        lint(folder)
        said = [_said(folder, language) for language in (typescript, python)]
    for lines in said:
        if tuple(line.partition(": ")[0] for line in lines) != SAID or any(
            line.endswith(": ") for line in lines
        ):
            sys.exit(f"a generated client says {lines}")
    print(f"generated clients in TypeScript and Python: {', '.join(SAID)}")


def lint(place: Path) -> None:
    """Leave with what a linter says, if it says anything."""
    document = place / "openapi.json"
    document.write_text(json.dumps(create_app().openapi()), encoding="utf-8")
    for program, *options in LINTERS:
        _run([NODE_PROGRAMS / program, *options, document], place)
    print(f"/openapi.json is clean by {' and '.join(program for program, *_ in LINTERS)}")


def _said(folder: Path, language: Callable[[Path, Path, str], str]) -> list[str]:
    place = folder / language.__name__
    place.mkdir()
    with Served(place / "notebook.db") as server:
        document = place / "openapi.json"
        with urllib.request.urlopen(f"{server.url}openapi.json", timeout=60) as answer:  # noqa: S310
            document.write_bytes(answer.read())
        return language(place, document, server.url.rstrip("/")).splitlines()


def typescript(place: Path, document: Path, address: str) -> str:
    """Return what the TypeScript program prints."""
    shutil.copy(PROGRAMS / "week.ts", place)
    (place / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    _run([NODE_PROGRAMS / "openapi-typescript", document, "-o", "dough-advisor.ts"], place)
    compiler = [NODE_PROGRAMS / "tsc", "--strict", "--target", "es2022", "--module", "nodenext", "week.ts"]
    _run(compiler, place)
    return _run(["node", "week.js", address], place)


def python(place: Path, document: Path, address: str) -> str:
    """Return what the Python program prints."""
    own = place / "venv"
    venv.create(own, with_pip=True)
    _run([own / "bin" / "pip", "install", "--quiet", "--disable-pip-version-check", GENERATOR], place)
    _run([own / "bin" / "openapi-python-client", "generate", "--path", document], place)
    types = [sys.executable, "-m", "mypy", "--strict", "--python-executable", own / "bin" / "python"]
    _run([*types, PROGRAMS / "week.py"], place / GENERATED)
    return _run([own / "bin" / "python", PROGRAMS / "week.py", address], place / GENERATED)


def _run(command: list[Path | str], place: Path) -> str:
    return run(command, place, {**os.environ, **QUIET, "PYTHONPATH": str(place)})


if __name__ == "__main__":
    main()
