"""Loads and validates rules/, once and whole."""

import difflib
import hashlib
import os
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from advisor.errors import RulesError
from advisor.frozen import cached_property, dataclass, replace
from advisor.rulebook import kept
from advisor.rulebook.acidity import AcidityRules, PreservationRules
from advisor.rulebook.age import today
from advisor.rulebook.bench import BenchFile, CautionsFile
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.compatibility import Pairs, legal_pairs, pairs_of
from advisor.rulebook.costing import CostingRules, ReworkRules
from advisor.rulebook.dough import DoughRules, PooledFile
from advisor.rulebook.drafts import DraftRules
from advisor.rulebook.drying import DryingRules
from advisor.rulebook.feels import FeelsFile, InUseRules
from advisor.rulebook.ingredient import Ingredient, compile_material, main_component
from advisor.rulebook.label import ClaimsFile, LabelRules
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_files import Laws, law_words, read_laws
from advisor.rulebook.levels import AssessedFile, FindingsFile, FramesFile
from advisor.rulebook.library import SourcesFile, library
from advisor.rulebook.naming import plain
from advisor.rulebook.pairs import PairsFile
from advisor.rulebook.program import ProgramRules
from advisor.rulebook.reader import entry_in_shape, parsed, shaped, texts_of
from advisor.rulebook.strength import StrengthRules
from advisor.rulebook.substances import Substances, SubstancesFile
from advisor.rulebook.substitution import SubstitutionRules
from advisor.rulebook.table import Edition
from advisor.rulebook.weighing import DayRules, RecordRules, WeighingRules
from advisor.schema.material import Material

_NEAREST = 5
_SLIP = 0.8
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
    claims: ClaimsFile
    costing: CostingRules
    day: DayRules
    findings: FindingsFile
    in_use: InUseRules
    pairs: Pairs
    stated: PairsFile
    drafts: DraftRules
    frames: FramesFile
    assessed: AssessedFile
    drying: DryingRules
    label: LabelRules
    acidity: AcidityRules
    preservation: PreservationRules
    strength: StrengthRules
    record: RecordRules
    rework: ReworkRules
    weighing: WeighingRules
    substitution: SubstitutionRules
    substances: Substances
    law_texts: Laws
    law_words: Mapping[str, str]
    ingredients: Mapping[str, Ingredient]

    @cached_property
    def words(self) -> Mapping[str, tuple[str, ...]]:
        """What a maker may report, by kind: feels in their order, and signs."""
        feels = sorted(self.feels.feel, key=lambda feel: self.feels.feel[feel].order)
        return {"feel": tuple(feels), "sign": tuple(self.feels.sign)}

    @property
    def laws(self) -> Mapping[str, LawBook]:
        """The law of each market as it is today."""
        return self.law_texts.on(today())

    def pairs_under(self, law: LawBook | None) -> Pairs:
        """Return which materials must not meet, by the trade and by the law of a market."""
        return self.pairs if law is None else _all_pairs(self.pairs, law)

    @cached_property
    def names(self) -> Mapping[str, tuple[str, ...]]:
        """The keys behind every name a maker gives a material, whatever its case, spaces or hyphens."""
        return _by_name(
            (name, key)
            for key, one in self.ingredients.items()
            for name in (key, one.material.name, *one.material.also)
        )

    @cached_property
    def short_names(self) -> Mapping[str, tuple[str, ...]]:
        """The keys behind what sentences call a material: its name up to the first comma."""
        return _by_name((one.material.name.split(",")[0], key) for key, one in self.ingredients.items())

    @cached_property
    def main_components(self) -> Mapping[str, tuple[str, ...]]:
        """The keys behind the INCI name of what a material holds most of, water apart."""
        return _by_name((main_component(one), key) for key, one in self.ingredients.items())

    def key_named(self, name: str) -> str | None:
        """Return the one key a maker means by a name; None where there is none, or a choice.

        Examples
        --------
        >>> book = load_rulebook()
        >>> book.key_named("Rice Flour"), book.key_named("Cocamidopropyl betaine")
        ('rice-flour', 'betaine-30')
        >>> book.key_named("Sodium Cocoyl Isethionate") is None
        True
        """
        keys = self.names.get(_plain(name)) or self.short_names.get(_plain(name), ())
        return keys[0] if len(keys) == 1 else None

    def nearest_keys(self, key: str, known: Iterable[str]) -> list[str]:
        """Return the keys that come closest to a mistyped one by plain or INCI name, the likeliest first.

        Examples
        --------
        >>> book = load_rulebook()
        >>> book.nearest_keys("Sodium Cocoyl Isethionate", book.ingredients)[:3]
        ['isethionate-noodles', 'isethionate-powder', 'isethionate-prills']
        """
        wanted = _plain(key)
        called = {**self.main_components, **self.names}
        exact = (*self.names.get(wanted, ()), *self.main_components.get(wanted, ()))
        slips = difflib.get_close_matches(wanted, called, n=_NEAREST, cutoff=_SLIP)
        parts = [name for name in self.names if wanted in name]
        alike = difflib.get_close_matches(wanted, called, n=_NEAREST, cutoff=0.6)
        by_name = [found for name in (*slips, *parts, *alike) for found in called[name]]
        close = difflib.get_close_matches(wanted.replace(" ", "-"), sorted(known), n=_NEAREST, cutoff=0.5)
        return list(dict.fromkeys((*exact, *by_name, *close)))[:_NEAREST]


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
    return _packaged() if folder is None else _read(texts_of(folder))


