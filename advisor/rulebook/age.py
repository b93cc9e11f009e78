"""The day that answers are given on, and how old a text is by then."""

import calendar
import datetime
import os

_DAY = "DOUGH_TODAY"


def today() -> datetime.date:
    """Return the day answers are given on: ``DOUGH_TODAY`` as 2026-11-28, else that of this machine.

    Raises
    ------
    ValueError
        ``DOUGH_TODAY`` is no date.
    """
    given = os.environ.get(_DAY)
    return datetime.date.fromisoformat(given) if given else datetime.date.today()


def whole_months(since: datetime.date, until: datetime.date) -> int:
    """Return the whole months between two days.

    Examples
    --------
    >>> whole_months(datetime.date(2025, 10, 31), datetime.date(2026, 11, 28))
    12
    >>> whole_months(datetime.date(2025, 10, 31), datetime.date(2026, 4, 30))
    6
    """
    months = 12 * (until.year - since.year) + until.month - since.month
    last = calendar.monthrange(until.year, until.month)[1]
    return months - (until.day < min(since.day, last))
