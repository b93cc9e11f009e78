"""``make mutate``: changes figures of the rules one by one and asks whether a test falls.

Mutants that fall over a checksum alone, or over nothing, stand in survivors.txt, a list that may only shrink.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Literal

from tests.mutate.walk import Mutant, mutants

ROOT = Path(__file__).resolve().parents[2]
SURVIVORS = Path(__file__).with_name("survivors.txt")
LEAST = 0.95
Fell = Literal["meaning", "checksum", "nothing"]
# The tests that read a file, by the beginning of its path; the quick ones of all files come first.
FIRST = ("tests/rulebook", "tests/samples/test_samples.py")
TESTS = {
    "law/": ("tests/law", "tests/outside/test_law.py"),
    "substances": ("tests/outside/test_law.py", "tests/outside/test_acidity.py"),
    "materials/": ("tests/rulebook", "tests/samples"),
    "label": ("tests/outside/test_labels.py",),
    "drying": ("tests/outside/test_drying.py",),
    "weighing": ("tests/weighing", "tests/outside/test_weighing.py"),
    "bowl": ("tests/bowl", "tests/outside/test_bowl.py"),
    "substitution": ("tests/substitution",),
    "acidity": ("tests/outside/test_acidity.py",),
    "strength": ("tests/outside/test_strength.py",),
    "pairs": ("tests/case", "tests/substitution"),
    "cautions": ("tests/case", "tests/law/test_age.py"),
}
OTHERS = ("tests/case", "tests/correction", "tests/demands", "tests/recipe", "tests/learning")


CHECKSUMS = ("tests/rulebook/test_checksums.py",)


def tests_of(file: str) -> Iterator[tuple[str, ...]]:
    """Return what to run for a file, the quickest first."""
    yield FIRST
    yield next((found for start, found in TESTS.items() if file.startswith(start)), OTHERS)


def falls(mutant: Mutant, box: Path) -> Fell:
    """Return over what a mutant falls, in a copy of the project: what it means, its checksum alone, nothing."""
    path = box / "rules" / mutant.file
    kept = path.read_text(encoding="utf-8")
    path.write_text(mutant.text, encoding="utf-8")
    environment = {**os.environ, "PYTHONPATH": str(box), "DOUGH_TODAY": "2026-11-28"}
    try:
        for some in tests_of(mutant.file):
            if _fails(box, environment, some, f"--ignore={CHECKSUMS[0]}"):
                return "meaning"
        return "checksum" if _fails(box, environment, CHECKSUMS) else "nothing"
    finally:
        path.write_text(kept, encoding="utf-8")


def _fails(box: Path, environment: Mapping[str, str], some: Sequence[str], *more: str) -> bool:
    there = [one for one in some if (box / one).exists()]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-p",
        "no:cacheprovider",
        "-m",
        "not slow",
        *more,
        *there,
    ]
    return subprocess.run(command, cwd=box, env=environment, capture_output=True, check=False).returncode != 0


def copied(into: Path) -> Path:
    """Copy the project, without what is no source."""
    away = shutil.ignore_patterns(
        ".git", ".venv", "__pycache__", ".*_cache", "artefacts", "dist", "*.sqlite3*"
    )
    return Path(shutil.copytree(ROOT, into, ignore=away))


def main() -> int:
    """Run a sample of mutants; print who lived; return 1 where too many did or one is new."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    sample = mutants(ROOT / "rules", asked.count, asked.seed)
    known = set(SURVIVORS.read_text(encoding="utf-8").splitlines())
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(asked.workers) as pool:
        boxes = [copied(Path(folder) / str(number)) for number in range(asked.workers)]
        shares = [sample[number :: asked.workers] for number in range(asked.workers)]
        fallen = [one for some in pool.map(_run, shares, boxes) for one in some]
    lived = sorted(one.key for one, fell in fallen if fell == "nothing")
    weak = sorted(one.key for one, fell in fallen if fell == "checksum")
    for word, keys in (("lived", lived), ("fell over its checksum alone", weak)):
        sys.stdout.write("".join(f"{word}: {key}{'' if key in known else ' (new)'}\n" for key in keys))
    share = 1 - len(lived) / len(sample)
    sys.stdout.write(
        f"{len(sample) - len(lived)} of {len(sample)} mutants fell ({100 * share:.1f} %), "
        f"{len(weak)} of them over the checksum alone\n"
    )
    return int(share < LEAST or not known.issuperset((*lived, *weak)))


def _run(share: list[Mutant], box: Path) -> list[tuple[Mutant, Fell]]:
    return [(one, falls(one, box)) for one in share]


if __name__ == "__main__":
    sys.exit(main())
