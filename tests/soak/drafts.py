"""Draw up 300 new bars over random shelves and wishes: every option judged, every refusal proved, and how long it took.

Usage: python -m tests.soak.drafts [COUNT].
"""

import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import advisor
from helpers import draft_conflicts, shelves


def main() -> None:
    """Ask, judge and tell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    told, slowest, computing, wrong = Counter[str](), 0.0, 0.0, []
    advisor.draft({"shelf": list(shelves.STAPLES)})
    for seed in range(count):
        body = shelves.asked(seed)
        wall, cpu = time.perf_counter(), time.process_time()
        answer = answered(body)
        slowest = max(slowest, time.perf_counter() - wall)
        computing = max(computing, time.process_time() - cpu)
        if answer != answered({**body, "shelf": body["shelf"][::-1]}):
            wrong.append(f"{seed}: another answer for another order of the shelf")
        options = answer.get("options", [])
        told["options"] += len(options)
        told[f"{len(options)} options"] += 1
        for option in options:
            wrong += [f"{seed}: {what}" for what in shelves.wrong(body, option)]
            wrong += [f"{seed}: {f['id']}" for f in option["findings"] if f["severity"] != "advice"]
        if len({option["family"] for option in options}) < len(options):
            wrong.append(f"{seed}: two options of one family")
        if not options:
            problem, tasks = draft_conflicts.refused(body, advisor.draft)
            told["conflicts proved by linprog" if tasks else "parts nothing on the shelf fills"] += 1
            wrong += [f"{seed}: {what}" for what in draft_conflicts.faults(body, problem or {}, tasks)]
    print(f"{count} wishes: {dict(told)}; slowest {slowest:.3f} s, {computing:.3f} s of computing")
    print(f"{len(wrong)} faults", *wrong[:20], sep="\n")
    sys.exit(bool(wrong))


def answered(body: dict[str, Any]) -> dict[str, Any]:
    """Return the answer, or the problem without what tells one telling from another."""
    try:
        told: dict[str, Any] = advisor.draft(body).model_dump(mode="json")
    except advisor.AdvisorError as error:
        return error.problem() | {"instance": ""}
    return told


if __name__ == "__main__":
    main()
