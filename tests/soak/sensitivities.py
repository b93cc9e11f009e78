"""Ask the sensitivities of 1 000 generated corrections again, half of them at the least price, and count the untrue.

Usage: python -m tests.soak.sensitivities. Ends with 1 where one is untrue.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from helpers import eased

_SEEDS = range(500)


def main() -> int:
    """Ask, print what is untrue, and count."""
    told = list(eased.wrong(_SEEDS))
    untrue = [text for text, off in told if off]
    print(*untrue, sep="\n")
    print(f"{2 * len(_SEEDS)} corrections, {len(told)} sensitivities asked again, {len(untrue)} untrue")
    return int(bool(untrue))


if __name__ == "__main__":
    sys.exit(main())
