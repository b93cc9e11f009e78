"""Runs a share of the mutants inside a copy of the project: ``python -m tests.mutate.box COUNT SEED NUMBER OF``.

Each mutant is tested in a child of this process, which has loaded what takes long to load, and no rules.
"""

import os
import sys
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any, Literal

import pytest

from advisor.rulebook import load
from tests.mutate.walk import Mutant, mutants

ROOT = Path(__file__).resolve().parents[2]
Fell = Literal["nothing", "meaning", "checksum"]
FELL: tuple[Fell, ...] = ("nothing", "meaning", "checksum")
HEAVY = (
    "numpy",
    "pandas",
    "scipy.stats",
    "scipy.optimize",
    "pulp",
    "highspy",
    "httpx",
    "hypothesis",
    "fastapi.testclient",
)
SAMPLES = "tests/samples/test_samples.py"
CHECKSUMS = "tests/rulebook/test_checksums.py"
READINGS = "tests.rulebook.readings."
# Who reads a file a second time, by the beginning of its path.
READ = {"law/": ("test_law", "test_trade"), "materials/": ("test_materials",)}
# These judge a limit by its own figure: no mutant of it falls over them.
BESIDE = "tests/law/test_lists.py::test_just_under_passes_and_just_over_fails_as_made_and_dried"
# The tests that read a file, by the beginning of its path, the quickest first.
TESTS = {
    "law/": (
        "tests/rulebook/test_law_files.py",
        "tests/law/test_age.py",
        "tests/law/test_limits.py",
        "tests/law/test_lists.py",
        "tests/law/test_every_road.py",
    ),
    "materials/": ("tests/rulebook/test_materials_data.py",),
    "acidity": ("tests/laboratory",),
    "assessed": ("tests/law/test_limits.py", "tests/assessment"),
    "bench": ("tests/assessment", "tests/case_book"),
    "bowl": ("tests/bowl",),
    "cautions": ("tests/case", "tests/law/test_age.py"),
    "costing": ("tests/costing",),
    "day": ("tests/day_planning",),
    "drafts": ("tests/drafting",),
    "drying": ("tests/drying", "tests/batch_record"),
    "findings": ("tests/assessment", "tests/case"),
    "label": ("tests/labelling",),
    "pairs": ("tests/case", "tests/substitution"),
    "preservation": ("tests/laboratory/test_acidity.py", "tests/assessment", "tests/substitution"),
    "record": ("tests/batch_record",),
    "rework": ("tests/reworking",),
    "strength": ("tests/laboratory/test_strength.py",),
    "substances": ("tests/law/test_limits.py", "tests/laboratory/test_acidity.py"),
    "substitution": ("tests/substitution",),
    "weighing": ("tests/weighing",),
}
OTHERS = (
    "tests/correction/test_reckoned_by_hand.py",
    "tests/case_book",
    "tests/recipe",
    "tests/demands",
    "tests/learning",
)


def tests_of(file: str) -> tuple[str, ...]:
    """Return what to run for a file besides its readings: its own tests and the samples, its checksum last."""
    return (*_of(file, TESTS, OTHERS), SAMPLES, CHECKSUMS)


def misread(file: str) -> bool:
    """Tell whether a reading of a file falls; its tests are called as they are, without a runner about them."""
    for name in _of(file, READ, ("test_trade",)):
        module = import_module(READINGS + name)
        for test in [value for key, value in vars(module).items() if key.startswith("test_")]:
            try:
                for asked in _asked(test):
                    test(**asked)
            except Exception:  # a file that cannot be read any more has fallen as well
                return True
    return False


def _asked(test: Any) -> list[dict[str, Any]]:
    """Return what a test is called with, time after time."""
    marks = [mark for mark in getattr(test, "pytestmark", ()) if mark.name == "parametrize"]
    return [{mark.args[0]: value} for mark in marks for value in mark.args[1]] or [{}]


def _of(file: str, tests: Mapping[str, tuple[str, ...]], others: tuple[str, ...]) -> tuple[str, ...]:
    return next((found for start, found in tests.items() if file.startswith(start)), others)


class First:
    """Notes the first test that fails."""

    place = ""

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Note a test that failed."""
        if report.failed and not self.place:
            self.place = report.nodeid


def falls(mutant: Mutant) -> Fell:
    """Return over what a mutant falls: what it means, its checksum alone, nothing."""
    path = ROOT / "rules" / mutant.file
    kept = path.read_text(encoding="utf-8")
    path.write_text(mutant.write(), encoding="utf-8")
    try:
        child = os.fork()
        if not child:
            os._exit(_tested(mutant.file))
        return FELL[os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])]
    finally:
        path.write_text(kept, encoding="utf-8")


def _tested(file: str) -> int:
    out = os.open(os.devnull, os.O_WRONLY)
    os.dup2(out, 1)
    os.dup2(out, 2)
    if misread(file):
        return 1
    first = First()
    there = [one for one in tests_of(file) if (ROOT / one).exists()]
    # Plugins that are loaded already warn that they are: no warning is an error here.
    how = (
        "-q",
        "-x",
        "-p",
        "no:cacheprovider",
        "-o",
        "filterwarnings=ignore",
        "-m",
        "not slow",
        "--deselect",
        BESIDE,
    )
    ended = pytest.main([*how, *there], plugins=[first])
    if not ended:
        return 0
    return 2 if first.place.startswith(CHECKSUMS) else 1


def main() -> None:
    """Print over what each mutant of the share falls, and its key."""
    count, seed, number, of = map(int, sys.argv[1:])
    for module in (*HEAVY, "advisor.client"):
        import_module(module)
    for one in import_module("advisor.registry").TASKS:
        _ = one.function
    if load._packaged.cache_info().currsize:
        raise SystemExit("the rules were loaded before the first of them was changed")
    for mutant in mutants(ROOT / "rules", count, seed)[number::of]:
        sys.stdout.write(f"{falls(mutant)}\t{mutant.key}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
