"""The lists of every law: each figure at its boundary, each ban by each name, and innocent names left alone."""

import csv
import datetime
import itertools
import re
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

import rules
from advisor import assess, correct, substitute
from advisor.errors import NoRecipeFits
from advisor.law.notes import list_notes
from advisor.recipe.measures import Measures
from advisor.rulebook.ingredient import Ingredient, compile_material
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_lists import Limit, Prohibited
from advisor.rulebook.load import load_rulebook
from advisor.rulebook.naming import plain
from advisor.rulebook.verdicts import STANDS_OUT, judged
from advisor.schema.material import Material

LAW = Path(rules.__file__).parent / "law"
BOOK = load_rulebook()
MARKETS = sorted(BOOK.laws)
CAUGHT = {"prohibited", "conditional", "trace"}
INNOCENT = (Path(__file__).parent / "innocent_names.txt").read_text(encoding="utf-8").splitlines()


def rows(market: str, name: str) -> list[dict[str, str]]:
    path = LAW / market / f"{name}.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines())) if path.exists() else []


def holding(name: str, role: str = "filler", percent: float = 100.0, **numbers: str) -> Ingredient:
    composition = {name: percent} | ({"Stone": 100 - percent} if percent < 100 else {})
    identifiers = {name: numbers} if numbers else {}
    fields = {"key": "one", "name": "One", "form": "powder", "roles": [role], "water": 0}
    made = Material.model_validate({**fields, "composition": composition, "identifiers": identifiers})
    return compile_material(made, BOOK.dough)


def role_of(limit: Limit) -> str:
    if limit.listed_in == "colourants":
        return "colourant"
    return "preservative" if limit.purpose == "preserving" else "filler"


LIMITS = [(market, limit) for market in MARKETS for limit in BOOK.laws[market].limits]


@pytest.mark.parametrize(("market", "limit"), LIMITS, ids=[f"{m}-{one.id}" for m, one in LIMITS])
def test_every_limit_counts_each_of_its_names(market: str, limit: Limit) -> None:
    for used_on in sorted(limit.used_on):
        for name in limit.components:
            found = judged(holding(name, role_of(limit)), BOOK.laws[market], used_on).counted
            assert found[limit.id] == pytest.approx(limit.weight(name)), name
            assert 0 < limit.weight(name) < 3.0


# Entries that one name brings into several limits: the tightest is the boundary.
@pytest.mark.parametrize(("market", "limit"), LIMITS, ids=[f"{m}-{one.id}" for m, one in LIMITS])
def test_just_under_passes_and_just_over_fails_as_made_and_dried(market: str, limit: Limit) -> None:
    assert limit.max is not None
    used_on = sorted(limit.used_on)[0]
    name = limit.components[0]
    if limit.max / limit.weight(name) > 40:
        pytest.skip("more than a recipe can hold")

    def checks(percent: float) -> dict[str, dict[str, Any]]:
        composition = {name: 100 * percent / 50, "Stone": 100 - 100 * percent / 50}
        fields = {"key": "mix", "name": "Mix", "form": "powder", "roles": [role_of(limit)], "water": 0}
        answer = assess(
            {
                "recipe": {
                    "lines": [{"material": "mix", "percent": 50}, {"material": "stearic-acid", "percent": 50}]
                },
                "materials": [{**fields, "composition": composition}],
                "wishes": {"market": market, "used_on": used_on},
            }
        )
        return {
            check.state: check.model_dump()
            for check in answer.checks
            if check.source == limit.source and check.name == limit.name
        }

    least = limit.max / limit.weight(name)
    under, over = checks(least * 0.997), checks(least * 1.003)
    assert [under[state]["ok"] for state in ("as_made", "as_dried")] == [True, True]
    assert [over[state]["ok"] for state in ("as_made", "as_dried")] == [False, False]


