"""The shapes of rules/sources.toml and rules/materials/: every figure says what it rests on."""

import datetime
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, get_args

from pydantic import Field, RootModel

from advisor.errors import RulesError
from advisor.rulebook.reader import Parsed, entry_in_shape, written_day
from advisor.rulebook.table import Id, Table
from advisor.schema.base import Basis
from advisor.schema.material import Evidenced, Figure, Material


class SourceRules(Table):
    """A document with the place in it and the day it was read, or a way of knowing."""

    title: Annotated[str, Field(min_length=1)]
    place: str = ""
    read: datetime.date | None = None
    basis: Basis

    @property
    def cited(self) -> str:
        """The source in one line."""
        parts = (self.title.rstrip("."), self.place.rstrip("."), written_day(self.read))
        return "; ".join(part for part in parts if part)


class SourcesFile(RootModel[dict[Id, SourceRules]]):
    """rules/sources.toml."""


_FIGURES = {"active", "water", "uptake", "wetting", "price_per_kg"}
_EVIDENCED = {*get_args(Evidenced)}
_FOLDER = "materials/"


def _faults(material: Material) -> Iterator[str]:
    """Yield what of a material rests on nothing."""
    stated = material.model_fields_set
    for name in stated & _FIGURES:
        figure = getattr(material, name)
        if figure is not None and (
            not isinstance(figure, Figure) or figure.basis is None or not figure.source
        ):
            yield f"{name} has no basis or no source"
    for name in stated & _EVIDENCED - (material.evidence or {}).keys():
        yield f"{name} has no evidence (basis and source)"
    if material.basis is None or not material.source:
        yield "the material has no basis or no source"


def library(tables: Parsed, sources: Mapping[str, SourceRules]) -> dict[str, Material]:
    """Return the materials of rules/materials/ by key, with their sources cited.

    Raises
    ------
    RulesError
        A field is missing, unknown or wrong, a key stands twice, or a source is nowhere.
    """
    materials: dict[str, Material] = {}
    for name, table in tables.items():
        if not name.startswith(_FOLDER):
            continue
        for key, entry in table.items():
            where = f"rules/{name}: {key}"
            if key in materials:
                raise RulesError(f"{where} stands twice")
            fields = {"key": key, **_cited(entry, where, sources, keep="composition")}
            materials[key] = entry_in_shape(Material, fields, where)
            for fault in sorted(_faults(materials[key])):
                raise RulesError(f"{where}: {fault}")
    return dict(sorted(materials.items()))


def _cited(entry: Any, where: str, sources: Mapping[str, SourceRules], keep: str = "") -> dict[str, Any]:
    """Return the entry with the id of each source replaced by its citation, all but the table ``keep``."""
    if not isinstance(entry, dict):
        raise RulesError(f"{where} is not a table")
    out: dict[str, Any] = {}
    for name, value in entry.items():
        if name == "source":
            if value not in sources:
                raise RulesError(f"{where}: the source {value!r} is not in rules/sources.toml")
            out[name] = sources[value].cited
        elif isinstance(value, dict) and name != keep:
            out[name] = _cited(value, where, sources)
        else:
            out[name] = value
    return out
