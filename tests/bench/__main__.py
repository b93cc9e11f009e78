"""Every figure that must hold, then what the notebook costs and brings.

Usage: python -m tests.bench [--write] [--long]; see ``tests.bench.full``.
"""

import sys

from tests.bench import full, learning


def main() -> int:
    """Print the tables."""
    refused = full.main(sys.argv[1:])
    if not refused and "--write" not in sys.argv:
        learning.main()
    return refused


if __name__ == "__main__":
    sys.exit(main())
