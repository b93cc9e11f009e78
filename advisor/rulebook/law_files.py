"""Reads rules/law/: the heads and lists of every market, and the law as it is on one day."""

import datetime
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import Any, get_args

from advisor.errors import RulesError
from advisor.frozen import Lazily, cached_property, dataclass, fields
from advisor.rulebook.age import today
from advisor.rulebook.kept import apart
from advisor.rulebook.law import LawBook, LawFile, Rows, carried_over, joined, law_book
from advisor.rulebook.law_lists import LimitRow, ListName, ProhibitedRow, Row
from advisor.rulebook.reader import Parsed, rows_of, shaped
from advisor.rulebook.substances import Substances
from advisor.rulebook.table import Worded

FOLDER = "law/"
_HEAD = "market.toml"
_SHAPES: Mapping[str, type[Row]] = {"prohibited": ProhibitedRow}


class LawWords(Worded):
    """rules/law/verdicts.toml: what is said of a material by the lists of a law."""


@dataclass(frozen=True)
class Laws:
    """The law of every market, as it is on any day."""

    files: Mapping[str, LawFile]
    rows: Mapping[str, Rows]
    changes: Sequence[datetime.date]
    substances: Substances
    innocent: frozenset[str]

    @cached_property
    def _periods(self) -> dict[int, Mapping[str, LawBook]]:
        return {}

    def on(self, day: datetime.date) -> Mapping[str, LawBook]:
        """Return the law of each market as it is on a day; the same books between two changes."""
        books = Lazily(self.files, lambda market: self._book(market, day))
        return self._periods.setdefault(bisect_right(self.changes, day), books)

    def _book(self, market: str, day: datetime.date) -> LawBook:
        try:
            return law_book(self.files[market], self.rows[market], self.substances, day, self.innocent)
        except RulesError as error:
            raise RulesError(f"rules/{FOLDER}{market}: {error.detail}") from error

    def __getstate__(self) -> Mapping[str, Any]:
        """Return what is kept: the lists, and each market's law as it is today."""
        day = today()
        periods = {bisect_right(self.changes, day): apart(self.on(day))}
        return {one.name: getattr(self, one.name) for one in fields(self)} | {"_periods": periods}


def read_laws(
    tables: Parsed, texts: Mapping[str, str], substances: Substances, innocent: frozenset[str]
) -> Laws:
    """Read the law of every market.

    Raises
    ------
    RulesError
        A field is missing, unknown or wrong, an entry stands twice, or a law follows one that is not there.
    """
    heads = [name for name in tables if name.startswith(FOLDER) and name.endswith(_HEAD)]
    files = {name.split("/")[1]: shaped(LawFile, name, tables) for name in heads}
    own = {market: _lists(market, texts) for market in files}
    rows: dict[str, Rows] = {}
    for market, file in files.items():
        if file.market != market:
            raise RulesError(f"rules/{FOLDER}{market}/{_HEAD}: market is {file.market}")
        if file.follows is not None and file.follows.market not in own:
            raise RulesError(
                f"rules/{FOLDER}{market}/{_HEAD}: follows {file.follows.market}, which is not there"
            )
        followed = carried_over(own[file.follows.market], file.follows) if file.follows else {}
        rows[market] = joined(own[market], followed)
        _checked(market, rows[market])
    laws = Laws(files, apart(rows), _changes(rows), substances, innocent)
    tuple(laws.on(today()).values())
    return laws


def _changes(laws: Mapping[str, Rows]) -> list[datetime.date]:
    """Return the days on which an entry begins or ends to apply."""
    rows = (row for lists in laws.values() for some in lists.values() for row in some)
    days = {day for row in rows for day in (row.applies_from, row.applies_until) if day is not None}
    return sorted(days)


def _lists(market: str, texts: Mapping[str, str]) -> Rows:
    found: dict[ListName, tuple[Row, ...]] = {}
    for name in get_args(ListName):
        file = f"{FOLDER}{market}/{name}.csv"
        if file in texts:
            found[name] = rows_of(_SHAPES.get(name, LimitRow), file, texts[file])
    return found


def _checked(market: str, rows: Rows) -> None:
    """Refuse limits of one market with the same id, and exclusions that name none."""
    limits = [row for some in rows.values() for row in some if isinstance(row, LimitRow)]
    ids = [row.id for row in limits]
    known = set(ids)
    twice = {one for one in ids if ids.count(one) > 1} if len(ids) > len(known) else set()
    for one in sorted(twice):
        raise RulesError(f"rules/{FOLDER}{market}: {one} stands twice")
    for row in limits:
        for other in set(row.not_with) - known:
            raise RulesError(f"rules/{FOLDER}{market}: {row.id}: not_with names {other}, which is no limit")
