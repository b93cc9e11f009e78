"""The one place that lays out a batch record for paper, with lines to write on for what is missing."""

from advisor.printing.document import Blanks, Block, Document, Facts, Sentences, Table
from advisor.shapes.batch_record import BatchRecordAnswer


def batch_record(answer: BatchRecordAnswer) -> Document:
    """Return the record of a batch: every field that was filled in, weights, remarks and what is missing."""
    filled = answer.record.model_dump(mode="json", exclude_none=True)
    facts = [
        (_words(name), _plain(value)) for name, value in filled.items() if not isinstance(value, list | dict)
    ]
    facts += [("Planned", f"{answer.planned_grams:g} g"), ("Weighed", _grams(answer.weighed_grams))]
    if answer.yield_percent is not None:
        facts.append(("Yield", f"{answer.yield_percent:g} %"))
    weights = Table(
        "Weights",
        ("Material", "Lot", "Planned g", "Weighed g", "Off by %"),
        tuple(
            (
                line.name,
                line.lot or "",
                f"{line.planned_grams:g}",
                _grams(line.weighed_grams).removesuffix(" g"),
                "" if line.deviation_percent is None else f"{line.deviation_percent:g}",
            )
            for line in answer.lines
        ),
        numeric=frozenset({2, 3, 4}),
    )
    parts = [
        Facts(
            tuple(
                (_words(inner), _plain(of)) for inner, of in value.items() if not isinstance(of, list | dict)
            )
        )
        for name, value in filled.items()
        if isinstance(value, dict) and name != "recipe"
    ]
    logs: list[Block] = [
        Table(
            _words(name),
            tuple(map(_words, value[0])),
            tuple(tuple(map(_plain, row.values())) for row in value),
        )
        for name, value in filled.items()
        if isinstance(value, list) and value and isinstance(value[0], dict)
        if len({tuple(row) for row in value}) == 1 and name != "materials"
    ]
    said = (*answer.remarks, *answer.preservation, *answer.notes, *answer.cautions)
    return Document(
        f"Batch record: {answer.record.recipe.name or 'batch'}",
        (
            Facts(tuple(facts)),
            weights,
            *parts,
            *logs,
            Sentences("Still missing", tuple(item.text for item in answer.missing)),
            Sentences("Remarks", tuple(item.text for item in said)),
            Blanks("Released", ("Date", "Name", "Signature")),
            Facts((("Rules", answer.rules_version),)),
        ),
    )


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _grams(value: float | None) -> str:
    return "" if value is None else f"{value:g} g"


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
