"""Lays out a batch record for paper, with lines to write on for what is not filled in."""

from collections.abc import Iterator, Sequence

from advisor.printing.document import BLANK, Blanks, Block, Checklist, Document, Facts, Sentences, Table
from advisor.schema.batch_record import BarTests, BatchRecordAnswer, BatchRecordRequest
from advisor.schema.drying import DryingAnswer
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Report
from advisor.writing import figure

_LEAST_PH_ROWS = 2
_LEAST_DRYING_ROWS = 5
_MEASURED = (
    ("Kneaded", "kneaded_minutes", "min"),
    ("Rested", "rested_minutes", "min"),
    ("After melting", "minutes_since_melt", "min"),
    ("Dough", "dough_c", "C"),
    ("Room", "room_c", "C"),
    ("Room humidity", "room_rh", "%"),
)
_BEFORE = (
    "Bench clear of other batches, their materials and their labels.",
    "Bowl, tools and moulds clean, dry and undamaged.",
    "Balance level, at zero, and right with a known weight.",
    "Materials released, within their dates, and their lots written down.",
)
_RELEASE = (
    "Sample kept, at",
    "Labels counted out / back",
    "Released or rejected",
    "Date",
    "Name",
    "Signature",
)


def batch_record(answer: BatchRecordAnswer) -> Document:
    """Return the record of a batch as a form: what is known is filled in, the rest is left to write on.

    Parameters
    ----------
    answer : BatchRecordAnswer

    Examples
    --------
    >>> from advisor import record
    >>> lines = [{"material": "water", "percent": 25}, {"material": "kaolin", "percent": 75}]
    >>> sheet = batch_record(record({"recipe": {"lines": lines}, "batch_grams": 200, "batch": "26-07"}))
    >>> sheet.blocks[0].pairs[:2]
    (('Product', '________'), ('Batch', '26-07'))
    """
    called = answer.record.product or answer.record.recipe.name
    return Document(f"Batch record: {called}" if called else "Batch record", tuple(_blocks(answer)))


def _blocks(answer: BatchRecordAnswer) -> Iterator[Block]:
    written = answer.record
    yield Facts(tuple(_head(answer)))
    yield Checklist("Before the start", _BEFORE)
    yield _weights(answer)
    yield Facts(tuple(_dough(written.report)), "Dough")
    yield Facts(tuple(_bars(answer)), "Bars")
    yield _ph(written)
    yield _drying(written)
    if written.correction:
        yield Sentences("Correction taken", (written.correction,))
    else:
        yield Blanks("Correction taken", ("Added or changed, and why",))
    yield Sentences("Of the maker", (written.notes,) if written.notes else ())
    yield Checklist("Still to fill in", tuple(item.text for item in answer.missing))
    yield Sentences("Deviations", tuple(item.text for item in answer.remarks))
    yield Sentences("Preservation", tuple(item.text for item in answer.preservation))
    yield Sentences("Drying", tuple(item.text for item in answer.dried.notes) if answer.dried else ())
    yield Sentences("Notes", tuple(item.text for item in answer.notes))
    cautions = {item.id: item.text for item in _all_cautions(answer)}
    yield Sentences("Caution", tuple(cautions.values()))
    yield Blanks("Release", _RELEASE)
    yield Facts((("Rules", answer.rules_version),))


def _all_cautions(answer: BatchRecordAnswer) -> Iterator[TextItem]:
    yield from answer.cautions
    if answer.dried is not None:
        yield from answer.dried.cautions


def _head(answer: BatchRecordAnswer) -> Iterator[tuple[str, str]]:
    written = answer.record
    yield "Product", written.product or BLANK
    yield "Batch", written.batch or BLANK
    yield "Recipe", written.recipe.name or BLANK
    yield "Made on", written.made_on.isoformat() if written.made_on else BLANK
    yield "Made by", written.made_by or BLANK
    yield "Checked by", written.checked_by or BLANK
    yield "Planned", f"{figure(answer.planned_grams)} g"
    yield "Weighed", _of(answer.weighed_grams, "g")
    yield "Equipment", written.equipment or BLANK


