"""Lays out what a sweep came to: how many recipes ended how, and the first that changed."""

from collections import Counter
from collections.abc import Iterable, Mapping

from advisor.printing.document import Document, Facts, Sentences, Table

_MOST_SHOWN = 20
_SHOWN = ("changed", "nothing fits", "refused", "not met")
_HEADER = ("Recipe", "outcome", "lines", "price", "active %", "why")


def sweep_summary(rows: Iterable[Mapping[str, str]]) -> tuple[Document, Counter[str]]:
    """Return a sweep as a document, and the counts of its outcomes."""
    counts: Counter[str] = Counter()
    shown: list[tuple[str, ...]] = []
    for row in rows:
        counts[row["outcome"]] += 1
        if row["outcome"] in _SHOWN and len(shown) < _MOST_SHOWN:
            shown.append(_row(row))
    rest = sum(counts[outcome] for outcome in _SHOWN) - len(shown)
    blocks = (
        Table("Recipes", _HEADER, tuple(shown), numeric=frozenset({2})),
        Sentences("", (f"{rest} more in the summary.",) if rest else ()),
        Facts(tuple((outcome, str(count)) for outcome, count in counts.most_common()), "Outcomes"),
    )
    return Document("What the sweep came to", blocks), counts


def _row(row: Mapping[str, str]) -> tuple[str, ...]:
    pairs = (f"{row[f'{name}_before']} > {row[f'{name}_after']}".strip("> ") for name in ("price", "active"))
    why = row["replacement"] or ("" if row["outcome"] == "changed" else row["why"])
    return row["recipe"], row["outcome"], row["lines_moved"], *pairs, why
