"""Wish one exact strength of 300 generated recipes, twice each, and count invented conflicts and misses.

Usage: python -m tests.soak.exact_wishes. Ends with 1 where one is found.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from helpers import exact_wishes

RECIPES = 300


def main() -> int:
    """Ask, print every fault, and count."""
    found = [(seed, fault) for seed in range(RECIPES) for fault in exact_wishes.faults(seed)]
    wrong = [f"{seed}: {fault}" for seed, fault in found if fault]
    print(*wrong, sep="\n")
    print(f"{RECIPES} recipes, {len(found)} exact wishes, {len(wrong)} faults")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