def _weights(answer: BatchRecordAnswer) -> Table:
    return Table(
        title="Weights",
        header=("Material", "Lot", "Planned g", "Weighed g", "Off by %", "Weighed by"),
        rows=(
            *(
                (
                    line.name,
                    line.lot or BLANK,
                    figure(line.planned_grams),
                    _of(line.weighed_grams),
                    BLANK if line.deviation_percent is None else f"{line.deviation_percent:+.2f}",
                    BLANK,
                )
                for line in answer.lines
            ),
            *_unplanned(answer),
            ("Total", "", figure(answer.planned_grams), _of(answer.weighed_grams), "", BLANK),
        ),
        numeric=frozenset({2, 3, 4}),
        ticks=True,
    )


def _unplanned(answer: BatchRecordAnswer) -> Iterator[tuple[str, ...]]:
    """Yield what was weighed, or has a lot, and stands in no line of the recipe."""
    weighed, lots = answer.record.weighed or {}, answer.record.lots or {}
    for key in sorted({*weighed, *lots} - {line.material for line in answer.lines}):
        yield key, lots.get(key, BLANK), "none", _of(weighed.get(key)), "", BLANK


def _dough(report: Report | None) -> Iterator[tuple[str, str]]:
    known = report.model_dump() if report is not None else {}
    yield "Felt", " ".join(_felt(report)) if report is not None else BLANK
    yield "Signs", _words(", ".join(report.signs) or "none") if report is not None else BLANK
    yield "Worked by", known.get("method") or BLANK
    for name, field, unit in _MEASURED:
        yield name, _of(known.get(field), unit)


def _felt(report: Report) -> Iterator[str]:
    yield _words(report.feel)
    if "degree" in report.model_fields_set:
        yield f"({report.degree})"


def _bars(answer: BatchRecordAnswer) -> Iterator[tuple[str, str]]:
    written, tests = answer.record, answer.record.tests or BarTests()
    yield "Made", BLANK if written.bars is None else str(written.bars)
    yield "Packed", _of(written.packed_grams, "g")
    yield "Yield", _of(answer.yield_percent, "%")
    if answer.dried is not None:
        yield from _dried(answer.dried)
    yield "Mush", _of(tests.mush, "g per 100 cm2")
    yield "Wear", _of(tests.wear_percent, "%")
    yield "Cracks", tests.cracks or BLANK
    if tests.notes:
        yield "Of the tests", tests.notes
    yield "Label checked", {None: BLANK, True: "yes", False: "no"}[written.label_checked]


def _dried(answer: DryingAnswer) -> Iterator[tuple[str, str]]:
    hours = answer.hours_to_dry
    yield "Dry after", f"{figure(hours.typical, 1)} h ({figure(hours.low, 1)} to {figure(hours.high, 1)} h)"
    if answer.dried is None:
        return
    grams = "" if answer.dried.grams is None else f"{figure(answer.dried.grams, 2)} g, "
    yield "Dried bar", f"{grams}{figure(answer.dried.mass_left, 1)} % of the fresh one"
    if answer.dried.totals is not None:
        totals = answer.dried.totals.as_dried
        yield "In it", f"active {figure(totals.active, 2)} %, water {figure(totals.water, 2)} %"


def _ph(written: BatchRecordRequest) -> Table:
    rows = [(figure(one.ph), figure(one.at_percent), _of(one.temperature_c), BLANK) for one in written.ph]
    return _log("pH", ("pH", "Dispersion %", "At C", "By"), rows, _LEAST_PH_ROWS)


def _drying(written: BatchRecordRequest) -> Table:
    rows = [(figure(one.hours), figure(one.grams), BLANK) for one in written.drying]
    return _log("One bar on the balance", ("Hours", "g", "By"), rows, _LEAST_DRYING_ROWS)


def _log(title: str, header: tuple[str, ...], rows: Sequence[tuple[str, ...]], least: int) -> Table:
    """Return what was measured one after the other, with room for more."""
    empty = [(BLANK,) * len(header)] * max(1, least - len(rows))
    numeric = frozenset(range(len(header) - 1))
    return Table(title=title, header=header, rows=(*rows, *empty), numeric=numeric)


def _of(value: float | None, unit: str = "") -> str:
    return BLANK if value is None else f"{figure(value)} {unit}".strip()


def _words(code: str) -> str:
    return code.replace("_", " ")
