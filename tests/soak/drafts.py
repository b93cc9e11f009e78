"""Draw up 300 new bars over random shelves and wishes, judge every option by the independent judge, and say how long.

Usage: python -m tests.soak.drafts [COUNT].
"""

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import advisor
from helpers import shelves


def main() -> None:
    """Ask, judge and tell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    told, slowest, wrong = Counter[str](), 0.0, []
    advisor.draft({"shelf": list(shelves.STAPLES)})
    for seed in range(count):
        body, began = shelves.asked(seed), time.perf_counter()
        try:
            options = advisor.draft(body).model_dump(mode="json")["options"]
        except advisor.AdvisorError as error:
            options = []
            told[error.code] += 1
        slowest = max(slowest, time.perf_counter() - began)
        told["answered"] += bool(options)
        told["options"] += len(options)
        for option in options:
            wrong += [f"{seed}: {what}" for what in shelves.wrong(body, option)]
            wrong += [f"{seed}: {f['id']}" for f in option["findings"] if f["severity"] != "advice"]
    print(f"{count} wishes: {dict(told)}; slowest {slowest:.3f} s; {len(wrong)} faults")
    print("\n".join(wrong[:20]))
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
