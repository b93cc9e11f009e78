"""Says in which phase a material is added, and puts the steps of the work in order."""

import math
from collections.abc import Iterable, Mapping, Sequence

from advisor.frozen import dataclass
from advisor.recipe.grams import listed
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.weighing import Kind, Part, PhaseRules, StepRules
from advisor.weighing.schema import WeighStep

_LETTERS = "ABCD"
_MOSTLY = 0.5


def kind_of(one: Ingredient, rules: PhaseRules) -> Kind:
    """Return whether a material comes as a liquid, is melted, or is a powder at the bench.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> [kind_of(book.ingredients[key], book.weighing.phases) for key in ("water", "stearic-acid", "kaolin")]
    ['liquid', 'melt', 'powder']
    """
    melts = one.material.melts_c
    melted = (
        melts is not None
        and melts > rules.melts_above_c
        and one.material.form in rules.melt_forms
        and one.main_role in rules.melt_roles
    )
    return "melt" if melted else "liquid" if one.liquid_cold else "powder"


def dissolves(one: Ingredient, rules: PhaseRules) -> bool:
    """Tell whether a powder is one of the small ones that are dissolved in the liquids."""
    return kind_of(one, rules) == "powder" and one.main_role in rules.dissolved_roles


def in_oil(one: Ingredient, rules: PhaseRules) -> bool:
    """Tell whether a material comes as crystals that are dissolved in the oil."""
    return kind_of(one, rules) == "powder" and one.holds(*rules.oil_soluble) > _MOSTLY


def phases(
    ingredients: Mapping[str, Ingredient], given: Mapping[str, str], rules: PhaseRules
) -> dict[str, str]:
    """Return the letter of each material: as given, else liquids, melt, powders, heat-sensitive in order.

    Without a melt nothing is heated, so there is no heat-sensitive phase; with one the oils join the melt.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> of = {key: book.ingredients[key] for key in ("betaine-30", "kaolin", "phenoxyethanol-blend")}
    >>> phases(of, {}, book.weighing.phases)
    {'betaine-30': 'A', 'kaolin': 'B', 'phenoxyethanol-blend': 'A'}
    """
    kinds = {key: kind_of(one, rules) for key, one in ingredients.items()}
    heated = "melt" in kinds.values()
    places = {key: _place(one, kinds[key], heated, rules) for key, one in ingredients.items()}
    letters = dict(zip(sorted(set(places.values())), _LETTERS, strict=False))
    return {key: given.get(key, letters[place]) for key, place in places.items()}


def _place(one: Ingredient, kind: Kind, heated: bool, rules: PhaseRules) -> int:
    if kind == "melt":
        return 1
    if in_oil(one, rules):
        return 1 if heated else 0
    if kind == "powder":
        return 0 if dissolves(one, rules) else 2
    if heated and one.oil:
        return 1
    return 3 if heated and one.main_role in rules.late_roles else 0


def melt_temperature(melting: Mapping[str, Ingredient], rules: PhaseRules) -> float:
    """Return the temperature of a melt: above the highest melting point, rounded up [degrees Celsius].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> melt_temperature({"cetyl-alcohol": book.ingredients["cetyl-alcohol"]}, book.weighing.phases)
    55.0
    """
    highest = max(one.material.melts_c or 0.0 for one in melting.values())
    return math.ceil((highest + rules.melt_margin_c) / rules.melt_round_c) * rules.melt_round_c


@dataclass(frozen=True)
class Work:
    """What the steps are told from.

    Parameters
    ----------
    ingredients : mapping
        The materials of the batch, in the order of the weigh sheet.
    letters : mapping of str to str
        The phase of each.
    premixed, kept_back : sequence of str
        What a premix is proposed for, and what is kept back.
    bar_grams : str
        Dough for one bar as it is written [g]; empty where no weight of a bar was given.
    """

    ingredients: Mapping[str, Ingredient]
    letters: Mapping[str, str]
    premixed: Sequence[str] = ()
    kept_back: Sequence[str] = ()
    bar_grams: str = ""


