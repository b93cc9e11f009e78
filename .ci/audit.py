"""Asks whether an installed package has a known weakness.

A finding fails; where the service gives no answer, a warning is all: a checkout must be provable offline.
"""

import json
import subprocess
import sys
from typing import Any

_SECONDS = 300
_ASK = ("-m", "pip_audit", "--local", "--skip-editable", "--progress-spinner=off", "--format=json")


def main() -> None:
    """Print each finding, and leave with 1 if there is any."""
    try:
        asked = subprocess.run(
            [sys.executable, *_ASK], capture_output=True, text=True, timeout=_SECONDS, check=False
        )
        told = json.loads(asked.stdout)
    except subprocess.TimeoutExpired:
        print(f"warning: the audit gave no answer within {_SECONDS} seconds")
        return
    except json.JSONDecodeError:
        reason = asked.stderr.strip().splitlines()[-1:] or ["it said nothing"]
        print(f"warning: the audit gave no answer: {reason[0]}")
        return
    findings = [line for package in told["dependencies"] for line in _findings(package)]
    print("\n".join(findings) or f"{len(told['dependencies'])} packages without a known weakness")
    sys.exit(bool(findings))


def _findings(package: dict[str, Any]) -> list[str]:
    name = f"{package['name']} {package.get('version', '')}".strip()
    return [
        f"{name}: {found['id']}, mended in {', '.join(found['fix_versions']) or 'no version yet'}"
        for found in package.get("vulns", ())
    ]


if __name__ == "__main__":
    main()
