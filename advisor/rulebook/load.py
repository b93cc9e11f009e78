"""Loads and validates rules/, once and whole."""

import difflib
import hashlib
import tomllib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from advisor.errors import RulesError
from advisor.rulebook.acidity import AcidityRules, PreservationRules
from advisor.rulebook.bench import BenchFile, CautionsFile
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.compatibility import legal_pairs
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.drying import DryingRules
from advisor.rulebook.feels import FeelsFile
from advisor.rulebook.ingredient import Ingredient, compile_material, main_component
from advisor.rulebook.label import LabelRules
from advisor.rulebook.law import LawBook, Substances, read_law, read_substances
from advisor.rulebook.levels import AssessedFile, FramesFile
from advisor.rulebook.pairs import PairRules, PairsFile
from advisor.rulebook.program import ProgramRules
from advisor.rulebook.record import RecordRules
from advisor.rulebook.strength import StrengthRules
from advisor.rulebook.substitution import SubstitutionRules
from advisor.rulebook.table import Edition
from advisor.rulebook.weighing import WeighingRules
from advisor.schema.material import Evidenced, Figure, Material

Shape = TypeVar("Shape", bound=BaseModel)
_FIGURES = ("active", "water", "uptake", "wetting", "price_per_kg")
_EVIDENCED = get_args(Evidenced)
_NEAREST = 5
_PACKAGED = Path(__file__).resolve().parents[2] / "rules"


@dataclass(frozen=True)
class Rulebook:
    """Every rule of the trade, validated; nothing in it changes after loading."""

    edition: str
    dough: DoughRules
    program: ProgramRules
    feels: FeelsFile
    bench: BenchFile
    bowl: BowlRules
    cautions: CautionsFile
    pairs: PairsFile
    frames: FramesFile
    assessed: AssessedFile
    drying: DryingRules
    label: LabelRules
    acidity: AcidityRules
    preservation: PreservationRules
    strength: StrengthRules
    record: RecordRules
    weighing: WeighingRules
    substitution: SubstitutionRules
    substances: Substances
    laws: Mapping[str, LawBook]
    legal_pairs: Mapping[str, tuple[PairRules, ...]]
    tables: Mapping[str, Mapping[str, Any]]
    ingredients: Mapping[str, Ingredient]

    @cached_property
    def words(self) -> Mapping[str, tuple[str, ...]]:
        """What a maker may report, by kind: feels in their order, and signs."""
        feels = sorted(self.feels.feel, key=lambda feel: self.feels.feel[feel].order)
        return {"feel": tuple(feels), "sign": tuple(self.feels.sign)}

    @cached_property
    def _pairs(self) -> Mapping[str, tuple[PairRules, ...]]:
        return {market: (*self.pairs.pair, *legal) for market, legal in self.legal_pairs.items()}

    def pairs_in(self, market: str) -> tuple[PairRules, ...]:
        """Return which materials must not meet, by the trade and by the law of a market."""
        return self._pairs.get(market, self.pairs.pair)

    @cached_property
    def names(self) -> Mapping[str, tuple[str, ...]]:
        """The keys behind every name a maker gives a material, whatever its case, spaces or hyphens."""
        return _by_name(
            (name, key)
            for key, one in self.ingredients.items()
            for name in (key, one.material.name, *one.material.also)
        )

    @cached_property
    def main_components(self) -> Mapping[str, tuple[str, ...]]:
        """The keys behind the INCI name of what a material holds most of, water apart."""
        return _by_name((main_component(one), key) for key, one in self.ingredients.items())

    def key_named(self, name: str) -> str | None:
        """Return the one key a maker means by a name; None where there is none, or a choice.

        Examples
        --------
        >>> book = load_rulebook()
        >>> book.key_named("Rice Flour"), book.key_named("Sodium Cocoyl Isethionate")
        ('rice-flour', None)
        """
        keys = self.names.get(_plain(name), ())
        return keys[0] if len(keys) == 1 else None

    def nearest_keys(self, key: str, known: Iterable[str]) -> list[str]:
        """Return the keys that come closest to a mistyped one, by spelling, plain name or INCI name.

        Examples
        --------
        >>> book = load_rulebook()
        >>> book.nearest_keys("Sodium Cocoyl Isethionate", book.ingredients)[:3]
        ['isethionate-noodles', 'isethionate-powder', 'isethionate-prills']
        """
        wanted = _plain(key)
        exact = (*self.names.get(wanted, ()), *self.main_components.get(wanted, ()))
        close = difflib.get_close_matches(wanted.replace(" ", "-"), sorted(known), n=_NEAREST, cutoff=0.5)
        parts = [name for name in self.names if wanted in name]
        named = difflib.get_close_matches(wanted, list(self.names), n=_NEAREST, cutoff=0.6)
        by_name = (found for name in (*parts, *named) for found in self.names[name])
        return list(dict.fromkeys((*exact, *close, *by_name)))[:_NEAREST]


