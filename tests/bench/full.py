"""Every figure that must hold, measured on this machine, with the machine's facts; written to docs on request.

Usage: python -m tests.bench.full [--write] [--long]; --write puts the table into docs/benchmarks.md, and refuses
where the machine works on other things; --long sweeps 100 000 recipes besides. Takes some eight minutes when long.
"""

import json
import os
import platform
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from importlib.metadata import version
from itertools import islice
from pathlib import Path
from typing import Any

import advisor
from advisor.rulebook.load import load_rulebook
from advisor.sweeps.chunk import Job, Setting
from advisor.sweeps.cluster import Cluster
from advisor.sweeps.executor import Executor, Processes, chunks, cores, in_order
from tests.bench.correction import body, interleaved, problem, same_program, side_by_side, varied
from tests.bench.file_solver import by_files
from tests.bench.lines import Line, at_least, at_most, busy_with_others
from tests.bench.load import asked_in_process, loaded, server, streamed
from tests.helpers import long_recipes, makers
from tests.helpers.others import BUSY_CORES

DOCS = Path(__file__).resolve().parents[2] / "docs" / "benchmarks.md"
LEAN = ("name", "form", "roles", "composition", "charge", "use")
TYPICAL = ("active", "uptake", "wetting", "price_per_kg")
SECONDS = 8.0


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
    for count, most, runs in ((12, 2.0, 200), (60, 2.0, 150), (500, 8.0, 20)):
        asked = candidates(count) if count > len(load_rulebook().ingredients) else body(count - 12)
        reference = same_program(problem(asked))
        ours = varied(asked)
        ours(), reference()
        mine, scipy, ratio = side_by_side(ours, reference, runs)
        yield at_most(
            f"one correction of {count} candidate materials, all included, to one `linprog` of its size",
            ratio,
            most,
            f"{ratio:.2f} ({mine:.2f} ms to {scipy:.2f} ms)",
        )
    asked = body()
    mine = median_ms(lambda: advisor.correct(asked), 50)
    with by_files():
        slow = median_ms(lambda: advisor.correct(asked), 5)
    yield at_least(
        "the same correction with PuLP's file-based solver to ours",
        slow / mine,
        2,
        f"{slow / mine:.0f} ({slow:.0f} ms)",
    )
    reference = same_program(problem(asked))
    with asked_in_process("/v1/corrections", asked) as call:
        pairs = [
            (a - b, c) for a, b, c in interleaved([call, lambda: advisor.correct(asked), reference], 150)
        ]
    more, linprog = (statistics.median(times) for times in zip(*pairs, strict=True))
    yield at_most(
        "what the API adds in process, to one `linprog`",
        more / linprog,
        1.5,
        f"{more / linprog:.2f} ({more:.2f} ms to {linprog:.2f} ms)",
    )


def bowls() -> Iterator[Line]:
    """Measure recoveries and additions of forty lines."""
    for what, work, made in (
        ("recovery", advisor.recover, long_recipes.over_weighed),
        ("addition", advisor.add, long_recipes.failed_bowl),
    ):
        some = [made(40, seed) for seed in range(8)]
        took = statistics.median(median_ms(lambda w=work, b=one: w(b), 5) for one in some)
        yield at_most(f"one {what} of 40 lines", took, 30, f"{took:.1f} ms", " ms")


def commands() -> Iterator[Line]:
    """Measure a correction on the command line, the whole process, with what Python and the rules keep."""
    words = [sys.executable, "-m", "advisor", "correct", "samples/wet-betaine-dough.json"]
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    run = lambda: subprocess.run(  # noqa: E731
        words, check=True, capture_output=True, cwd=DOCS.parents[1], env=kept
    )
    run()
    took = median_ms(run, 9) / 1e3
    yield at_most("a command, the whole process", took, 0.35, f"{took:.2f} s", " s")


