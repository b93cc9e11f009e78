"""Ask the whole grid of corrections what a master would leave alone, and count the faults of each kind.

Usage: python -m tests.soak.levers. Ends with 1 where a fault is found, or more than 5 % of the answers move over four lines.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from helpers import levers

_MANY_AT_MOST = 0.05


def main() -> int:
    """Ask, count, and print every fault."""
    counted: Counter[str] = Counter()
    asked_in_all = refused = 0
    for asked in levers.grid():
        asked_in_all += 1
        answer = levers.answered(asked)
        if answer is None:
            refused += 1
            print(f"{asked.named}: no recipe fits")
            continue
        for fault in levers.faults(asked, answer):
            counted[fault.split(":")[0]] += 1
            print(f"{asked.named}: {fault}")
    print(f"{asked_in_all} corrections, {refused} refused, faults: {dict(counted) or 'none'}")
    many = counted.pop("many", 0)
    return int(bool(counted) or many > _MANY_AT_MOST * asked_in_all)


if __name__ == "__main__":
    sys.exit(main())