def read_again(written: str) -> float:
    """Return a maximum from the source's own words: the first figure, by its unit."""
    figure = re.search(r"(\d+(?:[.,]\d+)?)\s*(%|ppm|mg/kg|g\b|$|as total|of a solution)?", written)
    assert figure, written
    value = float(figure[1].replace(",", "."))
    return value / 10_000 if figure[2] in ("ppm", "mg/kg") else value


@pytest.mark.parametrize("market", MARKETS)
def test_every_figure_is_what_its_source_says(market: str) -> None:
    for name in ("restricted", "preservatives", "colourants"):
        for row in rows(market, name):
            assert bool(row["max"]) == (bool(row["written"]) and row["written"] != "○"), row["id"]
            if row["max"] and "solution" not in row["written"]:
                assert float(row["max"]) == pytest.approx(read_again(row["written"])), row["id"]


def ban_of(one: Ingredient, market: str) -> set[str]:
    return {verdict.kind for verdict in judged(one, BOOK.laws[market], "hand_and_body").verdicts}


# A component is written in at most this many letters; so many names of each law are longer.
LONGEST = 200
TOO_LONG = {"eu": 12, "uk": 12}


@pytest.mark.parametrize("market", MARKETS)
def test_every_banned_name_and_number_is_caught(market: str) -> None:
    too_long = 0
    for entry in BOOK.laws[market].prohibited:
        written = [name for name in entry.names if len(name) <= LONGEST]
        too_long += len(entry.names) - len(written)
        assert written, entry.source
        for name in written:
            found = ban_of(holding(name), market)
            assert found & CAUGHT, (entry.source, name)
            if entry.when:
                assert "prohibited" not in found or _absolute_too(market, name)
    assert too_long == TOO_LONG.get(market, 0)
    for row, kind in itertools.product(rows(market, "prohibited"), ("cas", "ec")):
        for number in filter(None, row[kind].split(" | ")):
            assert ban_of(holding("Something Else", **{kind: number}), market) & CAUGHT, (kind, number)


def test_a_banned_name_that_no_recipe_can_hold_is_refused_and_its_substance_found_otherwise() -> None:
    for entry in BOOK.laws["eu"].prohibited:
        for name in (name for name in entry.names if len(name) > LONGEST):
            with pytest.raises(ValidationError):
                holding(name)
            others = [other for other in entry.names if len(other) <= LONGEST]
            assert any(ban_of(holding(other), "eu") & CAUGHT for other in others), name


def _absolute_too(market: str, name: str) -> bool:
    entries = BOOK.laws[market].index.find(name)
    return any(isinstance(one, Prohibited) and not one.when for one in entries)


@pytest.mark.parametrize("market", MARKETS)
def test_innocent_names_raise_nothing(market: str) -> None:
    assert len(INNOCENT) >= 200
    loud = {name: kinds for name in INNOCENT if (kinds := ban_of(holding(name), market))}
    assert loud == {}


# What the library's own materials are told, and why: a dye carrier, preservatives that Japan does not list.
LIBRARY = {
    ("eu", "charcoal", "for-colour"),
    ("uk", "charcoal", "for-colour"),
    ("us", "charcoal", "for-colour"),
    ("jp", "benzyl-alcohol-blend", "unlisted"),
    ("jp", "caprylhydroxamic-blend", "unlisted"),
    ("jp", "diazolidinyl-blend", "unlisted"),
    ("jp", "dehydroacetic-blend", "unlisted"),
}


def test_the_library_raises_only_what_it_should() -> None:
    told = {
        (market, key, verdict.kind)
        for market, law in BOOK.laws.items()
        for key, one in BOOK.ingredients.items()
        for verdict in judged(one, law, "hand_and_body").verdicts
    }
    assert told == LIBRARY


def test_a_number_finds_the_substance_it_belongs_to() -> None:
    """A number of the library counts toward no limit that does not name its component as well."""
    for law in BOOK.laws.values():
        for one in BOOK.ingredients.values():
            limits = {limit.id: limit for limit in law.limits}
            for key, names in judged(one, law, "hand_and_body").touched.items():
                if key not in limits:
                    continue
                known = {plain(name) for name in limits[key].components}
                assert {plain(name) for name in names} <= known, (law.head.market, one.key, key)


