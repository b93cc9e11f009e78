"""HTTPS, by the server itself or by a proxy before it: the cookie is for this host and for encrypted pages only."""

import re
import ssl
from pathlib import Path

import httpx
import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
from api.app import create_app
from api.notebook.sharing import share
from api.settings import Settings
from helpers.server import Served, free_port

CERTIFICATE = Path(__file__).with_name("localhost.pem")
FLAGS = {"httponly", "secure", "samesite=strict", "path=/"}


def flags(cookie: str) -> set[str]:
    """Return what is said of a cookie besides name, value and age."""
    return {part.strip().casefold() for part in cookie.split(";")[1:]}


class EncryptedServer(Served):
    """A server that is asked over HTTPS."""

    context = ssl.create_default_context(cafile=str(CERTIFICATE))

    def _answers(self) -> bool:
        try:
            return httpx.get(f"https://127.0.0.1:{self.port}/health", verify=self.context).status_code == 200
        except httpx.TransportError:
            return False


def test_the_phone_comes_in_over_https(tmp_path: Path) -> None:
    command = ("-m", "advisor", "serve", "--share", "--port", "{port}", "--cert", str(CERTIFICATE))
    with EncryptedServer(tmp_path / "shop.sqlite3", command, tmp_path) as server:
        said = server.said()
        code = re.findall(rf"https://127.0.0.1:{server.port}/join\?code=(\S+)", said)[0]
        assert "not encrypted" not in said
        with httpx.Client(base_url=f"https://127.0.0.1:{server.port}", verify=server.context) as phone:
            joined = phone.post("/join", data={"code": code})
            cookie = joined.headers["set-cookie"]
            assert cookie.startswith("__Host-dough_key=")
            assert flags(cookie) >= FLAGS
            assert not [flag for flag in flags(cookie) if flag.startswith("domain")]
            assert phone.get("/v1/doughs").status_code == 200
            plain = {"Cookie": cookie.partition(";")[0].removeprefix("__Host-")}
            assert (
                httpx.get(f"{phone.base_url}/v1/doughs", headers=plain, verify=server.context).status_code
                == 401
            )


def test_behind_a_proxy_that_ends_https_the_cookie_is_the_same(tmp_path: Path) -> None:
    settings = Settings(notebook=str(tmp_path / "shop.sqlite3"))
    codes = [link.partition("code=")[2] for link in share(settings, devices=2).links]
    proxied = {"X-Forwarded-Proto": "https"}
    with TestClient(create_app(settings), follow_redirects=False) as client:
        over_https = client.post("/join", data={"code": codes[0]}, headers=proxied).headers["set-cookie"]
        plain = client.post("/join", data={"code": codes[1]}).headers["set-cookie"]
        client.cookies.clear()
        sent = {"Cookie": over_https.partition(";")[0]}
        assert client.get("/v1/doughs", headers={**sent, **proxied}).status_code == 200
        assert client.get("/v1/doughs", headers=sent).status_code == 401
    assert over_https.startswith("__Host-dough_key=")
    assert flags(over_https) >= FLAGS
    assert plain.startswith("dough_key=")
    assert "secure" not in flags(plain)


@pytest.mark.parametrize(
    ("options", "word"),
    [
        (("--cert", "no-such.pem"), "No such file"),
        (("--cert", __file__), "cannot be used"),
        (("--key", "a.pem"), "--cert"),
    ],
)
def test_a_certificate_that_cannot_be_used_is_refused_in_one_sentence(
    options: tuple[str, str],
    word: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["serve", "--port", str(free_port()), "--notebook", "shop.sqlite3", *options]) == 2
    told = capsys.readouterr().err
    assert word in told
    assert told.count("\n") == 1


def test_a_proxy_on_this_machine_speaks_for_others_and_needs_a_key(tmp_path: Path) -> None:
    settings = Settings(notebook=str(tmp_path / "shop.sqlite3"))
    with TestClient(create_app(settings)) as client:
        assert client.get("/v1/doughs").status_code == 200
        for header in ({"X-Forwarded-For": "203.0.113.9"}, {"Forwarded": "for=203.0.113.9"}):
            assert client.get("/v1/doughs", headers=header).status_code == 401
            assert client.get("/metrics", headers=header).status_code == 401
