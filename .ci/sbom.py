"""Writes which packages are installed here, with version and licence, as a bill of materials (CycloneDX 1.5).

Usage: python .ci/sbom.py FILE
"""

import json
import sys
from importlib.metadata import Distribution, distributions
from pathlib import Path
from typing import Any

_OURS = "dough-advisor"


def main() -> None:
    """Write the bill of materials of this environment."""
    found = {one.metadata["Name"]: one for one in distributions()}
    ours = found.pop(_OURS, None)
    bill: dict[str, Any] = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {
            "component": {"type": "application", "name": _OURS, "version": ours.version if ours else "0"}
        },
        "components": [_component(found[name]) for name in sorted(found, key=str.casefold)],
    }
    Path(sys.argv[1]).write_text(json.dumps(bill, indent=1) + "\n", encoding="utf-8")
    print(f"{len(bill['components'])} packages in {sys.argv[1]}")


def _component(one: Distribution) -> dict[str, Any]:
    name = one.metadata["Name"]
    licence = one.metadata.get("License-Expression") or one.metadata.get("License")
    known = [{"license": {"name": licence.splitlines()[0][:200]}}] if licence and licence.strip() else []
    return {
        "type": "library",
        "name": name,
        "version": one.version,
        "purl": f"pkg:pypi/{name.casefold().replace('_', '-')}@{one.version}",
        **({"licenses": known} if known else {}),
    }


if __name__ == "__main__":
    main()
