"""Where a whole notebook becomes CSV tables in a zip, and tables a notebook again."""

import io
import json
import struct
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import to_json

from advisor.errors import Fault, InvalidRequest
from advisor.schema.lot import LotRow
from advisor.schema.material import Material, UptakeTest
from advisor.schema.notebook import RecipeVersion, StoredDough, Taken
from advisor.tables import read_table, write_table
from api.http.reading import in_steps

_TABLES: dict[str, type[BaseModel]] = {
    "materials": Material,
    "lots": LotRow,
    "uptake_tests": UptakeTest,
    "doughs": StoredDough,
    "recipes": RecipeVersion,
    "taken": Taken,
}
_LATER = ("recipes", "taken")
_MOST_BYTES = 64 * 1024 * 1024
_SAME_DAY = (1980, 1, 1, 0, 0, 0)


def to_zip(text: str) -> bytes:
    """Return a notebook as a zip of one CSV table a kind; the same notebook gives the same bytes.

    Text stands in a cell as it is; whatever has parts stands there as JSON.
    """
    notebook = in_steps(text)
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
    faults: list[Fault] = []
    texts = _texts(raw)
    body: dict[str, Any] = {"format": 2 if _LATER[0] in texts else 1}
    for name, text in texts.items():
        shape = _TABLES[name]
        plain = _plain(shape)
        try:
            rows = read_table(text, {key: one.is_required() for key, one in shape.model_fields.items()})
        except InvalidRequest as error:
            faults.append(Fault(f"/{name}", error.detail.rstrip(".").removeprefix("It ")))
            continue
        body[name] = [_row(row, plain, f"/{name}/{place}", faults) for place, row in enumerate(rows)]
    if faults:
        raise InvalidRequest("Tables of the zip cannot be read; nothing was put in.", faults)
    return body


def _texts(raw: bytes) -> dict[str, str]:
    """Return the text of every table of a zip: all of them, or those of the first format, and nothing else.

    Raises
    ------
    InvalidRequest
    """
    try:
        bundle = zipfile.ZipFile(io.BytesIO(raw))
        found = [one.filename for one in bundle.infolist()]
        later = any(f"{name}.csv" in found for name in _LATER)
        names = [name for name in _TABLES if later or name not in _LATER]
        missing = [f"{name}.csv" for name in names if f"{name}.csv" not in found]
        if missing or len(found) > len(names):
            raise InvalidRequest(
                "The zip must hold the tables of a notebook and nothing else; nothing was put in.",
                [Fault(f"/{name.removesuffix('.csv')}", "is missing") for name in missing],
            )
        if sum(one.file_size for one in bundle.infolist()) > _MOST_BYTES:
            raise InvalidRequest(f"The tables have more than {_MOST_BYTES // 2**20} MiB; nothing was put in.")
        return {name: bundle.read(f"{name}.csv").decode("utf-8-sig") for name in names}
    except (
        zipfile.BadZipFile,
        zlib.error,
        RuntimeError,
        EOFError,
        OSError,
        ValueError,
        struct.error,
    ):
        raise InvalidRequest("The body is no zip of tables in UTF-8; nothing was put in.") from None


def _plain(shape: type[BaseModel]) -> frozenset[str]:
    """Return the fields that are text, which stand in a cell without quotation marks."""
    schema = shape.model_json_schema()
    return frozenset(
        name
        for name, field in schema["properties"].items()
        if {one.get("type") for one in field.get("anyOf", [field])} <= {"string", "null"}
    )


def _cell(value: Any, *, plain: bool) -> str:
    return str(value) if plain else to_json(value).decode()


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