@pytest.mark.parametrize(
    "written",
    [
        "PHENOXYETHANOL",
        " phenoxy\u00e9thanol",
        "Phenoxyethanol (Preservative)",
        "2-Phenoxyethanol",
        "122-99-6",
        "204-589-7",
    ],
)
def test_one_substance_is_found_however_it_is_written(written: str) -> None:
    found = judged(holding(written, "preservative"), BOOK.laws["eu"], "face")
    assert "phenoxyethanol" in found.counted


@pytest.mark.parametrize(
    "written", ["2-Phenoxy Ethanol", "Phenoxyethanole", "Imidazolidinyl Ureea", "Chlorofrom Chloroform"]
)
def test_a_near_miss_is_asked(written: str) -> None:
    found = judged(holding(written), BOOK.laws["eu"], "face").verdicts
    assert ("near" in {verdict.kind for verdict in found}) == (written != "Chlorofrom Chloroform")


DOUGH = {"isethionate-powder": 60.0, "kaolin": 9.0, "betaine-30": 25.0, "glycerin": 5.0}
BANE = {
    "key": "bane",
    "name": "Bane",
    "form": "powder",
    "roles": ["filler"],
    "composition": {"Chloroform": 100},
}


def dough(**more: float) -> dict[str, Any]:
    lines = {**DOUGH, **{key.replace("_", "-"): of for key, of in more.items()}}
    lines["kaolin"] += 1.0 - sum(more.values())
    return {"lines": [{"material": key, "percent": of} for key, of in lines.items()]}


@pytest.mark.parametrize("market", MARKETS)
def test_a_ban_fails_is_never_fetched_and_goes_where_the_recipe_is_corrected(market: str) -> None:
    asked = {"materials": [BANE], "wishes": {"market": market}}
    answer = assess({**asked, "recipe": dough(bane=0.5)})
    failing = [check for check in answer.checks if check.kind == "law" and not check.ok]
    assert [check.about for check in failing] == [("Chloroform",)]
    assert "law-prohibited-chloroform" in [note.id for note in answer.cautions]
    corrected = correct({**asked, "recipe": dough(), "shelf": ["bane"], "report": {"feel": "too_wet"}})
    assert "bane" not in {line.material for line in corrected.recipe.lines}
    swapped = substitute({**asked, "recipe": dough(), "missing": "kaolin", "replacements": ["bane"]})
    assert [(one.replacement, one.rule) for one in swapped.rejected] == [
        ("bane", "law-prohibited-chloroform")
    ]
    with pytest.raises(NoRecipeFits):
        held = {**asked["wishes"], "fixed": ["bane"]}
        correct({**asked, "wishes": held, "recipe": dough(bane=0.5), "report": {"feel": "too_wet"}})


@pytest.mark.parametrize("market", ["eu", "uk", "jp"])
def test_an_unlisted_preservative_is_looked_up_and_never_offered(market: str) -> None:
    own = {
        "key": "new-guard",
        "name": "New guard",
        "form": "liquid",
        "roles": ["preservative"],
        "composition": {"Guardium": 100},
    }
    asked = {"materials": [own], "wishes": {"market": market}}
    answer = assess({**asked, "recipe": dough(new_guard=0.5)})
    assert "law-unlisted-guardium" in [note.id for note in answer.cautions]
    recipe = dough(phenoxyethanol_blend=0.9)
    swapped = substitute(
        {**asked, "recipe": recipe, "missing": "phenoxyethanol-blend", "replacements": ["new-guard"]}
    )
    assert [one.rule for one in swapped.rejected] == ["law-unlisted-guardium"]


