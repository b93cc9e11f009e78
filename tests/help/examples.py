"""Runs what the help shows: commands, calls of the API, Python, and the shape of what they answer."""

import doctest
import json
import re
import shlex
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from tests.foundation.shown import typed

FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
ADDRESS = "http://127.0.0.1:8000"


def run(text: str, client: TestClient, name: str) -> int:
    """Run every example of a page, in the folder that is the working one; return how many there were."""
    answer: Any = None
    ran, knows = 0, {"__name__": name}
    for language, block in FENCE.findall(text):
        if language == "sh":
            for line in block.splitlines():
                answer = _command(line, client)
                ran += 1
        elif language == "python" and ">>>" in block:
            _python(block, knows, name)
            ran += 1
        elif language == "json":
            differs = list(unlike(json.loads(block), answer))
            assert not differs, (name, differs)
    return ran


def _command(line: str, client: TestClient) -> Any:
    if not line.startswith("curl "):
        code, out = typed(line)
        assert code == 0, (line, out)
        return out
    method, address, headers, body = read_curl(line)
    answered = client.request(method, address, headers=headers, content=body)
    assert answered.status_code < 300, (line, answered.text)
    return answered.json() if "json" in answered.headers["content-type"] else answered.text


def read_curl(line: str) -> tuple[str, str, dict[str, str], bytes | None]:
    """Return method, path, headers and body of a curl command; what it does not know is a fault."""
    words = iter(shlex.split(line)[1:])
    method, address, headers, body = "", "", {}, None
    for word in words:
        if word == "-s":
            continue
        if word.startswith(ADDRESS):
            address = word.removeprefix(ADDRESS)
        elif word == "-X":
            method = next(words)
        elif word == "-H":
            name, _, value = next(words).partition(": ")
            headers[name] = value
        elif word == "-d":
            given = next(words)
            body = Path(given[1:]).read_bytes() if given.startswith("@") else given.encode()
        else:
            raise ValueError(f"{word} is no option that the examples use.")
    return method or ("GET" if body is None else "POST"), address, headers, body


def unlike(shown: Any, real: Any, place: str = "") -> Any:
    """Yield where an excerpt of an answer has a field or a kind of value that the answer has not."""
    if isinstance(shown, dict):
        if not isinstance(real, dict):
            yield f"{place} is no object"
            return
        for name, value in shown.items():
            if name in real:
                yield from unlike(value, real[name], f"{place}/{name}")
            else:
                yield f"{place}/{name} is not in the answer"
    elif isinstance(shown, list):
        if not isinstance(real, list):
            yield f"{place} is no list"
        elif shown and real:
            yield from unlike(shown[0], real[0], f"{place}/0")
        elif shown:
            yield f"{place} is empty"
    elif isinstance(shown, bool) or shown is None or isinstance(real, bool):
        if type(shown) is not type(real):
            yield f"{place} is {real!r}"
    elif isinstance(shown, int | float) != isinstance(real, int | float) or real is None:
        yield f"{place} is {real!r}"


def _python(block: str, knows: dict[str, Any], name: str) -> None:
    test = doctest.DocTestParser().get_doctest(block, knows, name, None, None)
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    found = runner.run(test, out=told.append, clear_globs=False)
    knows.update(test.globs)
    assert not found.failed, "".join(told)
