"""A stock tool: a material is gone; which recipes hold it, and what does each become?

Usage: python -m samples.stock_tool [ADDRESS], with the server running (``make serve``).
"""

import json
import sys
from pathlib import Path

from samples.asking import ADDRESS, ask

RANGE = Path(__file__).with_name("betaine-gone-from-the-range.json")


def main(address: str = ADDRESS) -> None:
    """Print one line a recipe."""
    body = json.loads(RANGE.read_text(encoding="utf-8"))
    for entry in ask("sweeps", body, address)["answers"]:
        name = body["recipes"][entry["index"]]["name"]
        problem = entry.get("problem")
        if problem and problem["errors"] and problem["errors"][0]["where"] == "/missing":
            print(f"{name}: not touched")
        elif problem:
            print(f"{name}: {problem['detail']}")
        elif not entry["answer"]["options"]:
            print(f"{name}: nothing fits")
        else:
            best = entry["answer"]["options"][0]
            lines = ", ".join(f"{line['material']} {line['percent']:g}" for line in best["recipe"]["lines"])
            print(f"{name}: {best['replacement']} instead; {lines}")


if __name__ == "__main__":
    main(*sys.argv[1:2])
