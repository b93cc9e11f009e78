"""Lists the laws that are due to be read again: ``python -m advisor.law.age``, what ``make law-age`` runs."""

import datetime
import sys

from advisor.rulebook.age import today, whole_months
from advisor.rulebook.law_files import Laws

_AHEAD = datetime.timedelta(days=30)


def due(laws: Laws, day: datetime.date) -> tuple[str, ...]:
    """Return the markets whose law is to be read again within thirty days, or was to be."""
    return tuple(market for market, head in laws.files.items() if day >= head.review_by - _AHEAD)


def main() -> int:
    """Print the age of every law; return 1 where a review is due within thirty days."""
    from advisor.rulebook.load import load_rulebook

    laws, day = load_rulebook().law_texts, today()
    waiting = due(laws, day)
    for market, head in laws.files.items():
        months = whole_months(head.text_of, day)
        said = "due" if market in waiting else "in time"
        sys.stdout.write(
            f"{market}  text of {head.text_of}, {months} months old; verified {head.verified_on}, "
            f"to be read again by {head.review_by}: {said}\n"
        )
    return 1 if waiting else 0


if __name__ == "__main__":
    sys.exit(main())
