"""Reads samples/ as worked examples of the calls."""

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from api.http.answering import JSON

_FOLDER = Path(__file__).resolve().parent.parent / "samples"


@dataclass(frozen=True)
class Sample:
    """A request and its answer, with what is to be seen in them."""

    name: str
    path: str
    title: str
    about: str
    request: Mapping[str, Any]
    status: int
    answer: Mapping[str, Any]


@lru_cache(maxsize=1)
def samples() -> tuple[Sample, ...]:
    """Return every sample that has an answer, in the order of the index."""
    index = tomllib.loads((_FOLDER / "samples.toml").read_text(encoding="utf-8"))
    return tuple(
        _sample(name, entry)
        for name, entry in index.items()
        if (_FOLDER / "answers" / f"{name}.json").is_file()
    )


def _sample(name: str, entry: Mapping[str, str]) -> Sample:
    answer = _read(_FOLDER / "answers" / f"{name}.json")
    return Sample(
        name=name,
        path=f"/v1/{entry['call']}",
        title=entry["title"],
        about=entry["about"],
        request=_read(_FOLDER / f"{name}.json"),
        status=answer["status"],
        answer=answer["body"],
    )


def _read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def requests_of(route: str) -> dict[str, Any]:
    """Return the requests of the samples of a call by name, as OpenAPI writes examples."""
    return {one.name: _example(one, one.request) for one in samples() if one.path == f"/v1/{route}"}


def answers_of(route: str) -> dict[int | str, dict[str, Any]]:
    """Return the answers of the samples of a call by status and name, as OpenAPI writes responses."""
    found: dict[int | str, dict[str, Any]] = {}
    for one in samples():
        if one.path == f"/v1/{route}":
            content = found.setdefault(one.status, {}).setdefault("content", {JSON: {"examples": {}}})
            content[JSON]["examples"][one.name] = _example(one, one.answer)
    return found


def _example(sample: Sample, value: Any) -> dict[str, Any]:
    return {"summary": sample.title, "description": sample.about, "value": value}
