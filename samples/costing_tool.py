"""A costing tool: what does the same bar cost at the least, within its strength and its limits?

Usage: python -m samples.costing_tool [ADDRESS], with the server running (``make serve``).
"""

import json
import sys
from pathlib import Path

from samples.asking import ADDRESS, ask

BAR = Path(__file__).with_name("least-cost.json")


def main(address: str = ADDRESS) -> None:
    """Print both prices and the lines that moved."""
    body = json.loads(BAR.read_text(encoding="utf-8"))
    answer = ask("corrections", body, address)
    if "code" in answer:
        print(answer["detail"])
        return
    before, after = (answer[when]["totals"]["price_per_kg"] for when in ("before", "after"))
    print(f"{body['recipe']['name']}: {before:.2f} per kg as it is, {after:.2f} at the least")
    for change in answer["changes"]:
        print(f"  {change['material']}: {change['before']:g} % to {change['after']:g} %")


if __name__ == "__main__":
    main(*sys.argv[1:2])
