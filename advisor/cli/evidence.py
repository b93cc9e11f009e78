"""The verbs that hand on what a shop's doughs say, and that pool what many shops handed on."""

import argparse
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from advisor.cli.storing import Refused

_MOST_NAMED = 10


def share_options(made: argparse.ArgumentParser) -> None:
    """Add what ``share-evidence`` is told."""
    made.add_argument("-o", "--output", type=Path, metavar="FILE", help="where to (default: output)")
    made.add_argument("--notebook", metavar="FILE", help="the shop's notebook (default: that of this user)")
    made.set_defaults(run=_share)


def pool_options(made: argparse.ArgumentParser) -> None:
    """Add what ``pool`` is told."""
    made.add_argument("files", nargs="+", type=Path, metavar="FILES", help="files, or folders of them")
    made.add_argument("-o", "--output", type=Path, required=True, metavar="POOLED.toml")
    made.add_argument("--workers", type=int, default=1, help="processes to share the work (default: 1)")
    made.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask scheduler whose workers do the work")
    made.set_defaults(run=_pool)


def _share(options: argparse.Namespace) -> int:
    from advisor.cli.shop import notebook_of
    from advisor.pooling.shared import share_evidence
    from advisor.rulebook.load import load_rulebook

    notebook = notebook_of(options)
    if notebook is None or not notebook.doughs:
        raise Refused("There is no judged dough yet: nothing can be shared.")
    text = share_evidence(notebook, load_rulebook().edition).model_dump_json() + "\n"
    if options.output:
        options.output.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)
    return 0


def _pool(options: argparse.Namespace) -> int:
    from advisor.pooling.pool import pool
    from advisor.rulebook.load import load_rulebook

    files = [
        found for one in options.files for found in (sorted(one.glob("*.json")) if one.is_dir() else (one,))
    ]
    with _each(options) as each:
        pooled = pool(files, load_rulebook(), each)
    options.output.write_text(pooled.toml(), encoding="utf-8")
    said = [f"Wrote {options.output} from {len(files) - len(pooled.refused)} of {len(files)} files."]
    said += [f"Turned away: {one}." for one in pooled.refused[:_MOST_NAMED]]
    if len(pooled.refused) > _MOST_NAMED:
        said.append(f"Turned away besides: {len(pooled.refused) - _MOST_NAMED} more.")
    sys.stdout.write("\n".join(said) + "\n")
    return 0


@contextmanager
def _each(
    options: argparse.Namespace,
) -> Iterator[Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]]:
    """Give what lets parts be done: this process, several, or the workers of a cluster."""
    if options.scheduler:
        from advisor.sweeps.cluster import Cluster

        cluster = Cluster(options.scheduler)
        try:
            yield cluster.each
        finally:
            cluster.close()
    elif options.workers > 1:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        with ProcessPoolExecutor(options.workers, get_context("spawn")) as workers:
            yield workers.map
    else:
        yield map
