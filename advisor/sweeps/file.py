"""A sweep over a file, its answers written line by line so that it can be resumed."""

import hashlib
import json
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path
from typing import Any, BinaryIO

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

from advisor.errors import AdvisorError, InvalidRequest
from advisor.frozen import dataclass
from advisor.printing.plain import on_screen
from advisor.printing.sweep import sweep_summary
from advisor.recipe.request import with_keys
from advisor.rulebook.load import load_rulebook
from advisor.sweeps.chunk import Job, Outcome, Setting, job_of, refused
from advisor.sweeps.executor import chunks, in_order
from advisor.sweeps.schema import Swept
from advisor.sweeps.summary import COLUMNS, RECIPE_COLUMNS, recipe_rows, summary_row
from advisor.sweeps.task import executor_for
from advisor.tables import read_recipe_tables, write_table

Body = dict[str, Any]
_HEAD = re.compile(rb'\{"index":(\d+),"asked":"([0-9a-f]{16})",')
_TABLE_ROWS = 5_000


@dataclass(frozen=True)
class Order:
    """What is to be swept, and where the answers go.

    Parameters
    ----------
    source : Path
        Recipes as CSV, or one body of a task a line.
    task : str
        The task of lines that do not name theirs.
    output : Path
        One answer a line, tables beside it under the same stem. Where it is named as a table, the recipes are
        written there and the answers beside it.
    workers : int, optional
    scheduler : str, optional
        Address of a Dask scheduler.
    """

    source: Path
    task: Swept
    output: Path
    workers: int | None = None
    scheduler: str | None = None

    @property
    def answers(self) -> Path:
        """Where the answers are written."""
        return self.output.with_suffix(".ndjson") if self._is_table else self.output

    @property
    def recipes(self) -> Path:
        """Where the table of recipes is written."""
        return self.output if self._is_table else self.output.with_suffix(".recipes.csv")

    @property
    def summary(self) -> Path:
        """Where the table of outcomes is written."""
        return self.output.with_suffix(".summary.csv")

    @property
    def _is_table(self) -> bool:
        return self.output.suffix.casefold() == ".csv"


@dataclass(frozen=True)
class Asked:
    """One recipe of the file: what is asked of it, or what is wrong with its line."""

    job: Job
    wrong: Outcome | None
    mark: bytes


def run(order: Order, put_in: Callable[[Body], Body], console: Console | None = None) -> bool:
    """Sweep a file; what its output holds already is not asked again.

    Parameters
    ----------
    order : Order
    put_in : callable
        Returns a body with what the command line sets.
    console : Console, optional
        Where progress is shown; default: standard error.

    Returns
    -------
    bool
        Whether any recipe was answered.

    Raises
    ------
    InvalidRequest, InvalidRecipe
        The file cannot be read, or the output holds the answers to something else.
    """
    total = _count(order.source)
    done = _kept(order, put_in)
    progress = Progress(
        "{task.description}",
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=console or Console(stderr=True),
    )
    with progress, order.answers.open("ab") as out:
        bar = progress.add_task(order.task, total=total, completed=done)
        for _ in _answered(order, islice(_asked(order, put_in), done, None), done, total - done, out):
            progress.advance(bar)
    document, counts = sweep_summary(_summary(order, put_in))
    sys.stdout.write(on_screen(document))
    return not total or bool(counts.keys() - {"nothing fits", "refused"})


def _answered(order: Order, asked: Iterable[Asked], done: int, left: int, out: BinaryIO) -> Iterator[None]:
    """Answer what is left, and yield whenever one more line is written."""
    marks: list[bytes] = []

    def jobs() -> Iterator[Job | Outcome]:
        for one in asked:
            marks.append(one.mark)
            yield one.wrong or one.job

    if not left:
        return
    executor = executor_for(left, order.workers, order.scheduler)
    with (
        closing(executor),
        closing(in_order(Setting.of({}), chunks(jobs(), order.task), executor)) as outcomes,
    ):
        for index, outcome in enumerate(outcomes, start=done):
            line = outcome.line(index)
            head = b'{"index":%d,' % index
            out.write(head + b'"asked":"%s",' % marks.pop(0) + line[len(head) :] + b"\n")
            out.flush()
            yield


def _count(source: Path) -> int:
    if source.suffix.casefold() == ".csv":
        return len(read_recipe_tables(source))
    return sum(1 for _ in _lines(source))


def _lines(source: Path) -> Iterator[bytes]:
    try:
        with source.open("rb") as file:
            yield from (line for line in file if line.strip())
    except OSError as error:
        raise InvalidRequest(f"{source} cannot be read: {error.strerror}.") from error


def _asked(order: Order, put_in: Callable[[Body], Body]) -> Iterator[Asked]:
    edition = load_rulebook().edition
    if order.source.suffix.casefold() == ".csv":
        bodies: Iterator[Any] = (
            {"recipe": with_keys(recipe, load_rulebook())} for recipe in read_recipe_tables(order.source)
        )
    else:
        bodies = map(_parsed, _lines(order.source))
    for body in bodies:
        job, wrong = Job(order.task, body), None
        try:
            if isinstance(body, AdvisorError):
                raise body
            if isinstance(body, dict):
                body = put_in({"recipe": body} if "lines" in body else body)
            job = job_of(body, order.task)
        except AdvisorError as error:
            job, wrong = Job(order.task, {}), refused(error)
        text = json.dumps([edition, job.task, job.body], sort_keys=True, default=str)
        yield Asked(job, wrong, hashlib.sha256(text.encode()).hexdigest()[:16].encode())


def _parsed(line: bytes) -> Any:
    """Return the value of a line, or the error that says why it has none."""
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        return InvalidRequest("The line is no JSON in UTF-8.")


def _kept(order: Order, put_in: Callable[[Body], Body]) -> int:
    """Return how many lines of the output are whole, once what follows them is cut off.

    Raises
    ------
    InvalidRequest
        A line answers something else than this sweep asks.
    """
    if not order.answers.exists():
        return 0
    count = whole = 0
    asked = _asked(order, put_in)
    with order.answers.open("r+b") as file:
        for line in file:
            if not line.endswith(b"\n"):
                break
            head, one = _HEAD.match(line), next(asked, None)
            if head is None or one is None or int(head[1]) != count or head[2] != one.mark:
                raise InvalidRequest(
                    f"Line {count + 1} of {order.answers} answers something else: other recipes, options or "
                    "rules. Name another output, or remove it."
                )
            count += 1
            whole += len(line)
        file.truncate(whole)
    return count


def _summary(order: Order, put_in: Callable[[Body], Body]) -> Iterator[dict[str, str]]:
    """Write both tables, and yield the rows of the summary."""
    with (
        order.summary.open("w", encoding="utf-8", newline="") as summary,
        order.recipes.open("w", encoding="utf-8", newline="") as recipes,
        order.answers.open("rb") as lines,
    ):
        pairs = zip(_asked(order, put_in), map(json.loads, lines), strict=True)
        first = True
        while block := list(islice(pairs, _TABLE_ROWS)):
            rows = [summary_row(one.job.task, one.job.body, entry) for one, entry in block]
            summary.write(write_table(rows, COLUMNS, header=first))
            lines_of = [row for one, entry in block for row in recipe_rows(one.job.body, entry)]
            recipes.write(write_table(lines_of, RECIPE_COLUMNS, header=first))
            first = False
            yield from rows
