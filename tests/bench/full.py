"""Every figure that must hold, measured on this machine, with the machine's facts; written to docs on request.

Usage: python -m tests.bench.full [--write] [--long]; --write puts the table into docs/benchmarks.md, --long sweeps
100 000 recipes besides.
"""

import json
import os
import platform
import statistics
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.metadata import version
from itertools import islice
from pathlib import Path
from typing import Any

import advisor
from advisor.rulebook.load import load_rulebook
from advisor.sweeps.chunk import Job, Setting
from advisor.sweeps.cluster import Cluster
from advisor.sweeps.executor import Executor, Processes, cores
from advisor.sweeps.order import chunks, in_order
from tests.bench.correction import body, problem, same_program, side_by_side
from tests.bench.file_solver import by_files
from tests.bench.load import loaded, server, streamed
from tests.helpers import makers

DOCS = Path(__file__).resolve().parents[2] / "docs" / "benchmarks.md"
LEAN = ("name", "form", "roles", "composition", "charge", "use")
TYPICAL = ("active", "uptake", "wetting", "price_per_kg")
SECONDS = 8.0


@dataclass(frozen=True)
class Line:
    """One figure: what was measured, what it came to, and what it must be."""

    what: str
    figure: str
    must: str = ""


def candidates(count: int) -> dict[str, Any]:
    """Return the correction with so many materials, all but twelve of them sent along as a shop would write them."""
    asked = body()
    library = [one.material for one in load_rulebook().ingredients.values()]
    own = []
    for number in range(count - 12):
        full = library[number % len(library)].model_dump(exclude_none=True, mode="json")
        typical = {
            name: full[name]["typical"] if isinstance(full[name], dict) else full[name]
            for name in TYPICAL
            if name in full
        }
        own.append({"key": f"own-{number}", **{k: v for k, v in full.items() if k in LEAN}, **typical})
    return asked | {"materials": own, "shelf": [material["key"] for material in own]}


def median_ms(work: Callable[[], Any], runs: int) -> float:
    """Return the median of some runs [ms]."""
    took = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        took.append(1e3 * (time.perf_counter() - start))
    return statistics.median(took)


def corrections() -> Iterator[Line]:
    """Measure one correction against SciPy and against the file-based solver."""
    asked = body()
    reference = same_program(problem(asked))
    ours = lambda: advisor.correct(asked)  # noqa: E731
    ours(), reference()
    mine, scipy, ratio = side_by_side(ours, reference, 200)
    yield Line(
        "one correction of 12 materials, all included, to one `linprog` of its size",
        f"{ratio:.2f} ({mine:.2f} ms to {scipy:.2f} ms)",
        "at most 3",
    )
    with by_files():
        slow = median_ms(ours, 5)
    yield Line(
        "the same correction with PuLP's file-based solver to ours",
        f"{slow / mine:.0f} ({slow:.0f} ms)",
        "at least 2",
    )
    for count in (60, 100, 250, 500):
        many = candidates(count)
        advisor.correct(many)
        took = median_ms(lambda many=many: advisor.correct(many), 15)
        yield Line(
            f"one correction with {count} candidate materials",
            f"{took:.1f} ms",
            "< 30 ms" if count == 500 else "",
        )


def calls() -> Iterator[Line]:
    """Measure the server under load."""
    with server(1) as (port, _):
        one = loaded(port, body(), 1, SECONDS)
    yield Line("one server process, one caller: median", f"{one.median_ms:.2f} ms", "< 5 ms")
    with server(2) as (port, _):
        for callers, least, most in ((8, 300, 60), (32, 270, 400)):
            load = loaded(port, body(), callers, SECONDS)
            yield Line(
                f"two server processes, {callers} callers",
                f"{load.per_second:.0f}/s, p99 {load.p99_ms:.0f} ms, {load.errors} errors",
                f"at least {least}/s, p99 < {most} ms, 0 errors",
            )


def bodies() -> list[dict[str, Any]]:
    """Return the corrections a sweep asks, again and again."""
    return [
        {"recipe": makers.recipe(seed), "report": makers.report(seed), "wishes": makers.wishes(seed)}
        for seed in range(500)
    ]


