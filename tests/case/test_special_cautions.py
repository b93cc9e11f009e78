"""What may not be left unsaid comes first: no preservative, deadly dust, who must not use it."""

from typing import Any

import pytest

import advisor
from helpers.recipes import ROADS, filled, inline, on_every_road, special

FORMS = {"powder": ["filler"], "liquid": ["co_surfactant"]}


def with_hazard(code: str, form: str) -> dict[str, Any]:
    return inline("grist", {"Grist": 100}, form=form, roles=FORMS[form], hazards=[code])


@pytest.mark.parametrize(
    ("code", "form", "powder", "handled"),
    [
        ("H330", "powder", "deadly-dust", "deadly-dust"),
        ("H331", "powder", "deadly-dust", "deadly-dust"),
        ("H334", "powder", "sensitising-dust", "sensitising-dust"),
        ("H332", "powder", None, "harmful-dust"),
        ("H335", "powder", None, "harmful-dust"),
        ("H335", "liquid", None, "fumes"),
        ("H331", "liquid", None, "fumes"),
        ("H317", "liquid", None, "skin-allergy"),
        ("H302", "powder", None, "not-swallowed"),
        ("H304", "liquid", None, "not-swallowed"),
        ("H226", "liquid", None, "flame"),
        ("H228", "powder", None, "flame"),
        ("H314", "liquid", None, "caustic"),
        ("EUH071", "liquid", None, "caustic"),
        ("H318", "liquid", None, "eyes"),
        ("H340", "powder", None, "law-first"),
        ("H350", "powder", None, "law-first"),
        ("H360", "powder", None, "law-first"),
    ],
)
def test_a_hazard_is_told_by_its_code(code: str, form: str, powder: str | None, handled: str) -> None:
    body = {"recipe": filled({"grist": 3.0}), "materials": [with_hazard(code, form)]}
    assessed = advisor.assess(body)
    told = {item.id: item for item in assessed.cautions}
    assert "Grist" in told[handled].text
    assert told[handled].standing == (powder is None)
    weighed = advisor.weigh({**body, "batch_grams": 500.0, "balance_step": 0.01})
    assert handled in special(weighed)
    assert ("danger" in {one.severity for one in assessed.findings}) == (powder is not None)


def test_deadly_dust_is_special_on_every_road() -> None:
    for verb, answer in on_every_road(
        filled({"grist": 3.0}), materials=[with_hazard("H330", "powder")]
    ).items():
        assert "deadly-dust" in special(answer), verb


def test_only_what_is_poured_next_is_special_in_the_bowl() -> None:
    answers = on_every_road(filled({"lye-10": 0.3}))
    assert "caustic" in special(answers["weigh"])
    assert "caustic" not in special(answers["assess"])
    poured = {line.material for line in answers["add"].additions}
    assert "lye-10" not in poured
    assert "caustic" not in special(answers["add"])


BARE = {"isethionate-powder": 48.0, "kaolin": 14.0, "betaine-30": 24.0, "glycerin": 4.0}


def test_no_preservative_stands_first_on_every_road() -> None:
    for verb, answer in on_every_road(filled({}, BARE)).items():
        assert "no-preservative" in [item.id for item in answer.cautions[:3]], verb


@pytest.mark.parametrize(
    ("preservative", "percent", "ph", "useless"),
    [
        ("sodium-benzoate", 0.5, None, False),
        ("sodium-benzoate", 0.5, 4.8, False),
        ("sodium-benzoate", 0.5, 6.1, True),
        ("potassium-sorbate", 0.3, 6.5, True),
        ("phenoxyethanol-blend", 0.9, 6.1, False),
        ("phenoxyethanol-blend", 0.9, 10.5, True),
        ("benzoate-sorbate-liquid", 1.2, 7.0, True),
    ],
)
def test_a_preservative_that_the_ph_makes_useless(
    preservative: str, percent: float, ph: float | None, useless: bool
) -> None:
    more = {} if ph is None else {"ph": ph}
    for verb, answer in on_every_road(filled({preservative: percent}, BARE), **more).items():
        if verb != "record":
            assert ("preservative-useless" in [item.id for item in answer.cautions[:3]]) == useless, verb


def test_the_record_judges_by_its_last_reading() -> None:
    body = {"recipe": filled({"sodium-benzoate": 0.5}, BARE), "batch_grams": 500.0}
    readings = [{"ph": 5.0, "at_percent": 10.0}, {"ph": 6.4, "at_percent": 10.0}]
    assert "preservative-useless" in special(advisor.record({**body, "ph": readings}))
    assert "preservative-useless" not in special(advisor.record({**body, "ph": readings[:1]}))


def featured(name: str, inci: str, **more: Any) -> dict[str, Any]:
    return {**inline("guest", {inci: 100}, roles=["featured"]), "name": name, **more}


@pytest.mark.parametrize(
    ("material", "told"),
    [
        (featured("Menthol crystals", "Menthol"), "no-children"),
        (featured("Tea tree oil", "Melaleuca Alternifolia Leaf Oil", form="liquid"), "tea-tree"),
        (featured("Salicylic acid", "Salicylic Acid"), "salicylic-acid"),
        (featured("Hazel oil", "Corylus Avellana Seed Oil", form="liquid"), "nuts"),
        (featured("Rye flour", "Secale Cereale Seed Flour"), "gluten"),
        (featured("Spelt bran", "Triticum Spelta Seed"), "gluten"),
        (featured("Kamut flour", "Triticum Turanicum Seed Flour"), "gluten"),
        (featured("Goat milk", "Goat Milk"), "milk"),
    ],
)
def test_who_must_not_use_it_is_said_first(material: dict[str, Any], told: str) -> None:
    answer = advisor.assess({"recipe": filled({"guest": 1.0}), "materials": [material]})
    assert told in special(answer)
    assert material["name"] in special(answer)[told]


@pytest.mark.parametrize(("percent", "told"), [(2.0, False), (2.5, True)])
def test_a_scent_over_its_ceiling(percent: float, told: bool) -> None:
    answer = advisor.assess({"recipe": filled({"lavender-oil": percent})})
    assert ("strong-scent" in special(answer)) == told


def test_special_cautions_come_first_and_every_one_says_which_it_is() -> None:
    for verb, answer in on_every_road(
        filled({"grist": 2.0}), materials=[with_hazard("H334", "powder")]
    ).items():
        order = [item.standing for item in answer.cautions]
        assert order == sorted(order), verb
    assert len(ROADS) == 7
