"""Where a whole notebook becomes CSV tables in a zip, and tables a notebook again."""

import io
import json
import zipfile
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from advisor.errors import Fault, InvalidRequest
from advisor.schema.lot import LotRow
from advisor.schema.material import Material
from advisor.schema.notebook import StoredDough
from advisor.schema.uptake_test import UptakeTest
from advisor.tables import read_table, write_table

_TABLES: dict[str, type[BaseModel]] = {
    "materials": Material,
    "lots": LotRow,
    "uptake_tests": UptakeTest,
    "doughs": StoredDough,
}
_MOST_BYTES = 64 * 1024 * 1024
_SAME_DAY = (1980, 1, 1, 0, 0, 0)


def to_zip(text: str) -> bytes:
    """Return a notebook as a zip of one CSV table a kind; the same notebook gives the same bytes.

    Text stands in a cell as it is; whatever has parts stands there as JSON.
    """
    notebook = json.loads(text)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as bundle:
        for name, shape in _TABLES.items():
            plain = _plain(shape)
            rows = [{k: _cell(v, plain=k in plain) for k, v in row.items()} for row in notebook[name]]
            table = write_table(rows, list(shape.model_fields))
            bundle.writestr(zipfile.ZipInfo(f"{name}.csv", _SAME_DAY), table, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def from_zip(raw: bytes) -> dict[str, Any]:
    """Return the notebook a zip of tables holds, as a body that is still to be checked.

    Raises
    ------
    InvalidRequest
        It is no such zip, or cells cannot be read; each is named.
    """
    try:
        bundle = zipfile.ZipFile(io.BytesIO(raw))
        sizes = {one.filename: one.file_size for one in bundle.infolist()}
        if set(sizes) - {f"{name}.csv" for name in _TABLES} or sum(sizes.values()) > _MOST_BYTES:
            raise InvalidRequest("The zip holds other files than the tables of a notebook.")
        texts = {name.removesuffix(".csv"): bundle.read(name).decode("utf-8-sig") for name in sizes}
    except (zipfile.BadZipFile, UnicodeDecodeError, NotImplementedError, RuntimeError, OSError):
        raise InvalidRequest("The body is no zip of tables in UTF-8.") from None
    faults: list[Fault] = []
    body: dict[str, Any] = {"format": 1}
    for name, text in texts.items():
        plain = _plain(_TABLES[name])
        body[name] = [
            _row(row, plain, f"/{name}/{place}", faults) for place, row in enumerate(read_table(text))
        ]
    if faults:
        raise InvalidRequest("Cells of the tables cannot be read; nothing was put in.", faults)
    return body


def _plain(shape: type[BaseModel]) -> frozenset[str]:
    """Return the fields that are text, which stand in a cell without quotation marks."""
    schema = shape.model_json_schema()
    return frozenset(
        name
        for name, field in schema["properties"].items()
        if all(_is_text(one) for one in field.get("anyOf", [field]) if one.get("type") != "null")
    )


def _is_text(field: Mapping[str, Any]) -> bool:
    return field.get("type") == "string"


def _cell(value: Any, *, plain: bool) -> str:
    return str(value) if plain else json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _row(row: Mapping[str, str], plain: frozenset[str], where: str, faults: list[Fault]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, cell in row.items():
        if name in plain:
            found[name] = cell
            continue
        try:
            found[name] = json.loads(cell)
        except (json.JSONDecodeError, RecursionError):
            faults.append(Fault(f"{where}/{name}", "is neither a number nor JSON"))
    return found
