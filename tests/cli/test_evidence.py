"""What a shop hands on and what is made of it, on the command line."""

import tomllib
from pathlib import Path

import pytest

from advisor.cli.main import main
from advisor.experiment.remember import remember
from advisor.pooling.shared import SharedEvidence

LINES = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
DOUGH = {
    "recipe": {"name": "Heron bar", "lines": LINES},
    "report": {"feel": "too_wet"},
    "made_on": "2026-05-04",
}


@pytest.fixture
def doughs(monkeypatch: pytest.MonkeyPatch) -> list[dict]:
    """Return the doughs of the shop's notebook, to be filled by the test."""
    kept: list[dict] = []
    monkeypatch.setattr("advisor.cli.shop.notebook_of", lambda _: remember({"format": 1, "doughs": kept}))
    return kept


def test_what_is_handed_on_is_pooled_and_names_nobody(
    doughs: list[dict], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    doughs += [DOUGH] * 6
    assert main(["share-evidence"]) == 0
    text = capsys.readouterr().out
    assert SharedEvidence.model_validate_json(text).keys == ("centre", "isethionate-powder")
    assert not any(word in text for word in ("Heron", "betaine", "2026-05-04", "too_wet"))
    folder = tmp_path / "shops"
    folder.mkdir()
    for name in ("a", "b", "c"):
        assert main(["share-evidence", "-o", str(folder / f"{name}.json")]) == 0
    (folder / "torn.json").write_text(text[:40], encoding="utf-8")
    assert main(["pool", str(folder), "-o", str(tmp_path / "pooled.toml")]) == 0
    told = capsys.readouterr().out
    assert "from 3 of 4 files" in told
    assert "torn.json: it is no evidence" in told
    table = tomllib.loads((tmp_path / "pooled.toml").read_text(encoding="utf-8"))
    assert {key: one["shops"] for key, one in table["among_shops"].items()} == {
        "centre": 3,
        "isethionate-powder": 3,
    }


@pytest.mark.usefixtures("doughs")
def test_a_shop_without_doughs_has_nothing_to_hand_on(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["share-evidence"]) != 0
    assert "no judged dough yet" in capsys.readouterr().err


def test_a_pool_of_no_evidence_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    torn = tmp_path / "torn.json"
    torn.write_text("{", encoding="utf-8")
    assert main(["pool", str(torn), "-o", str(tmp_path / "pooled.toml")]) != 0
    assert "None of the files" in capsys.readouterr().err
    assert not (tmp_path / "pooled.toml").exists()
