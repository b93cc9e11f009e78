"""The example scripts of other shop tools run against a server and say what they promise."""

import socket
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn

from api.app import create_app
from samples import costing_tool, label_tool, stock_tool


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        server = uvicorn.Server(uvicorn.Config(create_app(), log_config=None, ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        server.should_exit = True
        thread.join()


def test_the_stock_tool_tells_touched_from_untouched(
    address: str, capsys: pytest.CaptureFixture[str]
) -> None:
    stock_tool.main(address)
    weir, orchard = capsys.readouterr().out.splitlines()
    assert (
        weir.startswith("Weir bar: ")
        and "instead" in weir
        and "betaine-30" not in weir.partition(";")[2].split()
    )
    assert orchard == "Orchard bar: not touched"


def test_the_label_tool_says_what_moved(address: str, capsys: pytest.CaptureFixture[str]) -> None:
    label_tool.main(address)
    told = capsys.readouterr().out.splitlines()
    assert told[0].count(",") >= 4
    assert told[1].startswith(("Print it anew: ", "The printed list stays true."))


def test_the_costing_tool_finds_the_cheaper_bar(address: str, capsys: pytest.CaptureFixture[str]) -> None:
    costing_tool.main(address)
    head, *changes = capsys.readouterr().out.splitlines()
    before, after = (
        float(word) for word in head.replace(",", " ").split() if word.replace(".", "").isdigit()
    )
    assert after < before
    assert changes
