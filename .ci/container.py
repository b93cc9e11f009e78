"""Proves deploy/Containerfile without a container engine: its steps run in roots of their own.

Every stage is an overlay of this machine, on which nothing is written, or a copy of an empty Debian
(``--debian``, which needs debootstrap; a root made before may be named after it). RUN, COPY, USER and
WORKDIR are done there by chroot. Then the command of the image is started as its user, and asked by its own
health check. It needs root, and mounts that are allowed; where they are not that is said, and nothing is
claimed.
"""

import json
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from tests.helpers.server import free_port

ROOT = Path(__file__).resolve().parent.parent
CONTAINERFILE = ROOT / "deploy" / "Containerfile"
DEBIAN = ("debootstrap", "--variant=minbase", "--include=python3,python3-venv,ca-certificates", "trixie")
PATH = "/usr/local/bin:/usr/bin:/bin:/usr/sbin:/sbin"
CERTIFICATES = "/etc/ssl/certs/ca-certificates.crt"
LENT = (
    f"PIP_CERT={CERTIFICATES}",
    *(f"{name}={os.environ[name]}" for name in ("PIP_INDEX_URL", "HTTPS_PROXY") if name in os.environ),
)
NULL = (0o20666, (1, 3))
START_SECONDS = 60.0
PORT = "8000"
_MIB = 1024 * 1024

Rooted = Callable[[Path], Path]
"""Makes a root to work in of an empty folder."""


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
            *("/usr/bin/env", "-i", "-C", self.folder, f"PATH={PATH}", *variables),
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
    if os.geteuid() != 0:
        print("deploy/Containerfile was not tried: that needs root")
        return
    with ExitStack() as mounted:
        made = Path(mounted.enter_context(tempfile.TemporaryDirectory(prefix="container-")))
        try:
            rooted = of_debian(made) if "--debian" in sys.argv else over_this_machine(mounted)
            stage = build(made, rooted)
        except CannotMount as missing:
            print(f"deploy/Containerfile was not tried: {missing}")
            return
        print(f"the image brings {megabytes(stage.root / 'opt' / 'dough-advisor')} MB")
        started(stage)


class CannotMount(Exception):
    """Roots of its own cannot be made here."""


def of_debian(made: Path) -> Rooted:
    """Return what copies a small Debian: one that is named, or one made now."""
    debian = Path(sys.argv[2] if len(sys.argv) > 2 else f"{made}/debian")
    if not debian.exists():
        run([*DEBIAN, str(debian)])

    def rooted(folder: Path) -> Path:
        run(["cp", "-a", str(debian), str(folder / "root")])
        return folder / "root"

    return rooted


def over_this_machine(mounted: ExitStack) -> Rooted:
    """Return what lays an empty layer over this machine; with its end the layers are taken off."""

    def rooted(folder: Path) -> Path:
        layers = [folder / name for name in ("root", "written", "work")]
        for layer in layers:
            layer.mkdir()
        root, written, work = map(str, layers)
        how = f"lowerdir=/,upperdir={written},workdir={work}"
        words = ["/bin/mount", "-t", "overlay", "overlay", "-o", how, root]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        if done.returncode:
            raise CannotMount(done.stderr.strip())
        mounted.callback(run, ["umount", root])
        null = layers[0] / "dev" / "null"
        if not null.exists():
            os.mknod(null, NULL[0], os.makedev(*NULL[1]))
        return layers[0]

    return rooted


def build(made: Path, rooted: Rooted) -> Stage:
    """Do every instruction; return the last stage."""
    stages: dict[str, Stage] = {}
    stage = Stage(made)
    for number, (word, said) in enumerate(instructions(CONTAINERFILE.read_text(encoding="utf-8"))):
        if word == "FROM":
            folder = made / f"stage-{number}"
            folder.mkdir()
            stage = stages[said.partition(" AS ")[2]] = Stage(rooted(folder))
            for settings in (CERTIFICATES, "/etc/resolv.conf", "/etc/hosts"):
                shutil.copy(settings, f"{stage.root}{settings}")
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
            path = stage.environment.get("PATH", PATH)
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
    port = str(free_port())
    command, health = (
        [word.replace(PORT, port) for word in words] for words in (stage.command, stage.health)
    )
    server = subprocess.Popen(stage.words(command), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    began = time.monotonic()
    try:
        while subprocess.run(stage.words(health), stderr=subprocess.DEVNULL, check=False).returncode:
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
