"""No figure of the rules changes by accident."""

import tomllib

from tests.rulebook.checksums import KEPT, checksums


def test_every_figure_is_the_one_that_was_meant() -> None:
    kept = tomllib.loads(KEPT.read_text(encoding="utf-8"))
    changed = sorted(name for name, digest in checksums().items() if kept.get(name) != digest)
    assert changed == [], (
        "if the change was meant: python -m tests.rulebook.checksums, and a line in CHANGELOG.md"
    )
    assert set(kept) == set(checksums())