@pytest.mark.parametrize(
    ("name", "failing"),
    [("CI 77891", False), ("CI 99999", True), ("Beet Colour", True), ("CI 10020", False)],
)
def test_a_colour_that_is_on_no_list_fails(name: str, failing: bool) -> None:
    assert ("colour" in ban_of(holding(name, "colourant"), "eu")) == failing


def test_products_of_another_class_have_their_own_maximum() -> None:
    climbazole = holding("Climbazole", "preservative")
    law = BOOK.laws["eu"]
    assert dict(judged(climbazole, law, "hair").counted) == {"climbazole": 1.0}
    assert {verdict.kind for verdict in judged(climbazole, law, "face").verdicts} == {"elsewhere"}
    green = holding("CI 10020", "colourant")
    assert {verdict.kind for verdict in judged(green, law, "face").verdicts} == {"elsewhere"}
    conditioner = holding("Behentrimonium Chloride", "structurant")
    assert set(judged(conditioner, law, "hair").counted) == {"restricted-behentrimonium-chloride"}
    assert set(judged(conditioner, law, "face").counted) == {"alkyl-trimonium-salts"}


def test_what_may_be_there_as_a_trace_is_remarked() -> None:
    assert ban_of(holding("1,4-Dioxane"), "eu") == {"trace"}


def test_a_ban_that_depends_is_asked() -> None:
    answer = assess(
        {
            "recipe": dough(jelly=0.5),
            "materials": [{**BANE, "key": "jelly", "composition": {"Petrolatum": 100}}],
            "wishes": {"market": "eu"},
        }
    )
    assert all(check.ok for check in answer.checks if check.kind == "law")
    told = {note.id: note.text for note in answer.cautions}
    assert "allowed only if" in told["law-conditional-petrolatum"]


def said_of(one: Ingredient, law: LawBook, used_on: str) -> set[str]:
    day = datetime.date(2026, 11, 28)
    told = list_notes(Measures({"one": one}), {"one": 100.0}, law, used_on, BOOK.law_words, day)  # type: ignore[arg-type]
    return {item.id for item in told}


@pytest.mark.parametrize("market", MARKETS)
def test_every_entry_says_its_words_with_a_maximum_or_without(market: str) -> None:
    law, silent = BOOK.laws[market], []
    for limit in law.every_limit:
        for used_on, name in itertools.product(sorted(limit.used_on), limit.components):
            ids = said_of(holding(name, role_of(limit)), law, used_on)
            wanted = {
                f"law-{kind}-{limit.id}"
                for kind, words in (("condition", limit.note), ("label", limit.label))
                if words
            }
            silent += [] if wanted <= ids else [(limit.id, used_on, name)]
    assert silent == []


@pytest.mark.parametrize("market", MARKETS)
def test_words_asked_from_a_percent_on_are_told_from_there(market: str) -> None:
    law = BOOK.laws[market]
    for limit in (one for one in law.every_limit if one.label_from is not None):
        name, used_on = limit.components[0], min(limit.used_on, default="face")
        for part, told in ((0.9, False), (1.1, True)):
            percent = part * limit.label_from / limit.weight(name)
            said = said_of(holding(name, role_of(limit), percent), law, used_on)
            assert (f"law-label-{limit.id}" in said) is (told and used_on in limit.used_on), limit.id


@pytest.mark.parametrize(
    ("acid", "water", "told"), [(0.5, 20.0, False), (2.7, 20.0, True), (2.7, 0.0, False)]
)
def test_fruit_acids_are_labelled_by_what_the_dried_bar_holds(acid: float, water: float, told: bool) -> None:
    lines = {"citric-acid": acid, "isethionate-powder": 97.3 - acid - water, "water": water}
    recipe = {"lines": [{"material": k, "percent": v} for k, v in lines.items() if v]}
    recipe["lines"].append({"material": "kaolin", "percent": 2.7})
    notes = assess({"recipe": recipe, "wishes": {"market": "ca"}}).notes
    assert ("law-label-alpha-hydroxy-acids" in {note.id for note in notes}) is told