def load_rulebook(folder: Path | None = None) -> Rulebook:
    """Load the packaged rules once, or those of a folder.

    Raises
    ------
    RulesError
        A file is missing, is no TOML, or an entry does not say what it must; file and entry are named.

    Examples
    --------
    >>> load_rulebook().ingredients["water"].water
    1.0
    """
    return _packaged() if folder is None else _load(folder)


@lru_cache(maxsize=1)
def _packaged() -> Rulebook:
    return _load(_PACKAGED)


def _load(folder: Path) -> Rulebook:
    texts = dict(sorted(_texts(folder)))
    parsed = {name: _parse(name, text) for name, text in texts.items()}
    edition = _shaped(Edition, "edition.toml", parsed)
    digest = hashlib.sha256("\0".join(f"{name}\0{text}" for name, text in texts.items()).encode())
    feels = _table("feels.toml", parsed)
    words = {kind: tuple(feels.get(kind, ())) for kind in ("feel", "sign")}
    dough = _shaped(DoughRules, "dough.toml", parsed, words)
    substances = read_substances(_table("substances.toml", parsed))
    laws = {
        book.market: book
        for name, table in parsed.items()
        if name.startswith("limits/")
        for book in [read_law(table, substances, name)]
    }
    sources = _sources(_table("sources.toml", parsed))
    materials = _materials(parsed, sources)
    return Rulebook(
        edition=f"{edition.edition}+{digest.hexdigest()[:12]}",
        dough=dough,
        program=_shaped(ProgramRules, "program.toml", parsed),
        feels=_shaped(FeelsFile, "feels.toml", parsed),
        bench=_shaped(BenchFile, "bench.toml", parsed, words),
        bowl=_shaped(BowlRules, "bowl.toml", parsed),
        cautions=_shaped(CautionsFile, "cautions.toml", parsed),
        pairs=_shaped(PairsFile, "pairs.toml", parsed),
        frames=_shaped(FramesFile, "frames.toml", parsed),
        assessed=_shaped(AssessedFile, "assessed.toml", parsed),
        drying=_shaped(DryingRules, "drying.toml", parsed),
        label=_shaped(LabelRules, "label.toml", parsed),
        acidity=_shaped(AcidityRules, "acidity.toml", parsed),
        preservation=_shaped(PreservationRules, "preservation.toml", parsed),
        strength=_shaped(StrengthRules, "strength.toml", parsed),
        record=_shaped(RecordRules, "record.toml", parsed),
        weighing=_shaped(WeighingRules, "weighing.toml", parsed),
        substitution=_shaped(SubstitutionRules, "substitution.toml", parsed),
        substances=substances,
        laws=laws,
        legal_pairs={market: legal_pairs(law) for market, law in laws.items()},
        tables=parsed,
        ingredients={key: compile_material(material, dough) for key, material in materials.items()},
    )


