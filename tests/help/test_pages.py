"""The pages of the help hang together, and say what the page and the code say."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from advisor.cli.options import parser
from advisor.registry import TASKS
from api.help.contents import entries, text
from api.help.reference import MADE
from api.help.rendering import slug

LINK = re.compile(r"\]\(([^)#]*)(?:#([^)]+))?\)")
ROOT = Path(__file__).resolve().parents[2]


def of(name: str, client: TestClient) -> str:
    app = client.app
    assert isinstance(app, FastAPI)
    return text(name, app.openapi())


def test_every_page_stands_once_in_the_contents(folder: Path) -> None:
    named = [one.name for one in entries()]
    written = {str(path.relative_to(folder).with_suffix("")) for path in folder.rglob("*.md")}
    assert len(named) == len(set(named))
    assert {"index", *named} == written | MADE.keys()


def test_every_link_leads_somewhere(folder: Path, client: TestClient) -> None:
    pages = {"index", *(one.name for one in entries())}
    for name in sorted(pages - {"reference/rules"}):
        for address, part in LINK.findall(
            re.sub(r"`[^`\n]*`|```.*?```", "", of(name, client), flags=re.DOTALL)
        ):
            if "://" not in address:
                target = str((folder / name).parent.joinpath(address).resolve().relative_to(folder.resolve()))
                assert target.removesuffix(".md") in pages, (name, address)
                heads = re.findall(r"^#+ (.+)$", of(target.removesuffix(".md"), client), re.MULTILINE)
                assert not part or part in map(slug, heads), (name, part)


def test_what_is_named_of_the_page_is_a_word_of_the_page(folder: Path) -> None:
    words = set(leaves(json.loads((ROOT / "api/page/texts/en.json").read_text(encoding="utf-8"))))
    said = [
        (path.stem, word)
        for path in folder.rglob("*.md")
        for line in re.findall(r"^On the page: .*$", path.read_text(encoding="utf-8"), re.MULTILINE)
        for word in re.findall(r"\*([^*]+)\*", line)
    ]
    assert len(said) > 20
    assert not [one for one in said if one[1] not in words]


def leaves(texts: object) -> list[str]:
    return (
        [word for inner in texts.values() for word in leaves(inner)]
        if isinstance(texts, dict)
        else [str(texts)]
    )


def test_every_task_and_job_has_its_how_to(folder: Path) -> None:
    told = "".join(path.read_text(encoding="utf-8") for path in folder.rglob("*.md"))
    missing = [one.name for one in TASKS if one.sample and f"dough-advisor {one.asked_as} " not in told]
    assert not missing, missing


def test_the_references_name_all_there_is(client: TestClient) -> None:
    command = of("reference/command-line", client)
    assert not [verb for verb in parser("")[1] if f"## {verb}\n" not in command]
    python = of("reference/python", client)
    assert not [one.name for one in TASKS if f"## advisor.{one.name}\n" not in python]
    app = client.app
    assert isinstance(app, FastAPI)
    described = of("reference/api", client)
    assert not [path for path in app.openapi()["paths"] if f" {path}`" not in described]


def test_every_variable_that_is_read_is_in_the_table_of_settings(client: TestClient) -> None:
    table = of("reference/settings", client)
    read = {
        name
        for package in ("advisor", "api")
        for path in (ROOT / package).rglob("*.py")
        for name in re.findall(r"\bDOUGH_[A-Z_]+\b", path.read_text(encoding="utf-8"))
    }
    assert len(read) > 10
    assert not [name for name in sorted(read) if table.count(f"| `{name}` |") != 1]


def test_no_word_of_the_glossary_stands_twice(folder: Path) -> None:
    glossary = (folder / "glossary.md").read_text(encoding="utf-8")
    words = re.findall(r"^\| ([^|]+) \| ", glossary, re.MULTILINE)
    words = [word for entry in words for word in entry.split(", ") if entry != "word"]
    assert len(words) > 60
    assert sorted(words) == sorted(set(words))


@pytest.mark.slow
def test_the_site_is_built_whole_and_asks_no_other_host(tmp_path: Path) -> None:
    command = [
        "-m",
        "mkdocs",
        "build",
        "--quiet",
        "--strict",
        "-f",
        "docs/mkdocs.yml",
        "-d",
        str(tmp_path / "site"),
    ]
    built = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert built.returncode == 0, built.stderr
    for one in entries():
        page = (tmp_path / "site" / f"{one.name}.html").read_text(encoding="utf-8")
        assert not re.findall(r'<(?:script|link|img)[^>]*(?:src|href)="(?:https?:)?//', page), one.name
