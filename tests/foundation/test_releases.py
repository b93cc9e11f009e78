"""The notes of a release are drafted from CHANGELOG.md, from the last version that has a tag on."""

from pathlib import Path

import pytest

from tests.foundation.test_promises import module

CHANGELOG = (
    "# Changes\n\nHead.\n\n## 0.3.0 (unreleased)\n\n### Added\n- A.\n\n## 0.2.1\n- B.\n\n## 0.2.0\n- C.\n"
)


def test_the_draft_goes_back_to_the_last_release(root: Path) -> None:
    notes = module(root, "release_notes").notes
    drafted = notes(CHANGELOG, "0.3.0", "0.2.0", "2031.1")
    assert drafted == (
        "# dough-advisor 0.3.0\n\nRules of the edition 2031.1.\n\n### Added\n- A.\n\n## 0.2.1\n\n- B.\n"
    )
    assert "- C." in notes(CHANGELOG, "0.3.0", None, "2031.1")


@pytest.mark.parametrize(("version", "released"), [("0.3.0", "0.3.0"), ("0.4.0", "0.2.0")])
def test_nothing_new_is_no_draft(root: Path, version: str, released: str) -> None:
    with pytest.raises(ValueError, match=f"nothing new of {version}"):
        module(root, "release_notes").notes(CHANGELOG, version, released, "2031.1")


def test_this_version_has_notes(root: Path) -> None:
    told = (root / "CHANGELOG.md").read_text(encoding="utf-8")
    assert "### " in module(root, "release_notes").notes(told, "0.1.0", None, "2031.1")
