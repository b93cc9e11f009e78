"""Rules that are kept are those that were read, and whatever is not them is read anew."""

import datetime
import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from advisor import assess, correct
from advisor.frozen import fields
from advisor.rulebook import kept, load, whole
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.rulebook.reader import texts_of

ROOT = Path(__file__).resolve().parents[2]
TEXTS = texts_of(ROOT / "rules")
MARKETS = ("eu", "uk", "us", "ca", "jp")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setattr(kept, "_PLACE", tmp_path / "cache" / "kept.rules")
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    load._packaged.cache_clear()
    yield tmp_path / "cache" / "kept.rules"
    load._packaged.cache_clear()


@pytest.fixture
def read(place: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return how often rules were read whole."""
    times: list[str] = []
    reading = load._read
    monkeypatch.setattr(load, "_read", lambda texts: times.append("read") or reading(texts))
    return times


def again() -> Rulebook:
    load._packaged.cache_clear()
    return load_rulebook()


def test_what_is_kept_is_what_was_read(read: list[str]) -> None:
    first, second = load_rulebook(), again()
    assert read == ["read"]
    for one in fields(first):
        if one.name not in ("law_texts", "pairs", "ingredients"):
            assert getattr(first, one.name) == getattr(second, one.name), one.name
    for key, ours in first.ingredients.items():
        theirs = second.ingredients[key]
        assert all(getattr(ours, one.name) == getattr(theirs, one.name) for one in fields(ours)), key
    for market in MARKETS:
        assert first.law_texts.rows[market] == second.law_texts.rows[market]
        law, same = first.laws[market], second.laws[market]
        assert [one.id for one in law.every_limit] == [one.id for one in same.every_limit]
        assert law.head == same.head
    assert first.law_texts.changes == second.law_texts.changes


@pytest.mark.parametrize("sample", ["wet-betaine-dough", "greasy-crumbling-dough", "least-cost"])
def test_kept_rules_answer_as_those_that_are_read(sample: str, read: list[str]) -> None:
    body = json.loads((ROOT / "samples" / f"{sample}.json").read_text(encoding="utf-8"))
    asked = [{"recipe": body["recipe"], "wishes": {"market": market}} for market in MARKETS]
    first = [assess(one) for one in asked]
    load._packaged.cache_clear()
    assert [assess(one) for one in asked] == first
    assert read == ["read"]


def test_nothing_that_was_worked_out_is_kept(place: Path) -> None:
    """Some of it goes by the identity of things, which another process has not."""
    correct(json.loads((ROOT / "samples" / "wet-betaine-dough.json").read_text(encoding="utf-8")))
    found = kept.found(kept.key_of(TEXTS))
    assert set(vars(found)) == {"_kept", "law_texts"}
    assert {*found._kept, "law_texts"} == {one.name for one in fields(Rulebook)}
    assert set(vars(found.pairs)) == {"pairs", "sides", "stated"}
    for law in found.laws.values():
        assert set(vars(law)) == {one.name for one in fields(type(law))}


@pytest.mark.parametrize("day", ["2025-01-01", "2026-11-29", "2031-02-03"])
def test_a_kept_law_finds_what_its_lists_say_on_any_day(
    day: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DOUGH_TODAY", "2026-11-29")
    load_rulebook()
    law = again().law_texts.on(datetime.date.fromisoformat(day))["eu"]
    read = whole.read(TEXTS).law_texts.on(datetime.date.fromisoformat(day))["eu"]
    assert [one.source for one in law.every_limit] == [one.source for one in read.every_limit]
    for one in (*read.prohibited, *read.every_limit):
        for name in one.names:
            found = law.index.find(name)
            assert [two.source for two in found] == [two.source for two in read.index.find(name)]
            assert all(two in law.prohibited or two in law.every_limit for two in found)
            assert law.index.near(f"{name}x") == read.index.near(f"{name}x")
        for name in getattr(one, "helps", ()):
            assert [two.source for two in law.helps.find(name)] == [
                two.source for two in read.helps.find(name)
            ]


def test_a_part_loads_no_shapes_of_another(place: Path) -> None:
    load_rulebook()
    kept_at = f"from advisor.rulebook import kept; kept._PLACE = kept.Path({str(place)!r})"
    asked = "from advisor.rulebook.load import load_rulebook; load_rulebook().ingredients['kaolin'].water"
    told = "import sys; print([name for name in sys.modules if name.startswith('advisor.rulebook.')])"
    run = [sys.executable, "-c", f"{kept_at}; {asked}; {told}"]
    loaded = subprocess.run(run, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    assert "advisor.rulebook.ingredient" in loaded
    for shapes in ("bowl", "drying", "substitution", "weighing", "drafts", "costing", "whole"):
        assert f"advisor.rulebook.{shapes}'" not in loaded


def cut(held: bytes) -> bytes:
    return held[:-1]


def turned(held: bytes) -> bytes:
    return held[:-9] + bytes([held[-9] ^ 1]) + held[-8:]


def foreign(held: bytes) -> bytes:
    return b"0" * 32 + kept.packed("2001.1.1")


def empty(held: bytes) -> bytes:
    return b""


@pytest.mark.parametrize("made", [cut, turned, foreign, empty])
def test_a_damaged_or_foreign_copy_is_read_anew(
    made: Callable[[bytes], bytes], place: Path, read: list[str]
) -> None:
    edition = load_rulebook().edition
    held = place.read_bytes()
    place.write_bytes(made(held))
    assert again().edition == edition
    assert read == ["read", "read"]
    assert place.read_bytes()[32:64] == held[32:64]


def test_changed_rules_shapes_or_pydantic_are_read_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    key = kept.key_of(TEXTS)
    name, text = next(iter(TEXTS.items()))
    assert kept.key_of({**TEXTS, name: f"{text} "}) != key
    monkeypatch.setattr(kept, "VERSION", "0.0.0")
    assert kept.key_of(TEXTS) != key
    monkeypatch.undo()
    monkeypatch.setattr(kept, "_SHAPES", kept._SHAPES[:1])
    assert kept.key_of(TEXTS) != key


def test_where_nothing_may_be_written_nothing_is_kept(
    place: Path, read: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    load_rulebook()
    assert not place.exists()
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    place.parent.write_text("no folder")
    assert again().edition == again().edition
    assert read == ["read"] * 3
