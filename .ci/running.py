"""Runs a command of these scripts to its end, or ends with what it said."""

import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path


def run(command: Sequence[Path | str], place: Path, environment: Mapping[str, str]) -> str:
    """Run a command to its end and return its output; leave with what it said where it fails."""
    done = subprocess.run(
        command,
        cwd=place,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        told = f"{' '.join(map(str, command))} in {place} ended with {done.returncode}"
        sys.exit(f"{told}\n{done.stdout}{done.stderr}")
    return done.stdout
