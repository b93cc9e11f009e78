"""Loads and validates rules/, once and whole."""

from __future__ import annotations

import difflib
import hashlib
import os
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import RulesError
from advisor.frozen import cached_property, dataclass, fields, replace
from advisor.rulebook import kept
from advisor.rulebook.age import today
from advisor.rulebook.compatibility import Pairs, legal_pairs
from advisor.rulebook.ingredient import Ingredient, main_component
from advisor.rulebook.law import LawBook
from advisor.rulebook.naming import as_typed
from advisor.rulebook.reader import entry_in_shape, parsed, texts_of
from advisor.sums import grouped

if TYPE_CHECKING:
    from advisor.rulebook.acidity import AcidityRules, PreservationRules
    from advisor.rulebook.bench import BenchFile, CautionsFile
    from advisor.rulebook.bowl import BowlRules
    from advisor.rulebook.costing import CostingRules, ReworkRules
    from advisor.rulebook.dough import DoughRules
    from advisor.rulebook.drafts import DraftRules
    from advisor.rulebook.drying import DryingRules
    from advisor.rulebook.feels import FeelsFile, InUseRules
    from advisor.rulebook.label import ClaimsFile, LabelRules
    from advisor.rulebook.law_files import Laws
    from advisor.rulebook.levels import AssessedFile, FindingsFile, FramesFile, StrengthRules
    from advisor.rulebook.pairs import PairsFile
    from advisor.rulebook.program import ProgramRules
    from advisor.rulebook.substances import Substances
    from advisor.rulebook.substitution import SubstitutionRules
    from advisor.rulebook.weighing import DayRules, RecordRules, WeighingRules

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

    def __getstate__(self) -> Mapping[str, Any]:
        """Return what is kept: each part apart, so that its shapes are loaded when it is first asked for."""
        parts = {one.name: getattr(self, one.name) for one in fields(self)}
        return {"law_texts": parts.pop("law_texts"), "_kept": kept.apart(parts)}

    if not TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            """Return a part that was kept."""
            if name not in self.__dict__.get("_kept", ()):
                raise AttributeError(name)
            return self.__dict__.setdefault(name, self._kept[name])

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
        if name in self.ingredients:
            return name
        keys = self.names.get(as_typed(name)) or self.short_names.get(as_typed(name), ())
        return keys[0] if len(keys) == 1 else None

    def nearest_keys(self, key: str, known: Iterable[str]) -> list[str]:
        """Return the keys that come closest to a mistyped one by plain or INCI name, the likeliest first.

        Examples
        --------
        >>> book = load_rulebook()
        >>> book.nearest_keys("Sodium Cocoyl Isethionate", book.ingredients)[:3]
        ['isethionate-noodles', 'isethionate-powder', 'isethionate-prills']
        """
        wanted = as_typed(key)
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
    from advisor.rulebook.dough import PooledFile

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
    from advisor.rulebook.whole import read

    return read(texts)


@lru_cache(maxsize=32)
def _all_pairs(trade: Pairs, law: LawBook) -> Pairs:
    return trade.joined(legal_pairs(law))


def _by_name(named: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    keys_of = grouped((as_typed(name), key) for name, key in named)
    return {name: tuple(dict.fromkeys(keys)) for name, keys in keys_of.items()}