def calls() -> Iterator[Line]:
    """Measure the server under load."""
    with server(1) as (port, _):
        one = loaded(port, body(), 1, SECONDS)
    what = "one server process, one caller: median"
    yield at_most(what, one.median_ms, 5, f"{one.median_ms:.2f} ms", " ms")
    with server(2) as (port, _):
        for callers, least, most in ((8, 300, 60), (32, 270, 400)):
            load = loaded(port, body(), callers, SECONDS)
            yield Line(
                f"two server processes, {callers} callers",
                f"{load.per_second:.0f}/s, p99 {load.p99_ms:.0f} ms, {load.errors} errors",
                f"at least {least}/s, p99 < {most} ms, 0 errors",
                load.per_second >= least and load.p99_ms < most and not load.errors,
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
    reference = same_program(problem(body()))
    linprog = median_ms(reference, 200)
    for count in (1_000, 10_000, *([100_000] if long else [])):
        took = statistics.median(swept(executor, count) for _ in range(max(1, 5_000 // count)))
        per_recipe.append(took / count)
        what = f"sweep of {count:,} corrections, workers up".replace(",", " ")
        yield at_least(what, count / took, 1_100, f"{count / took:.0f}/s", "/s on two idle cores")
    ratio = 1e3 * statistics.median(per_recipe) / linprog
    told = f"{ratio:.2f} ({1e3 * statistics.median(per_recipe):.2f} ms to {linprog:.2f} ms)"
    yield at_most("one recipe of a sweep on two cores, to one `linprog`", ratio, 1.6, told)
    executor.close()
    spread = max(per_recipe) / min(per_recipe) - 1
    what = "cost per recipe, most to least of these"
    yield at_most(what, 100 * spread, 10, f"{100 * spread:.0f} % apart", " % apart")
    raw = [json.dumps(asked).encode() + b"\n" for asked in bodies()]
    with server(1) as (port, process):
        lines = 50_000 if long else 10_000
        rate, early, late = streamed(port, process, raw, lines)
    yield Line(
        f"lines of JSON through the server, {lines:,}".replace(",", " "),
        f"{rate:.0f}/s; memory {early / 1024:.0f} MB after a fifth, {late / 1024:.0f} MB at the end",
        "flat",
        late <= 1.03 * early,
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
        rates[1] / rates[0] >= 1.7,
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


def main(arguments: list[str]) -> int:
    """Print the table, and write it where asked; return 1 where the machine is too busy to write."""
    facts, long, write = machine(), "--long" in arguments, "--write" in arguments
    print(facts)
    lines: list[Line] = []
    busiest, began = 0.0, time.monotonic()
    for measured in (corrections(), bowls(), commands(), calls(), sweeps(long=long)):
        busiest = max(busiest, busy_with_others())
        if write and busiest > BUSY_CORES:
            print(
                f"Nothing is written: {busiest:.1f} cores work on other things. Ask again when they are done."
            )
            return 1
        for line in measured:
            lines.append(line)
            print(f"{line.what:<84} {line.figure:<44} {line.must:<40} {line.verdict}", flush=True)
    minutes = (time.monotonic() - began) / 60
    facts += (
        f"; other things worked on at most {busiest:.2f} cores between the figures; {minutes:.0f} minutes"
    )
    print(
        facts.rpartition("Python")[2],
        *(f"missed: {line.what}" for line in lines if line.kept is False),
        sep="\n",
    )
    if write:
        DOCS.write_text(table(facts, lines), encoding="utf-8")
    return 0


def table(facts: str, lines: list[Line]) -> str:
    """Return the page with the table."""
    rows = "\n".join(f"| {line.what} | {line.figure} | {line.must} | {line.verdict} |" for line in lines)
    return (
        "# Benchmarks\n\n"
        'Written by `make bench ARGS="--write --long"`. Ratios come from runs of both sides in turn, so that a busy '
        "machine slows both; plain figures depend on the machine and on what else it does.\n\n"
        f"Machine: {facts}.\n\n| what | figure | must be | |\n|---|---|---|---|\n{rows}\n"
    )


if __name__ == "__main__":
    sys.exit(main(list(islice(sys.argv, 1, None))))
