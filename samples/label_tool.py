"""A label tool: a recipe was corrected; must its ingredient list be printed anew?

Usage: python -m samples.label_tool [ADDRESS], with the server running (``make serve``).
"""

import json
import sys
from pathlib import Path

from samples.asking import ADDRESS, ask

FAILED = Path(__file__).with_name("wet-betaine-dough.json")


def main(address: str = ADDRESS) -> None:
    """Print the new list, and what moved in it."""
    body = json.loads(FAILED.read_text(encoding="utf-8"))
    before = ask("labels", {"recipe": body["recipe"], "market": "eu"}, address)
    corrected = ask("corrections", body, address)
    asked = {"recipe": corrected["recipe"], "market": "eu", "previous": before["ingredients"]}
    after = ask("labels", asked, address)
    print(", ".join(after["ingredients"]))
    changes = after["order_changed_from"]
    if any(changes.values()):
        told = (f"{what} {', '.join(names)}" for what, names in changes.items() if names)
        print(f"Print it anew: {'; '.join(told)}.")
    else:
        print("The printed list stays true.")


if __name__ == "__main__":
    main(*sys.argv[1:2])
