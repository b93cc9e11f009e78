"""Drafts the notes of a release: what CHANGELOG.md says since the last version that has a tag."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

from advisor.rulebook.load import load_rulebook

ROOT = Path(__file__).resolve().parent.parent
_SECTION = re.compile(r"^## (?P<version>\S+)[^\n]*\n(?P<said>.*?)(?=^## |\Z)", re.MULTILINE | re.DOTALL)


def notes(changelog: str, version: str, released: str | None, rules: str) -> str:
    """Return the draft: every section above the one of the version that was released last.

    Raises
    ------
    ValueError
        Nothing is said of the version, or nothing is new.
    """
    sections = [(found["version"], found["said"].strip()) for found in _SECTION.finditer(changelog)]
    versions = [name for name, _ in sections]
    new = sections[: versions.index(released)] if released in versions else sections
    if version not in dict(new):
        raise ValueError(f"CHANGELOG.md says nothing new of {version}.")
    told = [said if name == version else f"## {name}\n\n{said}" for name, said in new]
    return "\n\n".join([f"# dough-advisor {version}", f"Rules of the edition {rules}.", *told]) + "\n"


def last_release() -> str | None:
    """Return the version of the newest tag that is one, None without."""
    tags = subprocess.run(
        ["git", "tag", "--merged", "HEAD", "--sort=-v:refname"],  # noqa: S607
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    versions = [tag.removeprefix("v") for tag in tags]
    return next((version for version in versions if re.fullmatch(r"\d+(\.\d+)+", version)), None)


def main() -> None:
    """Print the draft; leave with a message where there is nothing to tell."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        version = tomllib.load(file)["project"]["version"]
    try:
        said = notes(
            (ROOT / "CHANGELOG.md").read_text(encoding="utf-8"),
            version,
            last_release(),
            load_rulebook().edition,
        )
    except ValueError as nothing:
        sys.exit(str(nothing))
    sys.stdout.write(said)


if __name__ == "__main__":
    main()
