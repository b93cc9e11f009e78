"""Gives mkdocs the order of the pages, and the references that are made from the code."""

from functools import cache
from itertools import groupby
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from api.app import create_app
from api.help.contents import entries, text
from api.help.reference import MADE


@cache
def described() -> dict[str, Any]:
    """Return the description of the API."""
    return create_app().openapi()


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Order the pages by chapters, as the contents do."""
    chapters = groupby(entries(), key=lambda one: one.chapter)
    config.nav = [
        {"Contents": "index.md"},
        *({name: [{one.title: f"{one.name}.md"} for one in pages]} for name, pages in chapters),
    ]
    return config


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the references."""
    for name in MADE:
        files.append(File.generated(config, f"{name}.md", content=text(name, described())))
    return files