def test_ordered_words_are_told() -> None:
    answer = assess(
        {
            "recipe": dough(guard=0.4),
            "materials": [
                {**BANE, "key": "guard", "roles": ["preservative"], "composition": {"Chlorobutanol": 100}}
            ],
            "wishes": {"market": "eu"},
        }
    )
    assert any("Contains Chlorobutanol" in note.text for note in answer.notes)


@pytest.mark.parametrize("market", MARKETS)
def test_entries_are_unique_and_dated(market: str) -> None:
    for name in ("restricted", "preservatives", "colourants"):
        for row in rows(market, name):
            assert row["components"]
            assert not row.get("dated") or datetime.date.fromisoformat(row["dated"]) <= datetime.date(
                2025, 10, 31
            )
    names = [plain(name) for row in rows(market, "prohibited") for name in row["components"].split(" | ")]
    assert all(len(name) > 2 for name in names)


NAMES_TO_FIND = (
    "Hydroquinone",
    "Lead Acetate",
    "CI 99999",
    "Invented Preservative",
    "Coumarin",
    "Retinol",
    "Aloe Leaf",
)


@pytest.mark.parametrize("percents", [(30.0, 69.0), (40.0, 59.0)])
@pytest.mark.parametrize("market", MARKETS)
def test_what_the_lists_ban_or_ask_of_a_recipe_is_a_finding_of_law_and_a_caution(
    market: str, percents: tuple[float, float]
) -> None:
    law, told, silent = BOOK.laws[market], set[str](), []
    for name, role in itertools.product(NAMES_TO_FIND, ("filler", "preservative", "colourant")):
        wanted = {
            f"law-{verdict.kind}" for verdict in judged(holding(name, role), law, "hand_and_body").verdicts
        } & {f"law-{kind}" for kind in STANDS_OUT}
        block = {"key": "one", "name": "One", "form": "powder", "roles": [role], "water": 0}
        lines = [("betaine-30", percents[0]), ("isethionate-powder", percents[1]), ("one", 1.0)]
        answer = assess(
            {
                "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in lines]},
                "materials": [{**block, "composition": {name: 100}}],
                "wishes": {"market": market},
            }
        )
        found = {one.id for one in answer.findings if one.severity == "law"}
        cautioned = {one.id for one in answer.cautions if not one.standing}
        silent += [
            (name, role, kind)
            for kind in wanted
            if not any(one.startswith(kind) for one in found)
            or not any(one.startswith(kind) for one in cautioned)
        ]
        told |= wanted
    assert told
    assert not silent


@pytest.mark.parametrize("market", ["eu", "uk"])
def test_a_preservative_in_no_list_is_a_caution_of_a_correction(market: str) -> None:
    block = {"key": "one", "name": "One", "form": "powder", "roles": ["preservative"], "water": 0}
    body = {
        "recipe": {
            "lines": [
                {"material": key, "percent": percent}
                for key, percent in (("betaine-30", 30), ("isethionate-powder", 69), ("one", 1))
            ]
        },
        "materials": [{**block, "composition": {"Invented Preservative": 100}}],
        "wishes": {"market": market},
        "report": {"feel": "too_wet"},
    }
    told = {one.id: one for one in correct(body).cautions}
    assert not told["law-unlisted-invented-preservative"].standing


@pytest.mark.parametrize(
    ("name", "standing"),
    [("Guardium", "unknown"), ("Ethylhexylglycerin", "multifunctional"), ("Chlorphenesin", None)],
)
def test_a_preservative_has_one_of_three_states(name: str, standing: str | None) -> None:
    fields = {"key": "guard", "name": "Guard", "form": "liquid", "roles": ["preservative"]}
    recipe = dough(guard=0.2)
    answer = assess({"recipe": recipe, "materials": [{**fields, "composition": {name: 100}}]})
    states = ("unknown", "multifunctional")
    told = [state for state in states if f"preservation-{state}-guard" in [note.id for note in answer.notes]]
    assert told == ([standing] if standing else [])
