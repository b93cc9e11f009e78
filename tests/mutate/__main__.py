"""``make mutate``: changes figures of the rules one by one and asks whether a test falls.

Mutants that fall over a checksum alone, or over nothing, stand in survivors.txt, a list that may only shrink.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SURVIVORS = Path(__file__).with_name("survivors.txt")
LEAST = 0.95


def copied(into: Path) -> Path:
    """Copy the project, without what is no source."""
    away = shutil.ignore_patterns(
        ".git", ".venv", "__pycache__", ".*_cache", "artefacts", "dist", "*.sqlite3*"
    )
    return Path(shutil.copytree(ROOT, into, ignore=away))


def fallen_in(box: Path, *asked: int) -> list[tuple[str, str]]:
    """Run a share of the mutants in a copy; return over what each fell, and its key."""
    environment = {**os.environ, "PYTHONPATH": str(box), "DOUGH_TODAY": "2026-11-28"}
    command = [sys.executable, "-m", "tests.mutate.box", *map(str, asked)]
    found = []
    with subprocess.Popen(command, cwd=box, env=environment, stdout=subprocess.PIPE, text=True) as running:
        for line in running.stdout or ():
            sys.stdout.write(line)
            sys.stdout.flush()
            fell, _, key = line.strip().partition("\t")
            found.append((fell, key))
    if running.returncode:
        raise SystemExit("the mutants could not be run; see above")
    return found


def main() -> int:
    """Run a sample of mutants; print who lived; return 1 where too many did or one is new."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    known = set(SURVIVORS.read_text(encoding="utf-8").splitlines())
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(asked.workers) as pool:
        runs = [
            pool.submit(
                fallen_in, copied(Path(folder) / str(number)), asked.count, asked.seed, number, asked.workers
            )
            for number in range(asked.workers)
        ]
        fallen = [one for run in runs for one in run.result()]
    of = {word: sorted(key for fell, key in fallen if fell == word) for word in ("nothing", "checksum")}
    for word, said in (("nothing", "lived"), ("checksum", "fell over its checksum alone")):
        sys.stdout.write("".join(f"{said}: {key}{'' if key in known else ' (new)'}\n" for key in of[word]))
    fell = len(fallen) - len(of["nothing"])
    sys.stdout.write(
        f"{fell} of {len(fallen)} mutants fell ({100 * fell / len(fallen):.1f} %), "
        f"{len(of['checksum'])} of them over the checksum alone\n"
    )
    return int(fell < LEAST * len(fallen) or not known.issuperset(of["nothing"] + of["checksum"]))


if __name__ == "__main__":
    sys.exit(main())
