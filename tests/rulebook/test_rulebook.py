"""The rules load whole or not at all, and a broken file is named with its entry."""

import shutil
import tomllib
from pathlib import Path

import pytest

from advisor.errors import RulesError
from advisor.rulebook.load import load_rulebook

HERE = Path(__file__).resolve().parents[1]
RULES = HERE.parent / "rules"
MISTAKES = tomllib.loads((HERE / "broken_rules" / "mistakes.toml").read_text(encoding="utf-8"))


def copied(folder: Path) -> Path:
    return Path(shutil.copytree(RULES, folder / "rules", ignore=shutil.ignore_patterns("__pycache__")))


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_named_with_file_and_entry(mistake: str, tmp_path: Path) -> None:
    entry = MISTAKES[mistake]
    folder = copied(tmp_path)
    path = folder / entry["file"]
    text = path.read_text(encoding="utf-8")
    assert entry["old"] in text
    path.write_text(text.replace(entry["old"], entry["new"], 1), encoding="utf-8")
    with pytest.raises(RulesError) as refusal:
        load_rulebook(folder)
    assert all(name in refusal.value.detail for name in entry["names"]), refusal.value.detail


@pytest.mark.parametrize("figure", ["basis", "source"])
def test_a_figure_without_basis_or_source_does_not_load(figure: str, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    path = folder / "materials" / "water.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8"))["water"]["wetting"]
    written = ", ".join(f'{k} = "{v}"' if isinstance(v, str) else f"{k} = {v}" for k, v in table.items())
    without = ", ".join(
        f'{k} = "{v}"' if isinstance(v, str) else f"{k} = {v}" for k, v in table.items() if k != figure
    )
    text = path.read_text(encoding="utf-8")
    start = text.index("[water]")
    place = text.index("wetting", start)
    line = text[place : text.index("\n", place)]
    assert written.split(",")[0].split("=")[1].strip() in line
    path.write_text(text.replace(line, f"wetting = {{{without}}}", 1), encoding="utf-8")
    with pytest.raises(RulesError, match=r"water.*wetting has no basis or no source"):
        load_rulebook(folder)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / "pairs.toml").unlink()
    with pytest.raises(RulesError, match=r"rules/pairs\.toml is missing"):
        load_rulebook(folder)


def test_the_edition_carries_a_digest_of_every_file(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    same = load_rulebook(folder).edition
    assert same == load_rulebook().edition
    path = folder / "program.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("mover_fee = 1.0", "mover_fee = 1.1"), encoding="utf-8"
    )
    assert load_rulebook(folder).edition.partition("+")[0] == same.partition("+")[0]
    assert load_rulebook(folder).edition != same


def test_every_material_can_be_used_in_a_recipe() -> None:
    rulebook = load_rulebook()
    assert len(rulebook.ingredients) >= 110
    for one in rulebook.ingredients.values():
        assert 0 <= one.active <= 1
        assert 0 <= one.water <= 1
        assert 0 <= one.liquid_cold <= one.liquid_warm <= 1
        assert one.powder("cold") == 0 or one.uptake > 0
        assert one.liquid_warm == 0 or one.wetting > 0
        assert one.price is not None
