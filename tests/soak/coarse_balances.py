"""Hold a thousand bowls on coarse balances against the finest, and measure additions and recoveries.

Usage: python -m tests.soak.coarse_balances [BOWLS], a thousand unless told. Fails where a line or the sum of all is
off the finest balance by more than a step.
"""

import sys
import time

import advisor
from tests.helpers.coarse_balances import COARSE, worst_steps_off
from tests.helpers.long_recipes import failed_bowl, over_weighed

BOWLS = 1_000
LENGTHS = (12, 40, 200)
SEEDS = 5


def processor_seconds(lines: int) -> tuple[float, float]:
    """Return the most an addition and a recovery of so many lines take [s of processor time]."""
    slowest = []
    for task, made in ((advisor.add, failed_bowl), (advisor.recover, over_weighed)):
        times = []
        for seed in range(SEEDS):
            body = made(lines, seed)
            task(body)
            begun = time.process_time()
            task(body)
            times.append(time.process_time() - begun)
        slowest.append(max(times))
    return slowest[0], slowest[1]


def main(bowls: int) -> int:
    """Print the figures; return 1 where a bowl is off by more than a step."""
    worst = 0.0
    for step in COARSE:
        by_line, by_sum = worst_steps_off(range(bowls), step)
        print(f"{step:g} g: a line is off by {by_line:.3f} steps at most, the sum by {by_sum:.3f}")
        worst = max(worst, by_line, by_sum)
    for lines in LENGTHS:
        addition, recovery = processor_seconds(lines)
        print(f"{lines} lines: addition {1000 * addition:.0f} ms, recovery {1000 * recovery:.0f} ms at most")
    return int(worst > 1.0 + 1e-3)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else BOWLS))