def with_pooled(book: Rulebook, path: Path) -> Rulebook:
    """Return the rules with what many shops found beside them, as the verb ``pool`` wrote it.

    Raises
    ------
    RulesError
        The file cannot be read, does not say what it must, or was pooled under other rules.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise RulesError(f"{path} cannot be read") from error
    pooled = entry_in_shape(PooledFile, parsed(path.name, text), str(path))
    if pooled.rules_version != book.edition:
        raise RulesError(f"{path} was pooled under other rules, {pooled.rules_version}")
    digest = hashlib.sha256(text.encode()).hexdigest()[:12]
    dough = book.dough.model_copy(update={"among": pooled.among_shops})
    return replace(book, dough=dough, edition=f"{book.edition}+{digest}")


@lru_cache(maxsize=1)
def _packaged() -> Rulebook:
    texts, pooled = texts_of(_PACKAGED), os.environ.get("DOUGH_POOLED", "").strip()
    key = kept.key_of(texts)
    book: Rulebook | None = kept.found(key)
    if book is None:
        book = _read(texts)
        kept.keep(key, book)
    return with_pooled(book, Path(pooled)) if pooled else book


def _read(texts: Mapping[str, str]) -> Rulebook:
    tables = {name: parsed(name, text) for name, text in texts.items() if name.endswith(".toml")}
    edition = shaped(Edition, "edition.toml", tables)
    feels = shaped(FeelsFile, "feels.toml", tables)
    words = {"feel": tuple(feels.feel), "sign": tuple(feels.sign)}
    dough = shaped(DoughRules, "dough.toml", tables, words)
    pairs = shaped(PairsFile, "pairs.toml", tables)
    substances = shaped(SubstancesFile, "substances.toml", tables).by_name()
    sources = shaped(SourcesFile, "sources.toml", tables).root
    materials = library(tables, sources)
    return Rulebook(
        edition=f"{edition.edition}+{kept.digest_of(texts)[:12]}",
        dough=dough,
        program=shaped(ProgramRules, "program.toml", tables),
        feels=feels,
        bench=shaped(BenchFile, "bench.toml", tables, words),
        bowl=shaped(BowlRules, "bowl.toml", tables),
        cautions=shaped(CautionsFile, "cautions.toml", tables),
        in_use=shaped(InUseRules, "in_use.toml", tables, words),
        findings=shaped(FindingsFile, "findings.toml", tables),
        pairs=pairs_of(pairs),
        stated=pairs,
        frames=shaped(FramesFile, "frames.toml", tables),
        assessed=shaped(AssessedFile, "assessed.toml", tables),
        drying=shaped(DryingRules, "drying.toml", tables),
        label=shaped(LabelRules, "label.toml", tables),
        acidity=shaped(AcidityRules, "acidity.toml", tables),
        preservation=shaped(PreservationRules, "preservation.toml", tables),
        strength=shaped(StrengthRules, "strength.toml", tables),
        record=shaped(RecordRules, "record.toml", tables),
        weighing=shaped(WeighingRules, "weighing.toml", tables),
        rework=shaped(ReworkRules, "rework.toml", tables),
        day=shaped(DayRules, "day.toml", tables),
        claims=shaped(ClaimsFile, "claims.toml", tables),
        drafts=shaped(DraftRules, "drafts.toml", tables),
        costing=shaped(CostingRules, "costing.toml", tables),
        substitution=shaped(SubstitutionRules, "substitution.toml", tables),
        substances=substances,
        law_texts=read_laws(tables, texts, substances, _innocent(materials.values())),
        law_words=law_words(tables).text,
        ingredients={key: compile_material(material, dough) for key, material in materials.items()},
    )


@lru_cache(maxsize=32)
def _all_pairs(trade: Pairs, law: LawBook) -> Pairs:
    return trade.joined(legal_pairs(law))


def _innocent(materials: Iterable[Material]) -> frozenset[str]:
    """Return the plain names of what the library's materials hold that are no preservatives."""
    others = (material for material in materials if "preservative" not in material.roles)
    return frozenset(plain(name) for material in others for name in material.composition)


def _by_name(named: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for name, key in named:
        found.setdefault(_plain(name), {})[key] = None
    return {name: tuple(keys) for name, keys in found.items()}


def _plain(name: str) -> str:
    """Return a name without case, hyphens and further spaces."""
    return " ".join(name.casefold().replace("-", " ").split())
