"""Take the told cause of every move away, over the whole grid of corrections, and count the reasons that do not hold.

Usage: python -m tests.soak.causes. Ends with 1 where one does not hold.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from helpers import causes, levers


def main() -> int:
    """Ask, print every reason that does not hold, and count by cause."""
    told: Counter[str] = Counter()
    false = 0
    for asked in levers.grid():
        for one in causes.judged(asked):
            told[one.cause] += 1
            false += not one.holds
            if not one.holds:
                print(f"{one.named}: {one.why} ({one.cause})")
    print(f"{sum(told.values())} reasons, {false} do not hold; causes: {dict(told)}")
    return int(bool(false))


if __name__ == "__main__":
    sys.exit(main())