def work_steps(work: Work, steps: Sequence[StepRules], rules: PhaseRules) -> tuple[WeighStep, ...]:
    """Return the steps in order: before, phase by phase, kneading after the last powder, after.

    What stands in a phase behind the last powder is kneaded into the dough.
    """
    by_letter: dict[str, dict[str, Ingredient]] = {}
    for key, one in work.ingredients.items():
        by_letter.setdefault(work.letters[key], {})[key] = one
    order = sorted(by_letter)
    last = last_powder_phase(work.ingredients, work.letters, rules)
    before: dict[Part, list[str]] = {
        "always": [],
        "premix": list(work.premixed),
        "held_back": list(work.kept_back),
    }
    told = list(_step_text(work, steps, "before", before, rules))
    liquid_before = False
    done: set[str] = set()
    for letter in order:
        parts = _parts(by_letter[letter], letter > last, liquid_before, rules)
        fresh = [step for step in steps if not (step.once and step.id in done)]
        found = list(_step_text(work, fresh, "phase", parts, rules, letter))
        done |= {step.id for step in found}
        told += found
        liquid_before = liquid_before or bool(parts.get("liquid"))
        if letter == last:
            told += _step_text(work, steps, "kneading", {"always": []}, rules)
    after: dict[Part, list[str]] = {"always": [], "held_back": list(work.kept_back)}
    if work.bar_grams:
        after["bars"] = ["bar"]
    return (*told, *_step_text(work, steps, "after", after, rules))


def last_powder_phase(
    ingredients: Mapping[str, Ingredient], letters: Mapping[str, str], rules: PhaseRules
) -> str:
    """Return the letter of the last phase with powders to knead; without any, the last phase."""
    powders = [
        letters[key]
        for key, one in ingredients.items()
        if kind_of(one, rules) == "powder" and not (dissolves(one, rules) or in_oil(one, rules))
    ]
    return max(powders or letters.values())


def _parts(
    members: Mapping[str, Ingredient], is_late: bool, liquid_before: bool, rules: PhaseRules
) -> dict[Part, list[str]]:
    parts: dict[Part, list[str]] = {}
    for key, one in members.items():
        late = is_late and kind_of(one, rules) != "melt"
        for part in ("late",) if late else _parts_of(one, rules):
            parts.setdefault(part, []).append(key)
    watery = any(kind_of(one, rules) == "liquid" and not one.oil for one in members.values())
    if "melt" in parts and "liquid" in parts and not watery:
        parts["melt"] += parts.pop("liquid")
    if "melt" in parts and (liquid_before or "liquid" in parts):
        parts["melt_after_liquid"] = parts["melt"]
    return parts


def _parts_of(one: Ingredient, rules: PhaseRules) -> tuple[Part, ...]:
    kind, role = kind_of(one, rules), one.main_role
    if kind == "melt":
        return ("melt",)
    if in_oil(one, rules):
        return ("oily",)
    if kind == "liquid" or dissolves(one, rules):
        if role in rules.sour_roles:
            return ("sour",)
        if kind == "powder":
            return ("dissolved",)
        return ("dosed",) if role in ("preservative", "fragrance") else ("liquid",)
    if one.coarse:
        return ("coarse", "powder")
    return ("colour", "powder") if role == "colourant" else ("powder",)


def _step_text(
    work: Work,
    steps: Iterable[StepRules],
    when: str,
    parts: Mapping[Part, Sequence[str]],
    rules: PhaseRules,
    letter: str | None = None,
) -> Iterable[WeighStep]:
    for step in steps:
        called = step.part in parts and (step.part == "always" or parts[step.part])
        if step.when != when or not called:
            continue
        members = [key for key in parts[step.part] if key in work.ingredients]
        warmth = _temperature(step, {key: work.ingredients[key] for key in members}, rules)
        names = listed(work.ingredients[key].name for key in members) if members else ""
        text = step.text.replace("{names}", names).replace("{grams}", work.bar_grams)
        if warmth is not None:
            text = text.replace("{temperature}", f"{warmth:g}")
        yield WeighStep(
            id=step.id,
            phase=letter,
            text=text,
            materials=tuple(members),
            minutes=step.minutes,
            temperature_c=warmth,
        )


def _temperature(step: StepRules, members: Mapping[str, Ingredient], rules: PhaseRules) -> float | None:
    if step.part in ("late", "dosed"):
        return rules.late_below_c
    return melt_temperature(members, rules) if step.part in ("melt", "melt_after_liquid") else None
