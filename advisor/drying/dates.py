"""Turns hours of drying into days to look at a bar again."""

import datetime
import math

from advisor.drying.curve import Interval
from advisor.rulebook.drying import DryRules
from advisor.schema.drying import DryingDates, SellDates

_HOURS_PER_DAY = 24.0


def drying_dates(
    made_on: datetime.date, first_hours: float, weighed_at: float | None, dry_after: Interval, rules: DryRules
) -> DryingDates:
    """Return when to weigh next, handle, wrap and sell a bar.

    Parameters
    ----------
    made_on : date
        The day it was shaped.
    first_hours : float
        Hours from shaping to the first weighing, from which ``dry_after`` counts.
    weighed_at : float, optional
        Hours from shaping to the last weighing; None before there is one.
    dry_after : Interval
        Hours until it is dry.

    Examples
    --------
    >>> rules = DryRules(loss_percent_per_day=0.2, handling_days=2.0, basis="practice", source="bench")
    >>> dates = drying_dates(datetime.date(2026, 3, 30), 0.0, 48.0, Interval(120.0, 168.0, 290.0), rules)
    >>> dates.weigh_next.isoformat(), dates.handle.isoformat(), dates.sell.latest.isoformat()
    ('2026-04-02', '2026-04-01', '2026-04-12')
    """

    def after(hours: float) -> datetime.date:
        days = min(math.ceil(hours / _HOURS_PER_DAY - 1e-9), (datetime.date.max - made_on).days)
        return made_on + datetime.timedelta(days=days)

    handle = after(_HOURS_PER_DAY * rules.handling_days)
    earliest, typical, latest = (
        max(handle, after(first_hours + hours))
        for hours in (dry_after.low, dry_after.typical, dry_after.high)
    )
    return DryingDates(
        weigh_next=after(_HOURS_PER_DAY + (weighed_at or 0.0)),
        handle=handle,
        wrap=typical,
        sell=SellDates(earliest=earliest, typical=typical, latest=latest),
    )
