"""How figures, masses and days are written and read where a maker lives: by settings, never by a guess."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Self

GRAMS_PER_OUNCE = 28.349523125
"""Avoirdupois [g]: the international yard and pound agreement, 1959."""
_GRAMS = {
    "g": 1.0,
    "gram": 1.0,
    "grams": 1.0,
    "kg": 1000.0,
    "oz": GRAMS_PER_OUNCE,
    "ounces": GRAMS_PER_OUNCE,
    "ounce": GRAMS_PER_OUNCE,
}
_DECIMALS_AT_MOST = 6
_DECIMALS = {"": None, "point": ".", "comma": ","}
_DATES = {"": None, "iso": "%Y-%m-%d", "day-first": "%d %b %Y", "month-first": "%b %d, %Y"}
_PLAIN = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
_MASS = re.compile(r"(?P<figure>.*?\d)\s*(?P<unit>[a-z]*)", re.IGNORECASE)
_EITHER = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_GROUPED = re.compile(r"[+-]?(\d+|\d{1,3}([.,]\d{3})+)([eE][+-]?\d+)?")
_FIGURE = re.compile(r"(?<![\w.,:/-])([+-]?\d+)\.(\d+)(?![\w:/-]|\.\d)")
_DAY = re.compile(r"(?<![\w-])(\d{4})-(\d\d)-(\d\d)(?![\w-])")
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})")
_WRITTEN_DAYS = ("%d.%m.%Y", "%d %b %Y", "%d %B %Y", "%b %d, %Y", "%B %d, %Y")


class Unclear(ValueError):
    """A figure or a day can be read in two ways, or in none."""


def figure(value: float, decimals: int = 4) -> str:
    """Return a figure with at most so many decimals and no empty ones.

    Examples
    --------
    >>> figure(12345.6), figure(2.0), figure(0.12345), figure(-0.00001)
    ('12345.6', '2', '0.1235', '0')
    """
    told = f"{value:.{decimals}f}"
    shown = told.rstrip("0").rstrip(".") if "." in told else told
    return "0" if shown == "-0" else shown


def counted(number: int, word: str) -> str:
    """Return how many there are, in words.

    Examples
    --------
    >>> counted(1, "dough"), counted(12, "dough")
    ('1 dough', '12 doughs')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"


def decimals(value: float, bounds: Sequence[float], unit: str) -> int:
    """Return how many decimals tell a value from its bounds and show three figures of each.

    Examples
    --------
    >>> decimals(46.558, [47.5], "%"), decimals(0.00171, [0.0015], "%"), decimals(1.0004, [1.0], "%")
    (2, 5, 4)
    """
    digits = 2 if unit == "%" else 3
    small = min((abs(one) for one in (value, *bounds) if one), default=1.0)
    digits = max(digits, math.ceil(-math.log10(small)) + 2 if small < 0.1 else 0)
    while digits < _DECIMALS_AT_MOST and any(
        value != bound and round(value, digits) == round(bound, digits) for bound in bounds
    ):
        digits += 1
    return digits


def behind(unit: str) -> str:
    """Return a unit as it stands behind a figure; that of a plain ratio, "1", is not written.

    Examples
    --------
    >>> behind("%"), behind("1")
    (' %', '')
    """
    return "" if unit == "1" else f" {unit}"


def in_state(name: str, state: str) -> str:
    """Return a demand by name, with the dried bar behind it where it is looked at there and no name says so.

    Examples
    --------
    >>> in_state("zinc ricinoleate", "as_dried"), in_state("zinc ricinoleate", "as_made")
    ('zinc ricinoleate in the dried bar', 'zinc ricinoleate')
    >>> in_state("active matter of the dried bar", "as_dried")
    'active matter of the dried bar'
    """
    return f"{name} in the dried bar" if state == "as_dried" and "dried" not in name else name


def between(low: float | None, high: float | None, decimals: int = 4) -> str:
    """Return one bound or two, at least one of them given.

    Examples
    --------
    >>> between(0.5, None), between(None, 2.0), between(0.5, 2.0)
    ('at least 0.5', 'at most 2', '0.5 to 2')
    """
    if low is None or high is None:
        return (
            f"at most {figure(high or 0.0, decimals)}" if low is None else f"at least {figure(low, decimals)}"
        )
    return f"{figure(low, decimals)} to {figure(high, decimals)}"


