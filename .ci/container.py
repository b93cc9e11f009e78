"""Proves deploy/Containerfile without a container engine: its steps run in the roots of an empty Debian.

Every stage is a copy of one small Debian with its Python; RUN, COPY, USER and WORKDIR are done there by
chroot. Then the command of the image is started as its user, and asked by its own health check. It needs
root and debootstrap; where one is missing that is said, and nothing is claimed. A root made before may be
named.
"""

import json
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CONTAINERFILE = ROOT / "deploy" / "Containerfile"
DEBIAN = ("debootstrap", "--variant=minbase", "--include=python3,python3-venv,ca-certificates", "trixie")
CERTIFICATES = "/etc/ssl/certs/ca-certificates.crt"
LENT = (
    f"PIP_CERT={CERTIFICATES}",
    *(f"{name}={os.environ[name]}" for name in ("PIP_INDEX_URL", "HTTPS_PROXY") if name in os.environ),
)
START_SECONDS = 60.0
_MIB = 1024 * 1024


@dataclass
class Stage:
    """One stage of an image: its root, and what was set in it."""

    root: Path
    user: str = "root"
    folder: str = "/"
    environment: dict[str, str] = field(default_factory=dict)
    health: list[str] = field(default_factory=list)
    command: list[str] = field(default_factory=list)

    def words(self, command: list[str]) -> list[str]:
        """Return the words that run a command in the root as its user."""
        variables = [f"{name}={value}" for name, value in self.environment.items()]
        return [
            *("chroot", f"--userspec={self.user}", str(self.root)),
            *("/usr/bin/env", "-i", "-C", self.folder, "PATH=/usr/bin:/bin:/usr/sbin:/sbin", *variables),
            *command,
        ]


def instructions(text: str) -> Iterator[tuple[str, str]]:
    """Yield each instruction of a Containerfile with what it says, lines joined and remarks left out."""
    lines = (line for line in text.splitlines() if line.strip() and not line.startswith("#"))
    for line in "\n".join(lines).replace("\\\n", " ").splitlines():
        word, _, rest = line.partition(" ")
        yield word, rest.strip()


def main() -> None:
    """Build in a folder of its own, start, ask, and tell sizes; leave with a message where a step fails."""
    if os.geteuid() != 0 or shutil.which("debootstrap") is None:
        print("deploy/Containerfile was not tried: that needs root and debootstrap")
        return
    with tempfile.TemporaryDirectory(prefix="container-") as made:
        debian = Path(sys.argv[1] if len(sys.argv) > 1 else f"{made}/debian")
        if not debian.exists():
            run([*DEBIAN, str(debian)])
        for settings in (CERTIFICATES, "/etc/resolv.conf", "/etc/hosts"):
            shutil.copy(settings, f"{debian}{settings}")
        stage = build(debian, Path(made))
        before, after = (megabytes(root) for root in (debian, stage.root))
        print(f"the image is {after - before} MB more than its Debian of {before} MB")
        started(stage)


def build(debian: Path, folder: Path) -> Stage:
    """Do every instruction; return the last stage."""
    stages: dict[str, Stage] = {}
    stage = Stage(debian)
    for number, (word, said) in enumerate(instructions(CONTAINERFILE.read_text(encoding="utf-8"))):
        if word == "FROM":
            stage = Stage(folder / f"stage-{number}")
            run(["cp", "-a", str(debian), str(stage.root)])
            stages[said.partition(" AS ")[2]] = stage
        else:
            do(word, said, stage, stages)
    return stage


def do(word: str, said: str, stage: Stage, stages: dict[str, Stage]) -> None:
    """Do one instruction in a stage."""
    match word:
        case "RUN":
            began = time.monotonic()
            run(stage.words([*LENT, "/bin/sh", "-c", said]))
            print(f"{time.monotonic() - began:6.1f} s  {said[:90]}")
        case "COPY":
            copy(said.split(), stage, stages)
        case "ENV":
            pairs = (pair.partition("=") for pair in shlex.split(said))
            path = stage.environment.get("PATH", "/usr/local/bin:/usr/bin:/bin")
            stage.environment |= {name: value.replace("$PATH", path) for name, _, value in pairs}
        case "WORKDIR":
            stage.folder = said
            (stage.root / said.lstrip("/")).mkdir(parents=True, exist_ok=True)
        case "USER":
            stage.user = said
        case "HEALTHCHECK":
            stage.health = json.loads(said[said.index("[") :])
        case "CMD":
            stage.command = json.loads(said)
        case "VOLUME" | "EXPOSE" | "STOPSIGNAL":
            pass
        case _:
            sys.exit(f"{word} is no instruction that is tried here")


def copy(words: list[str], stage: Stage, stages: dict[str, Stage]) -> None:
    """Copy from the checkout, or from an earlier stage."""
    came = [word for word in words if word.startswith("--from=")]
    whence = stages[came[0].removeprefix("--from=")].root if came else ROOT
    *names, target = words[len(came) :]
    place = stage.root / (Path(stage.folder) / target).relative_to("/")
    for name in names:
        what = whence / name.lstrip("/")
        if what.is_dir():
            shutil.copytree(what, place, symlinks=True, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(what, place)


def started(stage: Stage) -> None:
    """Start the command of the image, wait until its health check is content, and end it by a signal."""
    server = subprocess.Popen(stage.words(stage.command), stdout=subprocess.DEVNULL)
    began = time.monotonic()
    try:
        while subprocess.run(stage.words(stage.health), stderr=subprocess.DEVNULL, check=False).returncode:
            if server.poll() is not None or time.monotonic() - began > START_SECONDS:
                sys.exit("the image does not start, or its health check does not see that it has")
            time.sleep(0.2)
        owner = Path(f"/proc/{server.pid}").stat().st_uid
        print(f"healthy after {time.monotonic() - began:.1f} s, as user {owner}")
    finally:
        server.terminate()
        server.wait(START_SECONDS)
    if owner == 0:
        sys.exit("the image runs as root")


def megabytes(folder: Path) -> int:
    """Return how much a folder holds."""
    files = (path for path in folder.rglob("*") if path.is_file() and not path.is_symlink())
    return round(sum(path.stat().st_size for path in files) / _MIB)


def run(command: list[str]) -> None:
    """Run a command to its end; leave with what it said where it fails."""
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"{shlex.join(command)}\n{done.stdout[-4000:]}{done.stderr[-4000:]}")


if __name__ == "__main__":
    main()
