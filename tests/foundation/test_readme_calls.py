"""What the README shows of calls from other tools is answered as it says."""

import re
import shlex
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
import yaml
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings

ADDRESS = "http://127.0.0.1:8000"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(notebook=str(tmp_path / "shop.sqlite3")))) as client:
        yield client


def test_every_curl_is_answered(readme: str, root: Path, shop: TestClient) -> None:
    commands = re.findall(r"^curl [^\n]+$", readme, re.MULTILINE)
    assert len(commands) >= 3
    for command in commands:
        words = shlex.split(command)
        [url] = [word for word in words if word.startswith(ADDRESS)]
        pairs = list(pairwise(words))
        headers = dict(word.split(": ") for option, word in pairs if option == "-H")
        sent = [word[1:] for option, word in pairs if option == "-d"]
        body = (root / sent[0]).read_bytes() if sent else None
        told = shop.request(
            "POST" if sent else "GET", url.removeprefix(ADDRESS), headers=headers, content=body
        )
        assert told.status_code == 200, command
        assert told.headers["content-type"].partition(";")[0] == headers.get("Accept", "application/json")


def test_the_query_of_a_spreadsheet_names_columns_there_are(readme: str, shop: TestClient) -> None:
    [query] = re.findall(r"^let\n.*?^in\n", readme, re.MULTILINE | re.DOTALL)
    address = re.findall(rf'Contents\("{ADDRESS}([^"]+)"', query)[0]
    head = shop.get(address, headers={"Accept": "text/csv"}).text.splitlines()[0].split(",")
    typed = re.findall(r'\{"(\w+)", type', query)
    assert len(typed) == 2 and set(typed) <= set(head)


def test_a_home_automation_reads_the_rack_and_writes_a_dough(readme: str, shop: TestClient) -> None:
    said = {
        key: value
        for block in re.findall(r"```yaml\n(.*?)```", readme, re.DOTALL)
        for key, value in yaml.safe_load(block).items()
    }
    [sensor] = said["rest"]
    told = shop.get(sensor["resource"].removeprefix(ADDRESS)).json()
    assert set(sensor["sensor"][0]["json_attributes"]) <= told.keys()
    [command] = said["rest_command"].values()
    headers = {"Content-Type": command["content_type"]}
    written = shop.post(command["url"].removeprefix(ADDRESS), headers=headers, content=command["payload"])
    assert written.status_code == 201