@dataclass(frozen=True)
class Writing:
    """How figures and days are written.

    Parameters
    ----------
    decimal : str, optional
        What parts the decimals, a point or a comma; None writes a point and reads both.
    day : str, optional
        The form of a day as ``strftime`` takes it; None is 2031-03-09.

    Examples
    --------
    >>> Writing.of({"DOUGH_DECIMAL": "comma", "DOUGH_DATES": "day-first"}).text("12.5 g on 2031-03-09")
    '12,5 g on 09 Mar 2031'
    """

    decimal: str | None = None
    day: str | None = None

    @classmethod
    def of(cls, environment: Mapping[str, str]) -> Self:
        """Return what the settings say: ``DOUGH_DECIMAL`` and ``DOUGH_DATES``.

        Raises
        ------
        ValueError
            A setting has no such value; its name is in the message.
        """
        found = []
        for name, words in (("DOUGH_DECIMAL", _DECIMALS), ("DOUGH_DATES", _DATES)):
            word = environment.get(name, "").strip()
            if word not in words:
                raise ValueError(f"{name} must be {' or '.join(filter(None, words))}")
            found.append(words[word])
        return cls(*found)

    def text(self, text: str) -> str:
        """Return a text with its figures and days as they are written here."""
        if self.decimal == ",":
            text = _FIGURE.sub(r"\1,\2", text)
        if self.day is not None:
            text = _DAY.sub(self._day, text)
        return text

    def _day(self, found: re.Match[str]) -> str:
        try:
            return date(*map(int, found.groups())).strftime(self.day or "")
        except ValueError:
            return found[0]

    def number(self, text: str) -> float:
        """Return a figure as people write it.

        Raises
        ------
        Unclear
            It is none, or means one thing with a decimal comma and another without.

        Examples
        --------
        >>> [Writing().number(one) for one in ("12,5", "1.250,5", "1'250.5", "0.1")]
        [12.5, 1250.5, 1250.5, 0.1]
        >>> Writing(",").number("1,250"), Writing(".").number("1,250"), Writing(",").number("1.250")
        (1.25, 1250.0, 1250.0)
        >>> Writing(",").number("12.5"), Writing(".").number("12,5")
        (12.5, 12.5)
        """
        bare = re.sub(r"[\s\u00a0\u202f'\u2019]", "", text)
        decimal = self._decimal_of(bare)
        plain = bare.replace("." if decimal == "," else ",", "").replace(decimal, ".")
        if not _PLAIN.fullmatch(plain) or not _GROUPED.fullmatch(bare.partition(decimal)[0]):
            raise Unclear(f"{text!r} is no number")
        return float(plain)

    def _decimal_of(self, bare: str) -> str:
        """Return what parts the decimals of a figure.

        Raises
        ------
        Unclear
        """
        signs = re.findall(r"[.,]", bare)
        if len(signs) == 1 and _EITHER.fullmatch(bare):
            if self.decimal is None and signs == [","]:
                whole, parted = bare.replace(",", ""), bare.replace(",", ".")
                raise Unclear(f"{bare!r} may be {whole} or {float(parted):g}: write which")
            return self.decimal or "."
        if len(signs) > 1 and len(set(signs)) == 1:
            return "." if signs[0] == "," else ","
        return signs[-1] if signs else "."

    def grams(self, text: str) -> float:
        """Return a mass [g]; without a unit it is in grams.

        Raises
        ------
        Unclear

        Examples
        --------
        >>> Writing().grams("500"), Writing().grams("0,5 kg"), round(Writing().grams("16 oz"), 2)
        (500.0, 500.0, 453.59)
        """
        found = _MASS.fullmatch(text.strip())
        if found is None or found["unit"].lower() not in ("", *_GRAMS):
            raise Unclear(f"{text!r} is no mass in g, kg or oz")
        return self.number(found["figure"]) * _GRAMS.get(found["unit"].lower(), 1.0)

    def date(self, text: str) -> str:
        """Return a day as in 2031-03-09.

        Raises
        ------
        Unclear
            It is none, or day and month can be told in two orders.

        Examples
        --------
        >>> [Writing().date(one) for one in ("2031-03-09", "9.3.2031", "9 Mar 2031", "31/3/2031")]
        ['2031-03-09', '2031-03-09', '2031-03-09', '2031-03-31']
        """
        for form in ("%Y-%m-%d", *_WRITTEN_DAYS, *self._slashed(text)):
            try:
                return datetime.strptime(text.strip(), form).date().isoformat()
            except ValueError:
                continue
        raise Unclear(f"{text!r} is no day: it needs a date as in 2031-03-09")

    def _slashed(self, text: str) -> tuple[str, ...]:
        """Return the order of day and month between slashes, where it is known.

        Raises
        ------
        Unclear
        """
        found = _SLASHED.fullmatch(text.strip())
        if self.day is not None and self.day[1] in "db":
            return ("%d/%m/%Y",) if self.day.startswith("%d") else ("%m/%d/%Y",)
        if found is not None and found[1] != found[2] and max(map(int, found.groups()[:2])) <= 12:
            raise Unclear(
                f"{text!r} may be the {found[1]}. or the {found[2]}. of a month: write it as in 2031-03-09"
            )
        return ("%d/%m/%Y", "%m/%d/%Y")

    def among(self, cells: Iterable[str]) -> Self:
        """Return how a column is written, where its clear cells tell what the settings do not."""
        told = {cell[sign.start()] for cell in cells for sign in _clear(cell)}
        return type(self)(told.pop(), self.day) if self.decimal is None and len(told) == 1 else self


def _clear(cell: str) -> list[re.Match[str]]:
    """Return the sign that can only part decimals in a cell, if there is one."""
    signs = list(re.finditer(r"[.,]", cell))
    decimals = len(re.findall(r"\d", cell[signs[-1].end() :])) if signs else 0
    clear = signs and (
        decimals != 3 or len({sign[0] for sign in signs}) == 2 or cell.lstrip().startswith("0")
    )
    return signs[-1:] if clear else []
