"""What lies in deploy/ is whole: the image, the composition, the proxy and the service agree with each other and the program."""

import importlib.util
import json
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.cli.options import parser
from api.settings import Settings
from helpers.server import Served

SERVICE = {
    "build": dict,
    "image": str,
    "restart": str,
    "init": bool,
    "read_only": bool,
    "tmpfs": list,
    "cap_drop": list,
    "security_opt": list,
    "environment": dict,
    "volumes": list,
    "networks": list,
    "depends_on": dict,
    "healthcheck": dict,
    "ports": list,
}


@pytest.fixture(scope="module")
def deploy(root: Path) -> Path:
    return root / "deploy"


@pytest.fixture(scope="module")
def steps(root: Path, deploy: Path) -> list[tuple[str, str]]:
    spec = importlib.util.spec_from_file_location("container", root / ".ci" / "container.py")
    assert spec is not None and spec.loader is not None
    sys.modules["container"] = module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return list(module.instructions((deploy / "Containerfile").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def composed(deploy: Path) -> dict[str, Any]:
    found = yaml.safe_load((deploy / "compose.yaml").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def last(steps: list[tuple[str, str]], word: str) -> str:
    return [said for one, said in steps if one == word][-1]


def understood(words: list[str]) -> bool:
    """Whether the command line knows these words; it leaves with a usage message where it does not."""
    program, *rest = words
    assert program.endswith("dough-advisor")
    return bool(parser(rest[0])[0].parse_args(rest).port)


def test_the_image_is_not_root_and_keeps_its_notebook_on_a_volume(steps: list[tuple[str, str]]) -> None:
    assert last(steps, "USER") != "root" and steps.index(("USER", last(steps, "USER"))) > steps.index(
        ("FROM", last(steps, "FROM"))
    )
    kept = re.search(r"DOUGH_NOTEBOOK=(\S+)", last(steps, "ENV"))
    assert kept is not None and Path(kept[1]).is_relative_to(last(steps, "VOLUME"))
    assert understood(json.loads(last(steps, "CMD")))


def test_the_image_installs_what_is_locked_by_hash_and_copies_only_what_its_context_holds(
    steps: list[tuple[str, str]], root: Path
) -> None:
    installs = [said for word, said in steps if word == "RUN" and "pip install" in said]
    assert installs[0].endswith("--require-hashes --only-binary :all: -r requirements.lock")
    assert all("--require-hashes" in said or "--no-deps" in said for said in installs)
    let_in = (root / ".dockerignore").read_text(encoding="utf-8").split()
    copied = [
        name for word, said in steps if word == "COPY" and "--from" not in said for name in said.split()[:-1]
    ]
    assert {f"!{name}" for name in copied} == {line for line in let_in if line.startswith("!")}
    assert all((root / name).exists() for name in copied)


def test_the_health_check_tells_a_server_that_works_from_none(
    steps: list[tuple[str, str]], tmp_path: Path
) -> None:
    said = last(steps, "HEALTHCHECK")
    command = json.loads(said[said.index("[") :])

    def healthy(port: int) -> bool:
        words = [word.replace("8000", str(port)) for word in command[1:]]
        return (
            subprocess.run([sys.executable, *words], stderr=subprocess.DEVNULL, check=False).returncode == 0
        )

    with Served(tmp_path / "notebook.db") as server:
        assert healthy(server.port)
        server.stop()
        assert not healthy(server.port)


def test_the_composition_has_the_shape_of_one(composed: dict[str, Any]) -> None:
    assert composed.keys() <= {"name", "services", "networks", "volumes"}
    for service in composed["services"].values():
        assert ("image" in service) and not service.keys() - SERVICE.keys()
        assert all(isinstance(value, SERVICE[name]) for name, value in service.items())
        assert set(service.get("networks", ())) <= composed["networks"].keys()
        named = {volume.split(":")[0] for volume in service.get("volumes", ())}
        assert {name for name in named if not name.startswith(".")} <= composed["volumes"].keys()
        for needed, how in service.get("depends_on", {}).items():
            assert needed in composed["services"]
            assert how == {"condition": "service_healthy"}


def test_only_the_proxy_is_reached_from_outside_and_the_database_by_none(
    composed: dict[str, Any], deploy: Path
) -> None:
    services = composed["services"]
    assert [name for name, service in services.items() if "ports" in service] == ["proxy"]
    assert not set(services["proxy"]["networks"]) & set(services["database"]["networks"])
    assert composed["networks"][services["database"]["networks"][0]] == {"internal": True}
    assert "reverse_proxy server:8000" in (deploy / "Caddyfile").read_text(encoding="utf-8")


def test_the_files_it_names_are_there_and_its_settings_are_known(
    composed: dict[str, Any], deploy: Path
) -> None:
    server = composed["services"]["server"]
    assert (deploy / server["build"]["context"] / server["build"]["dockerfile"]).is_file()
    assert (deploy / composed["services"]["proxy"]["volumes"][0].split(":")[0]).is_file()
    given = {"DOUGH_HOST": "dough.example", "DOUGH_PASSWORD": "0f"}
    read = Settings.read(filled(server["environment"], given))
    assert read.notebook == "postgresql://dough:0f@database/dough"
    assert "dough.example" in read.hosts and read.nightly_copies == 7
    assert read.copies_folder is not None
    assert any(Path(read.copies_folder).is_relative_to(volume.split(":")[1]) for volume in server["volumes"])
    assert all(name in (Settings.read.__doc__ or "") for name in server["environment"])


def filled(environment: Mapping[str, str], given: Mapping[str, str]) -> dict[str, str]:
    """Return the variables of a service as they are with those of the shell."""
    return {
        name: re.sub(r"\$\{(\w+)[^}]*\}", lambda found: given[found[1]], value)
        for name, value in environment.items()
    }


def test_the_unit_starts_what_there_is_and_nothing_of_it_is_unknown(deploy: Path, tmp_path: Path) -> None:
    text = (deploy / "dough-advisor.service").read_text(encoding="utf-8")
    started = shlex.split(re.findall(r"^ExecStart=(.+)$", text, re.MULTILINE)[0])
    assert understood(started)
    assert re.findall(r"^User=(.+)$", text, re.MULTILINE) == ["dough"]
    told = Settings.read(dict(re.findall(r"\b(DOUGH_\w+)=(\S+)", text)))
    assert told.notebook.startswith("%S/dough-advisor/") and told.nightly_copies == 7
    if shutil.which("systemd-analyze") is None:
        return
    there = tmp_path / "dough-advisor.service"
    there.write_text(text.replace(started[0], sys.executable), encoding="utf-8")
    verified = subprocess.run(
        ["systemd-analyze", "verify", str(there)], capture_output=True, text=True, check=False
    )
    assert "dough-advisor.service" not in verified.stderr, verified.stderr
    assert verified.returncode == 0