def swept(executor: Executor, count: int) -> float:
    """Return the seconds of a sweep of so many corrections."""
    asked = bodies()
    jobs = (Job("correction", asked[number % len(asked)]) for number in range(count))
    start = time.perf_counter()
    for _ in in_order(Setting.of({}), chunks(jobs, "correction"), executor):
        pass
    return time.perf_counter() - start


def sweeps(*, long: bool) -> Iterator[Line]:
    """Measure sweeps on every core, over lines of JSON, and on a cluster."""
    start = time.perf_counter()
    executor = Processes(cores())
    swept(executor, 16 * executor.depth)
    yield Line(f"start of {cores()} worker processes", f"{time.perf_counter() - start:.1f} s")
    per_recipe = []
    for count in (1_000, 10_000, *([100_000] if long else [])):
        took = statistics.median(swept(executor, count) for _ in range(max(1, 5_000 // count)))
        per_recipe.append(took / count)
        yield Line(
            f"sweep of {count:,} corrections".replace(",", " "),
            f"{count / took:.0f}/s",
            "at least 700/s on two cores",
        )
    executor.close()
    spread = max(per_recipe) / min(per_recipe) - 1
    yield Line("cost per recipe, most to least of these", f"{100 * spread:.0f} % apart", "within 15 %")
    raw = [json.dumps(asked).encode() + b"\n" for asked in bodies()]
    with server(1) as (port, process):
        lines = 50_000 if long else 10_000
        rate, early, late = streamed(port, process, raw, lines)
    yield Line(
        f"lines of JSON through the server, {lines:,}".replace(",", " "),
        f"{rate:.0f}/s; memory {early / 1024:.0f} MB after a fifth, {late / 1024:.0f} MB at the end",
        "flat",
    )
    yield from clusters()


def clusters() -> Iterator[Line]:
    """Measure one and two workers of a Dask cluster."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from distributed import LocalCluster

        rates = []
        for workers in (1, 2):
            with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
                executor = Cluster(cluster.scheduler_address)
                swept(executor, 200)
                rates.append(6_000 / swept(executor, 6_000))
                executor.close()
    yield Line(
        "Dask, two workers to one",
        f"{rates[1] / rates[0]:.2f} ({rates[0]:.0f}/s to {rates[1]:.0f}/s)",
        "at least 1.7 on an idle machine",
    )


def machine() -> str:
    """Return the facts of this machine."""
    cpu = next(
        (
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
            if line.startswith("model name")
        ),
        platform.processor(),
    )
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    tools = ", ".join(
        f"{name} {version(name)}" for name in ("PuLP", "highspy", "scipy", "pydantic", "uvicorn")
    )
    return (
        f"{cpu}, {cores()} cores, {memory:.0f} GB, {platform.system()}; Python {platform.python_version()}, {tools}; "
        f"load average at the start {os.getloadavg()[0]:.1f}"
    )


def main(arguments: list[str]) -> None:
    """Print the table, and write it where asked."""
    facts = machine()
    print(facts)
    lines: list[Line] = []
    for measured in (corrections(), calls(), sweeps(long="--long" in arguments)):
        for line in measured:
            lines.append(line)
            print(f"{line.what:<76} {line.figure:<48} {line.must}", flush=True)
    if "--write" in arguments:
        DOCS.write_text(table(facts, lines), encoding="utf-8")


def table(facts: str, lines: list[Line]) -> str:
    """Return the page with the table."""
    rows = "\n".join(f"| {line.what} | {line.figure} | {line.must} |" for line in lines)
    return (
        "# Benchmarks\n\n"
        'Written by `make bench ARGS="--write --long"`. Ratios come from runs of both sides in turn, so that a busy '
        "machine slows both; plain figures depend on the machine and on what else it does.\n\n"
        f"Machine: {facts}.\n\n| what | figure | must be |\n|---|---|---|\n{rows}\n"
    )


if __name__ == "__main__":
    main(list(islice(sys.argv, 1, None)))
