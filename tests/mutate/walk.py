"""The places of a rules file that carry meaning, and what each is changed to."""

import csv
import io
import random
import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

# What only people read, or what says what a figure rests on.
UNREAD = {
    "source",
    "basis",
    "notes",
    "note",
    "title",
    "place",
    "read",
    "caveat",
    "text",
    "about",
    "meaning",
    "name",
    "also",
    "act",
    "dated",
    "written",
    "pka_source",
    "pka_basis",
    "verified_on",
    "evidence",
    "price_per_kg",
    "edition",
}
WORDS = {
    "form": ("powder", "liquid", "granule", "hard_solid"),
    "charge": ("anionic", "nonionic", "cationic", "amphoteric"),
    "roles": ("filler", "emollient", "primary_surfactant", "humectant"),
    "as": ("acid", "itself"),
}


@dataclass(frozen=True)
class Mutant:
    """One change of one place in one file; ``write`` returns the whole text of the file with it."""

    file: str
    place: str
    change: str
    write: Callable[[], str] = field(compare=False)

    @property
    def key(self) -> str:
        """How it is named in the list of survivors."""
        return f"{self.file}: {self.place} {self.change}"


def mutants(root: Path, count: int, seed: int) -> list[Mutant]:
    """Return a seeded sample of the mutants of every rules file."""
    draw = random.Random(seed)
    files = sorted(
        path
        for path in root.rglob("*")
        if path.suffix in (".toml", ".csv") and path.name not in ("edition.toml", "sources.toml")
    )
    names = {path.relative_to(root).as_posix(): path for path in files}
    by_file = {name: some for name, path in names.items() if (some := list(of_file(path, name)))}
    picked: list[Mutant] = []
    while len(picked) < count:
        some = by_file[draw.choice(sorted(by_file))]
        one = some.pop(draw.randrange(len(some))) if some else None
        if one is not None and (one.file.endswith(".csv") or _reads(one.write())):
            picked.append(one)
    return picked


def of_file(path: Path, name: str) -> Iterator[Mutant]:
    """Return every mutant of a file."""
    text = path.read_text(encoding="utf-8")
    yield from _of_rows(text, name) if path.suffix == ".csv" else _of_lines(text, name)


def _of_rows(text: str, name: str) -> Iterator[Mutant]:
    rows = list(csv.DictReader(io.StringIO(text)))

    def changed(number: int, **fields: str) -> Callable[[], str]:
        new = [{**rows[number], **fields}] if fields else []
        return lambda: _written(list(rows[0]), [*rows[:number], *new, *rows[number + 1 :]])

    for number, row in enumerate(rows):
        place = row.get("id") or row["entry"]
        yield Mutant(name, place, "gone", changed(number))
        for factor in (1.1, 10.0) if row.get("max") else ():
            more = f"{float(row['max']) * factor:g}"
            yield Mutant(name, f"{place}.max", f"x{factor:g}", changed(number, max=more))
        names = row["components"].split(" | ")
        other = " | ".join(["Nothing At All", *names[1:]])
        yield Mutant(name, f"{place}.components", "another", changed(number, components=other))


def _written(columns: list[str], rows: list[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


_NUMBER = re.compile(r"(?<![\w.\"-])-?\d+(?:\.\d+)?(?![\w.\"-])")
_FIELD = re.compile(r"^(?:\")?([A-Za-z0-9_ ,()'/.-]+?)(?:\")?\s*=\s*")


def _of_lines(text: str, name: str) -> Iterator[Mutant]:
    lines = text.split("\n")
    place, skipped = "", False
    for number, line in enumerate(lines):
        if line.startswith("["):
            place = line.strip("[]")
            skipped = place == "text" or place.endswith((".evidence", ".text"))
            continue
        match = _FIELD.match(line)
        if line.startswith("#") or skipped or not match or match[1] in UNREAD:
            continue
        where = f"{place}.{match[1]}@{number + 1}"
        for change, changed in _changes(match[1], line, match.end()):
            if changed != line:  # A list that goes on in the next line has nothing to lose in this one.
                yield Mutant(name, where, change, _with_line(lines, number, changed))


def _with_line(lines: list[str], number: int, changed: str) -> Callable[[], str]:
    return lambda: "\n".join([*lines[:number], changed, *lines[number + 1 :]])


def _changes(field: str, line: str, start: int) -> Iterator[tuple[str, str]]:
    body = line[start:]
    figure = None if body.startswith('"') else _NUMBER.search(body.split("basis =")[0].split("source =")[0])
    if figure is not None and not re.match(r"\d{4}-\d\d-\d\d", body):
        whole = "." not in figure[0]
        for label, value in (("x1.1", 1.1), ("x10", 10.0), ("sign", -1.0)):
            new = float(figure[0]) * value
            if new == float(figure[0]):
                continue
            said = str(round(new) if whole and label != "x1.1" else new)
            if whole and label == "x1.1" and "{" not in body and "." not in body:
                said = str(int(float(figure[0])) + 1)
            yield label, line[:start] + body[: figure.start()] + said + body[figure.end() :]
    for word in WORDS.get(field, ()):
        quoted = re.search(r'"([a-z_]+)"', body)
        if quoted and quoted[1] != word:
            yield f"to {word}", line[:start] + body.replace(f'"{quoted[1]}"', f'"{word}"', 1)
            break
    if field in ("components", "hazards", "allergens", "words", "names"):
        yield "first gone", line[:start] + re.sub(r'"[^"]*"(, )?', "", body, count=1)


def _reads(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True