def _by_name(named: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for name, key in named:
        found.setdefault(_plain(name), {})[key] = None
    return {name: tuple(keys) for name, keys in found.items()}


def _plain(name: str) -> str:
    """Return a name without case, hyphens and further spaces."""
    return " ".join(name.casefold().replace("-", " ").split())


def _texts(folder: Path) -> Iterable[tuple[str, str]]:
    for path in folder.rglob("*.toml"):
        yield path.relative_to(folder).as_posix(), path.read_text(encoding="utf-8")


def _parse(name: str, text: str) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulesError(f"rules/{name} is not TOML: {error}") from error


def _table(name: str, parsed: Mapping[str, Mapping[str, Any]]) -> Mapping[str, Any]:
    if name not in parsed:
        raise RulesError(f"rules/{name} is missing")
    return parsed[name]


def _shaped(
    shape: type[Shape],
    name: str,
    parsed: Mapping[str, Mapping[str, Any]],
    words: Mapping[str, Collection[str]] | None = None,
) -> Shape:
    try:
        return shape.model_validate(_table(name, parsed), context={"words": words or {}})
    except ValidationError as error:
        raise RulesError(f"rules/{name}: {_faults_of(error)}") from error


def _faults_of(error: ValidationError) -> str:
    return "; ".join(
        f"{'.'.join(map(str, fault['loc'])) or 'entry'}: {fault['msg']}" for fault in error.errors()
    )


def _sources(table: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Return the citation and the basis of each source by id."""
    cited = {}
    for key, entry in table.items():
        for needed in ("title", "basis"):
            if not isinstance(entry, dict) or not entry.get(needed):
                raise RulesError(f"rules/sources.toml: {key} has no {needed}")
        read = f"read {entry['read']}" if entry.get("read") else ""
        parts = (str(entry["title"]).rstrip("."), str(entry.get("place", "")).rstrip("."), read)
        cited[key] = ("; ".join(part for part in parts if part), str(entry["basis"]))
    return cited


def _materials(
    parsed: Mapping[str, Mapping[str, Any]], sources: Mapping[str, tuple[str, str]]
) -> dict[str, Material]:
    materials: dict[str, Material] = {}
    for name, table in parsed.items():
        if not name.startswith("materials/"):
            continue
        for key, entry in table.items():
            where = f"rules/{name}: {key}"
            if key in materials:
                raise RulesError(f"{where} stands twice")
            materials[key] = _material(key, entry, where, sources)
    return dict(sorted(materials.items()))


def _material(key: str, entry: Any, where: str, sources: Mapping[str, tuple[str, str]]) -> Material:
    try:
        material = Material.model_validate({"key": key, **_cited(entry, where, sources, keep="composition")})
    except ValidationError as error:
        raise RulesError(f"{where}: {_faults_of(error)}") from error
    for name in _FIGURES:
        figure = getattr(material, name)
        stated = name in material.model_fields_set and figure is not None
        if stated and (not isinstance(figure, Figure) or figure.basis is None or not figure.source):
            raise RulesError(f"{where}: {name} has no basis or no source")
    for name in _EVIDENCED:
        if name in material.model_fields_set and name not in (material.evidence or {}):
            raise RulesError(f"{where}: {name} has no evidence (basis and source)")
    if material.basis is None or not material.source:
        raise RulesError(f"{where}: the material has no basis or no source")
    return material


def _cited(entry: Any, where: str, sources: Mapping[str, tuple[str, str]], keep: str = "") -> dict[str, Any]:
    """Return the entry with the id of each source replaced by its citation, all but the table ``keep``."""
    if not isinstance(entry, dict):
        raise RulesError(f"{where} is not a table")
    out: dict[str, Any] = {}
    for name, value in entry.items():
        if name == "source":
            if value not in sources:
                raise RulesError(f"{where}: the source {value!r} is not in rules/sources.toml")
            out[name] = sources[value][0]
        elif isinstance(value, dict) and name != keep:
            out[name] = _cited(value, where, sources)
        else:
            out[name] = value
    return out
