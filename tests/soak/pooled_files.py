"""Pool very many evidence files in processes and on a Dask cluster, and see how long it takes and in how much memory.

The files are those of 500 invented shops, written over and over under names of their own.

Usage: python -m tests.soak.pooled_files [--files 100000] [--workers 2]. Ends with 1 where pooling takes two minutes or
more, the two answers differ, or ten times the files need a quarter more memory.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from distributed import LocalCluster

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from advisor.pooling.shared import share_evidence
from tests.pooling.test_pool import BOOK, shop

_SHOPS = 500
_SECONDS = 120.0
_MORE_MEMORY = 1.25


def written(folder: Path, count: int) -> None:
    """Write so many evidence files."""
    folder.mkdir()
    texts = [
        share_evidence(shop(seed)[0], BOOK.edition).model_dump_json() for seed in range(min(_SHOPS, count))
    ]
    for place in range(count):
        (folder / f"{place:06}.json").write_text(texts[place % len(texts)], encoding="utf-8")


def pooled(folder: Path, output: Path, *how: str) -> tuple[float, float, float]:
    """Run the verb; return its time [s], its own and its children's processor time [s], its greatest memory [MB]."""
    command = [sys.executable, "-m", "advisor", "pool", str(folder), "-o", str(output), *how]
    began = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    said = process.stdout.read() if process.stdout else ""
    _, status, used = os.wait4(process.pid, 0)
    took = time.monotonic() - began
    if status or "Wrote" not in said:
        raise SystemExit(f"pool ended with {status}: {said}")
    return took, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main() -> int:
    """Write, pool twice, print, and judge."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--files", type=int, default=100_000)
    asked.add_argument("--workers", type=int, default=2)
    options = asked.parse_args()
    workers, fallen, memory, tables = options.workers, False, [], []
    with tempfile.TemporaryDirectory() as name:
        for count in (options.files // 10, options.files):
            folder = Path(name) / str(count)
            written(folder, count)
            with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
                ways = {
                    f"{workers} processes": ("--workers", str(workers)),
                    f"Dask, {workers} workers": ("--scheduler", cluster.scheduler_address),
                }
                for way, how in ways.items():
                    output = Path(name) / "pooled.toml"
                    took, processor, most = pooled(folder, output, *how)
                    tables.append(output.read_text(encoding="utf-8"))
                    memory.append(most)
                    fallen |= took >= _SECONDS
                    print(
                        f"{count} files, {way}: {took:.1f} s ({processor:.1f} s of processor in the verb's own "
                        f"processes), at most {most:.0f} MB in one of them",
                        flush=True,
                    )
    fallen |= tables[0] != tables[1] or tables[2] != tables[3]
    fallen |= max(memory[2:]) > _MORE_MEMORY * max(memory[:2])
    return int(fallen)


if __name__ == "__main__":
    sys.exit(main())
