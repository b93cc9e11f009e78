"""Asks whether an installed package has a known weakness, and says of which packages nobody could tell.

A finding fails. Where the service gives no answer, or does not know a package, that is said, and is all: a
checkout must be provable offline. Whether it sees anything is tried on a package with a well-known weakness.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

_SECONDS = 300
_HERE = ("--local", "--skip-editable")
_KNOWN_WEAK = "urllib3==1.24.1\n"
_LISTED = 8


def main() -> None:
    """Print what was looked at, what was not, and each finding; leave with 1 if there is any."""
    told, why = _asked(_HERE)
    if told is None:
        print(f"NOT AUDITED: no package was looked at, for the audit gave no answer: {why}")
        return
    sees = _sees_a_known_weakness()
    lines, found = report(told, sees=sees)
    print("\n".join(lines))
    sys.exit(found)


def report(told: Sequence[dict[str, Any]], *, sees: bool) -> tuple[list[str], bool]:
    """Return what is to be said of the packages the audit was asked about, and whether any is weak.

    Parameters
    ----------
    told : sequence of dict
        The audit's answer for each package: its ``vulns``, or ``skip_reason`` where it was not looked at.
    sees : bool
        Whether the audit knew a weakness that everybody knows.
    """
    findings = [line for package in told for line in _findings(package)]
    blind = [package for package in told if "skip_reason" in package or not (sees or package.get("vulns"))]
    looked = len(told) - len(blind)
    lines = [*findings, f"{looked} of {len(told)} packages looked at, {len(findings)} known weaknesses"]
    if blind:
        names = ", ".join(package["name"] for package in blind[:_LISTED])
        more = f" and {len(blind) - _LISTED} more" if len(blind) > _LISTED else ""
        why = "" if sees else "; the service does not know even a famous weakness"
        lines.append(f"NOT AUDITED: {len(blind)} packages ({names}{more}){why}")
    return lines, bool(findings)


def _sees_a_known_weakness() -> bool:
    with tempfile.TemporaryDirectory() as folder:
        asked = Path(folder) / "requirements.txt"
        asked.write_text(_KNOWN_WEAK, encoding="utf-8")
        told, _ = _asked(("--requirement", str(asked), "--no-deps", "--disable-pip"))
    return any(package.get("vulns") for package in told or ())


def _asked(what: Sequence[str]) -> tuple[list[dict[str, Any]] | None, str]:
    """Return the audit's answer for each package; None and the reason where there is no answer."""
    command = [sys.executable, "-m", "pip_audit", *what, "--progress-spinner=off", "--format=json"]
    try:
        asked = subprocess.run(command, capture_output=True, text=True, timeout=_SECONDS, check=False)
        return json.loads(asked.stdout)["dependencies"], ""
    except subprocess.TimeoutExpired:
        return None, f"nothing within {_SECONDS} seconds"
    except (json.JSONDecodeError, KeyError):
        return None, (asked.stderr.strip().splitlines() or ["it said nothing"])[-1]


def _findings(package: dict[str, Any]) -> list[str]:
    name = f"{package['name']} {package.get('version', '')}".strip()
    return [
        f"{name}: {found['id']}, mended in {', '.join(found['fix_versions']) or 'no version yet'}"
        for found in package.get("vulns", ())
    ]


if __name__ == "__main__":
    main()
