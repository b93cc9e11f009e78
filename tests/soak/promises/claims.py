"""Rows: what is claimed was checked, and what others open does no harm."""

import csv
import importlib.util
import io
import random
import re
from collections.abc import Iterator

from advisor.tables import read_table, write_table
from tests.hard import generated
from tests.helpers.server import ROOT
from tests.soak.promises.kept import Row

_SEEDS = (1, 2)
_CELLS, _CASES, _WALKS = 20_000, 6_000, 60
_RUN = re.compile(r"""[ ]*["]?[=+\-@\t\r＝＋－＠]""")


def rows(*, short: bool) -> Iterator[Row]:
    """Yield the attacks."""
    yield Row("an audit counts what it did not look at", "20 packages nobody knows", _audit, 0.0, "claimed")
    yield Row(
        "no cell is run, each is read back",
        f"{_CELLS} cells of signs, parted three ways",
        _cells,
        0.0,
        "cells",
    )
    if short:  # the tests ask these by themselves
        return
    for seed in _SEEDS:
        yield Row(
            "no fault, whatever is asked",
            f"{_CASES} generated requests, seed {seed}",
            lambda s=seed: _told(generated.run(_CASES, generated.SEED + s).failures),
            0.0,
            "faults",
        )
        yield Row(
            "no fault, whatever comes after what",
            f"{_WALKS} walks along links, seed {seed}",
            lambda s=seed: _told(generated.walk(_WALKS, s)),
            0.0,
            "faults",
        )


def _audit() -> float:
    spec = importlib.util.spec_from_file_location("audit", ROOT / ".ci" / "audit.py")
    assert spec is not None and spec.loader is not None
    audit = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(audit)
    lines, _ = audit.report([{"name": f"p{at}", "skip_reason": "not found"} for at in range(20)], sees=False)
    told = "\n".join(lines)
    return float("NOT AUDITED: 20 packages" not in told or not told.startswith("0 of 20"))


def _cells() -> float:
    draw, bad = random.Random(1), 0
    rows = [
        {name: "".join(draw.choices("=+-@\t\n;,'\" a1.＝", k=draw.randint(0, 9))) for name in ("a", "b")}
        for _ in range(_CELLS // 2)
    ]
    text = write_table(rows, ["a", "b"])
    for delimiter in ",;\t":
        for cell in (cell for row in csv.reader(io.StringIO(text), delimiter=delimiter) for cell in row):
            number = re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", cell.partition(",")[0])
            bad += _RUN.match(cell) is not None and number is None
    back = read_table(text, {"a": False, "b": False})
    wanted = [{name: cell for name, cell in row.items() if cell} for row in rows]
    return float(bad + sum(one != other for one, other in zip(back, wanted, strict=True)))


def _told(failures: list[str]) -> float:
    for failure in failures[:5]:
        print(failure)
    return float(len(failures))
