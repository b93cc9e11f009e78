"""The promises of SECURITY.md each name a test that exists; packages are pinned, listed and audited honestly."""

import ast
import importlib.util
import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any, get_args

import pytest
from annotated_types import MaxLen

from advisor.schema import base
from advisor.schema.drying import DryingRequest
from advisor.schema.material import Materials
from advisor.schema.recipe import MOST_LINES, History
from advisor.sweeps.schema import MOST_RECIPES
from api import work
from api.http import lines, patience, reading
from api.notebook.file import BUSY_SECONDS
from api.settings import Settings


def module(root: Path, name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, root / ".ci" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


def test_every_promise_names_a_test_that_exists(root: Path) -> None:
    text = (root / "SECURITY.md").read_text(encoding="utf-8").partition("## Limits")[0]
    promises = [line.split("|") for line in text.splitlines() if line.startswith("| ") and "`" in line]
    assert len(promises) >= 20
    for _, promise, held, _ in promises:
        found = re.fullmatch(r" `(tests/[a-z/_]+\.py)::(test_[a-z_]+)` ", held)
        assert found, promise
        tree = ast.parse((root / found[1]).read_text(encoding="utf-8"))
        assert found[2] in {one.name for one in tree.body if isinstance(one, ast.FunctionDef)}, promise


def test_every_limit_is_the_programs(root: Path) -> None:
    text = (root / "SECURITY.md").read_text(encoding="utf-8").partition("## Limits")[2].partition("\n## ")[0]
    told = [float(row) for row in re.findall(r"^\| .+ \| ([0-9.]+) \|$", text, re.MULTILINE)]
    settings = Settings()

    def most(annotation: Any) -> int:
        return next(one.max_length for one in get_args(annotation)[1].metadata if isinstance(one, MaxLen))

    assert told == [
        settings.body_bytes_at_most,
        settings.notebook_bytes_at_most,
        lines.MOST_BYTES,
        reading.MOST_ELEMENTS,
        reading.MOST_MEMBERS,
        reading.DEEPEST,
        base.MOST_FAULTS,
        MOST_LINES,
        most(Materials),
        most(History),
        next(
            one.max_length
            for one in DryingRequest.model_fields["weighings"].metadata
            if isinstance(one, MaxLen)
        ),
        MOST_RECIPES,
        most(base.Text),
        settings.in_flight_at_most,
        settings.per_caller_at_most,
        work.AT_ONCE,
        patience.HEADER_SECONDS,
        patience.SILENT_SECONDS,
        patience.MOST_CONNECTIONS,
        BUSY_SECONDS,
    ]


def locked(root: Path) -> dict[str, list[str]]:
    text = (root / "requirements.lock").read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line.split() for line in text.splitlines() if line.strip()]
    return {line[0].partition("==")[0].partition("[")[0]: line for line in lines}


def test_every_package_is_pinned_with_its_hashes(root: Path) -> None:
    pinned = locked(root)
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = [
        *project["dependencies"],
        *(
            one
            for extra in ("fit", "notebook", "serve", "postgres", "distributed", "client")
            for one in extras[extra]
        ),
    ]
    names = {re.split(r"[^a-z0-9-]", one.casefold())[0] for one in asked} - {"dough-advisor"}
    assert names <= pinned.keys()
    for name, words in pinned.items():
        assert re.fullmatch(rf"{name}(\[[a-z]+\])?==[0-9][0-9a-z.]*", words[0]), words[0]
        assert any(re.fullmatch(r"--hash=sha256:[0-9a-f]{64}", word) for word in words), name
    assert "//" not in (root / "requirements.lock").read_text(encoding="utf-8")


def test_what_node_checks_with_is_locked_by_hash_and_names_no_address(root: Path) -> None:
    text = (root / ".ci" / "node" / "package-lock.json").read_text(encoding="utf-8")
    asked = json.loads((root / ".ci" / "node" / "package.json").read_text(encoding="utf-8"))[
        "devDependencies"
    ]
    packages = json.loads(text)["packages"]
    assert packages.pop("")["devDependencies"] == asked
    assert len(packages) > len(asked) >= 4
    for name, version in asked.items():
        assert packages[f"node_modules/{name}"]["version"] == version
    for name, held in packages.items():
        assert held.get("inBundle") or re.fullmatch(r"sha512-[\w+/]+=*", held["integrity"]), name
        assert "resolved" not in held, name


WEAK = {"name": "b", "version": "1", "vulns": [{"id": "X-1", "fix_versions": ["2"]}]}
FINE = {"name": "a", "version": "1", "vulns": []}
SKIPPED = {"name": "c", "skip_reason": "not found"}


@pytest.mark.parametrize(
    ("told", "sees", "said", "found"),
    [
        ([FINE], True, ["1 of 1 packages looked at, 0 known"], False),
        ([FINE, SKIPPED], True, ["1 of 2 packages looked at", "NOT AUDITED: 1 packages (c)"], False),
        ([FINE, FINE], False, ["0 of 2 packages looked at", "NOT AUDITED: 2 packages (a, a)"], False),
        ([FINE, WEAK, SKIPPED], True, ["b 1: X-1, mended in 2", "2 of 3", "NOT AUDITED: 1"], True),
        ([SKIPPED] * 20, False, ["0 of 20 packages looked at", "and 12 more"], False),
    ],
)
def test_the_audit_says_what_it_did_not_look_at(
    root: Path, told: list[dict[str, Any]], sees: bool, said: list[str], found: bool
) -> None:
    lines, weak = module(root, "audit").report(told, sees=sees)
    assert weak is found
    assert not [words for words in said if not any(words in line for line in lines)], lines


def test_an_audit_without_an_answer_is_none(
    root: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    audit = module(root, "audit")
    monkeypatch.setattr(audit, "_asked", lambda _: (None, "no way out"))
    audit.main()
    assert capsys.readouterr().out.startswith("NOT AUDITED: no package was looked at")


def test_the_bill_of_materials_names_what_is_installed(root: Path, tmp_path: Path) -> None:
    target = tmp_path / "sbom.json"
    subprocess.run([sys.executable, root / ".ci" / "sbom.py", target], check=True, capture_output=True)
    bill = json.loads(target.read_text(encoding="utf-8"))
    named = {one["name"].casefold(): one for one in bill["components"]}
    assert bill["bomFormat"] == "CycloneDX" and {"pulp", "highspy", "fastapi"} <= named.keys()
    assert all(one["version"] and one["purl"].endswith(f"@{one['version']}") for one in named.values())
