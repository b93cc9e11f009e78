"""The first changes that the notes for contributors describe, done in a copy of the rules as they stand there."""

import re
import shutil
from pathlib import Path

import pytest

import advisor
from advisor.rulebook.load import Rulebook, load_rulebook
from api.http.queries import LongPageQuery
from api.resources.rules import feels

HERE = Path(__file__).resolve().parents[2]
STEP = re.compile(r"in `rules/([a-z/.-]+)`[^`]*?```toml\n(.*?)```", re.DOTALL)
ROW = re.compile(r"```csv\n(([a-z-]+),.*\n)```")
LINES = [
    {"material": "isethionate-powder", "percent": 55.0},
    {"material": "spelt-starch", "percent": 13.0},
    {"material": "betaine-30", "percent": 26.0},
    {"material": "glycerin", "percent": 3.0},
    {"material": "stearic-acid", "percent": 3.0},
]
REQUEST = {"recipe": {"lines": LINES}, "report": {"feel": "rubbery", "degree": "slight"}}


@pytest.fixture(scope="module")
def changed(tmp_path_factory: pytest.TempPathFactory) -> Rulebook:
    folder = tmp_path_factory.mktemp("copy") / "rules"
    shutil.copytree(HERE / "rules", folder, ignore=shutil.ignore_patterns("__pycache__"))
    text = (HERE / "DEVELOPERS.md").read_text(encoding="utf-8").replace("`route` saying", "route saying")
    steps = STEP.findall(text)
    assert len(steps) == 4
    for name, block in steps:
        with (folder / name).open("a", encoding="utf-8") as file:
            file.write(f"\n{block}")
    [(row, entry)] = ROW.findall(text)
    table = folder / "law" / "eu" / "preservatives.csv"
    rows = table.read_text(encoding="utf-8").splitlines(keepends=True)
    table.write_text(
        "".join(row if one.startswith(f"{entry},") else one for one in rows), encoding="utf-8", newline=""
    )
    return load_rulebook(folder)


def test_a_new_word_is_known_in_every_verb_that_hears_a_report(changed: Rulebook) -> None:
    corrected = advisor.correct(REQUEST, rulebook=changed)
    assert corrected.status == "unchanged"
    assert "rest-the-rubber" in {item.id for item in corrected.advice}
    grams = [{"material": line["material"], "grams": line["percent"] * 2} for line in LINES]
    bowl = {"recipe": {"lines": grams}, "report": REQUEST["report"], "balance_step": 0.1}
    assert "rest-the-rubber" in {item.id for item in advisor.add(bowl, rulebook=changed).advice}
    past = [{"recipe": REQUEST["recipe"], "report": REQUEST["report"]}]
    assert advisor.assess({"recipe": REQUEST["recipe"], "history": past}, rulebook=changed).checks
    kept = advisor.record({**REQUEST, "batch_grams": 200.0}, rulebook=changed).record
    assert kept.report is not None and kept.report.feel == "rubbery"


def test_a_new_word_is_no_word_elsewhere(changed: Rulebook) -> None:
    with pytest.raises(advisor.AdvisorError) as refusal:
        advisor.correct({"recipe": {"lines": LINES[:1]}, "report": REQUEST["report"]})
    assert refusal.value.problem()["errors"][0]["where"] == "/report/feel"


@pytest.mark.parametrize("degree", ["slight", "clear", "severe"])
def test_a_new_word_teaches_nothing_until_its_class_is_told(changed: Rulebook, degree: str) -> None:
    asked = {"recipe": REQUEST["recipe"]}
    without = advisor.assess(asked, rulebook=changed).consistency
    for feel, teaches in (("rubbery", False), ("too_wet", True)):
        past = [{"recipe": REQUEST["recipe"], "report": {"feel": feel, "degree": degree}}] * 3
        taught = advisor.assess({**asked, "history": past}, rulebook=changed).consistency
        assert (taught != without) == teaches, feel


def test_a_new_word_is_listed_with_its_picture(changed: Rulebook) -> None:
    listed = feels(changed, LongPageQuery())
    new = next(item for item in listed.items if item.feel == "rubbery")
    assert (new.name, new.order, new.asks_degree, new.picture) == ("Rubbery", 7, True, "workable")


def test_a_new_material_has_its_figures(changed: Rulebook) -> None:
    with pytest.raises(advisor.AdvisorError):
        advisor.assess({"recipe": {"lines": LINES}})
    answer = advisor.assess({"recipe": {"lines": LINES}}, rulebook=changed)
    assert any("gluten" in item.text for item in answer.cautions)
    assert advisor.label({"recipe": {"lines": LINES}, "market": "eu"}, rulebook=changed).ingredients[2] == (
        "Triticum Spelta Starch"
    )


def test_a_most_share_is_a_check_everywhere(changed: Rulebook) -> None:
    weighed = advisor.weigh(
        {"recipe": {"lines": LINES}, "batch_grams": 500.0, "balance_step": 0.1}, rulebook=changed
    )
    for checks in (
        advisor.assess({"recipe": {"lines": LINES}}, rulebook=changed).checks,
        advisor.correct(REQUEST, rulebook=changed).checks,
        weighed.checks,
    ):
        palm = next(check for check in checks if check.name == "palm-derived matter")
        assert (palm.max, palm.ok, palm.source) == (40.0, palm.value <= 40.0, "our own rule")
        assert palm.value > 0


def test_a_changed_limit_is_held_where_the_law_is_asked(changed: Rulebook) -> None:
    lines = [LINES[0], *LINES[2:], {"material": "phenoxyethanol-blend", "percent": 13.0}]
    asked = {"recipe": {"lines": lines}, "wishes": {"market": "eu"}}
    report = {"feel": "too_wet", "degree": "slight"}
    for rules, limit in ((load_rulebook(), 1.0), (changed, 0.8)):
        held = [one for one in advisor.assess(asked, rulebook=rules).checks if "Phenoxyethanol" in one.about]
        assert {one.max for one in held if one.kind == "law"} == {limit}
        assert not any(one.ok for one in held if one.kind == "law")
        corrected = advisor.correct({**asked, "report": report}, rulebook=rules)
        found = [one for one in corrected.checks if "Phenoxyethanol" in one.about and one.kind == "law"]
        assert found and all(one.ok and one.max == limit for one in found)
