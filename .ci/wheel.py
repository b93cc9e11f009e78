"""Proves the wheel: built the same twice, complete, and the same answers wherever it is run.

The wheel goes into a clean environment and answers a sample from an empty folder and from a folder that
holds strangers' packages of the names ``rules``, ``samples`` and ``api``; by the console script, by
``python -m`` and over HTTP. Every answer must be the one that this checkout gives.
"""

import argparse
import hashlib
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
import venv
import zipfile
from pathlib import Path
from typing import Any

from running import run

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("advisor", "api", "rules", "samples")
MUST_CARRY = ("rules/*.toml", "rules/materials/*.toml", "samples/*.json")
START_SECONDS = 30
STRANGER = '"""Of another house."""\n'
DECOYS = {
    "rules/__init__.py": STRANGER,
    "samples/__init__.py": STRANGER,
    "api/__init__.py": STRANGER,
    "api/app.py": f'{STRANGER}\nraise SystemExit("the api of another house")\n',
}
DIRECTLY = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def main() -> None:
    """Build the wheel of this checkout and hold its answers against the checkout's own."""
    parser = argparse.ArgumentParser(description="Build the wheel and run it away from here.")
    parser.add_argument("sample", help="a request for a correction, as a path inside this checkout")
    sample = Path(parser.parse_args().sample)
    with tempfile.TemporaryDirectory(prefix="wheel-") as folder:
        check(sample, Path(folder))


def check(sample: Path, folder: Path) -> None:
    """Build, install and run; leave with a message where something differs."""
    wheel = build(folder / "dist")
    if digests(wheel.parent) != digests(build(folder / "again").parent):
        sys.exit("what is built twice from the same checkout differs")
    print(f"{wheel.parent.name}/ is the same when it is built again")
    missing = left_out(wheel)
    if missing:
        sys.exit(f"{wheel.name} lacks {', '.join(missing)}")
    print(f"{wheel.name} is complete")

    bin_folder = install(wheel, folder / "venv")
    installed_sample = packages_folder(bin_folder) / sample
    empty, decoyed = folder / "empty", folder / "decoyed"
    empty.mkdir()
    lay_decoys(decoyed)

    expected = answer([sys.executable, "-m", "advisor"], ROOT / sample, ROOT)
    for place in (empty, decoyed):
        for command in ([str(bin_folder / "dough-advisor")], [str(bin_folder / "python"), "-m", "advisor"]):
            whence = f"{' '.join(command)} in the folder {place.name}"
            compare(expected, answer(command, installed_sample, place), whence)
            compare(expected, serve_one(command, installed_sample, place), f"the server of {whence}")
    print(f"the same answer from everywhere, rules {expected['rules_version']}")


def build(into: Path) -> Path:
    """Build the source archive, and from it the wheel; return the wheel."""
    _run([sys.executable, "-m", "build", "--outdir", str(into), str(ROOT)])
    (wheel,) = into.glob("*.whl")
    return wheel


def digests(folder: Path) -> dict[str, str]:
    """Return what each file that was built hashes to."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def left_out(wheel: Path) -> list[str]:
    """Name the files of the packages, and the kinds of data file, that the wheel does not carry."""
    carried = zipfile.ZipFile(wheel).namelist()
    tracked = _run(["git", "ls-files", "-z", "--", *PACKAGES]).split("\0")
    kinds = [kind for kind in MUST_CARRY if not any(Path(name).match(kind) for name in carried)]
    return kinds + sorted(name for name in set(tracked) - set(carried) if name)


def install(wheel: Path, into: Path) -> Path:
    """Install the wheel alone into a clean environment; return its folder of commands."""
    venv.create(into, with_pip=True)
    bin_folder = into / "bin"
    options = ["--quiet", "--no-input", "--disable-pip-version-check"]
    _run([str(bin_folder / "python"), "-m", "pip", "install", *options, str(wheel)])
    return bin_folder


def packages_folder(bin_folder: Path) -> Path:
    """Return the folder that the environment installs packages in."""
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    return Path(_run([str(bin_folder / "python"), "-I", "-c", ask]).strip())


def lay_decoys(folder: Path) -> None:
    """Fill a folder with strangers' packages: every data file of ours is there, and says something else."""
    strangers = dict(DECOYS)
    for suffix, text in ((".toml", 'house = "another"\n'), (".csv", "house\nanother\n"), (".json", "{}\n")):
        for file in (*ROOT.glob(f"rules/**/*{suffix}"), *ROOT.glob(f"samples/**/*{suffix}")):
            strangers[str(file.relative_to(ROOT))] = text
    for name, text in strangers.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def answer(command: list[str], sample: Path, place: Path) -> dict[str, Any]:
    """Run ``correct`` on the sample in a folder and return what it answers."""
    return dict(json.loads(_run([*command, "correct", str(sample), "--json"], place)))


def serve_one(command: list[str], sample: Path, place: Path) -> dict[str, Any]:
    """Start the server in a folder, post the sample, stop the server and return what it answered."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/v1/corrections",
        data=sample.read_bytes(),
        headers={"Content-Type": "application/json"},
    )
    told = place.parent / "served.log"
    with told.open("wb") as log:
        server = subprocess.Popen(
            [*command, "serve", "--port", str(port)],
            cwd=place,
            env=environment(),
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            return dict(json.loads(patiently(request, server)))
        except OSError as refused:
            sys.exit(f"no answer over HTTP: {refused}\n{told.read_text(encoding='utf-8')}")
        finally:
            server.terminate()
            server.wait(START_SECONDS)


def patiently(request: urllib.request.Request, server: subprocess.Popen[bytes]) -> bytes:
    """Send a request to a server that may still be starting."""
    deadline = time.monotonic() + START_SECONDS
    while True:
        try:
            with DIRECTLY.open(request, timeout=START_SECONDS) as response:
                return bytes(response.read())
        except urllib.error.HTTPError as problem:
            raise OSError(f"{problem}: {problem.read().decode()}") from problem
        except urllib.error.URLError:
            if server.poll() is not None or time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def compare(expected: dict[str, Any], given: dict[str, Any], whence: str) -> None:
    """Leave with a message where two answers differ."""
    differing = sorted(
        name for name in expected.keys() | given.keys() if expected.get(name) != given.get(name)
    )
    if differing:
        sys.exit(f"{whence} differs from this checkout in {', '.join(differing)}")


def environment() -> dict[str, str]:
    """Return the environment without what would lead Python back into this checkout."""
    return {
        name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL_ENV"))
    }


def _run(command: list[str], place: Path = ROOT) -> str:
    return run(command, place, environment())


if __name__ == "__main__":
    main()
