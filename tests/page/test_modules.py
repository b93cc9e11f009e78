"""The page's pure modules, tested in node's own runner."""

import shutil
import subprocess
from pathlib import Path

import pytest

MODULES = Path(__file__).resolve().parent / "modules"


def test_pure_modules_hold() -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("the page's modules are tested with node, which is missing here; .ci/run insists on it")
    done = subprocess.run(
        [node, "--no-warnings", "--test", *map(str, sorted(MODULES.glob("*.test.js")))],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
