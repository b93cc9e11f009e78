"""Judges an answer by the words of a case; it reads the JSON and reckons for itself.

Words of `must` (and, turned round, of `never`):

status, problem             the answer's status; the code of the problem that is the answer
rises, falls, held          every one of these lines goes up, goes down, stays to the last digit
one_rises, one_falls        at least one of these lines does
new                         materials that come in
liquid_per_powder           "down", "up" or "same" (within 4 %), by mass at the warm bench
movers_at_most              how many lines move
move_at_least               no line moves by less [points], but for the last one that makes room
active_within               how far the active matter may move [points]
share, option_share         band of a line in the answer's recipe, in the first option [%]
cheaper                     a kilogram costs less than before
adds, adds_only             materials that go into the bowl; no other does
added_grams, liquid_grams, powder_grams    bands of what goes into the bowl [g]
stage_at_most               no stage of an addition is heavier [g]
says                        of each group of words at least one stands in some sentence
asks                        the same, in a question
early                       the same, in the first three findings or cautions
first_advice, first_caution one of these words stands in the first of them
finding                     a finding of this severity ("any": of whatever severity) with one of the words
worst_finding               no finding is worse than this
offers, rejects             stand-ins that are offered, turned away; first_option: one of these comes first
figures                     bands of figures, by dotted path
lists                       texts that stand in a list of plain strings, by its name
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from case_book.told import Told, has

Complaint = str | None
WORST_FIRST = ("danger", "law", "dough", "advice")


def within(value: float, band: Mapping[str, float], what: str) -> Complaint:
    low, high = band.get("min", float("-inf")), band.get("max", float("inf"))
    return None if low - 1e-9 <= value <= high + 1e-9 else f"{what} is {value:.4g}, not in {dict(band)}"


def every(keys: Iterable[str], fits: Callable[[str], bool], what: str) -> Complaint:
    wrong = [key for key in keys if not fits(key)]
    return f"{', '.join(wrong)}: {what}" if wrong else None


def groups(texts: Iterable[str], wanted: Iterable[Iterable[str]], where: str) -> Complaint:
    read = list(texts)
    missing = [words for words in map(list, wanted) if not any(has(text, words) for text in read)]
    return f"none of {missing} stands {where}" if missing else None


def status(told: Told, wanted: str) -> Complaint:
    is_now = told.answer.get("status")
    return None if is_now == wanted else f"status is {is_now}"


def problem(told: Told, wanted: str) -> Complaint:
    code = told.answer.get("code")
    return None if code == wanted else f"the problem is {code}"


def rises(told: Told, keys: list[str]) -> Complaint:
    return every(keys, lambda key: told.moves.get(key, 0.0) > 0, "does not go up")


def falls(told: Told, keys: list[str]) -> Complaint:
    return every(keys, lambda key: told.moves.get(key, 0.0) < 0, "does not go down")


def held(told: Told, keys: list[str]) -> Complaint:
    moved = told.added if "additions" in told.answer else told.moves
    return every(keys, lambda key: key not in moved, "moves")


def one_rises(told: Told, keys: list[str]) -> Complaint:
    return None if any(told.moves.get(key, 0.0) > 0 for key in keys) else f"none of {keys} goes up"


def one_falls(told: Told, keys: list[str]) -> Complaint:
    return None if any(told.moves.get(key, 0.0) < 0 for key in keys) else f"none of {keys} goes down"


def new(told: Told, keys: list[str]) -> Complaint:
    return every(keys, lambda key: key in told.next and key not in told.asked, "does not come in")


def liquid_per_powder(told: Told, way: str) -> Complaint:
    before, after = told.liquid_per_powder(told.asked), told.liquid_per_powder(told.next)
    change = after / before - 1
    fits = {"down": change < -0.005, "up": change > 0.005, "same": abs(change) <= 0.04}[way]
    return None if fits else f"liquid per powder goes {before:.3f} to {after:.3f}"


def movers_at_most(told: Told, most: int) -> Complaint:
    return None if len(told.moves) <= most else f"{len(told.moves)} lines move: {told.moves}"


def move_at_least(told: Told, least: float) -> Complaint:
    small = [key for key, change in told.moves.items() if abs(change) < least - 1e-9]
    return f"small moves: {small}" if len(small) > 1 else None


def active_within(told: Told, points: float) -> Complaint:
    return within(told.active(told.next) - told.active(told.asked), {"min": -points, "max": points}, "active")


def share(told: Told, bands: Mapping[str, Mapping[str, float]]) -> Complaint:
    said = (within(told.next.get(key, 0.0), band, key) for key, band in bands.items())
    return next(filter(None, said), None)


def cheaper(told: Told, wanted: bool) -> Complaint:
    before, after = told.price(told.asked), told.price(told.next)
    return None if (after < before - 1e-9) is wanted else f"the price goes {before:.2f} to {after:.2f}"


def adds(told: Told, keys: list[str]) -> Complaint:
    return every(keys, lambda key: key in told.added, "does not go into the bowl")


def adds_only(told: Told, keys: list[str]) -> Complaint:
    return every(told.added, lambda key: key in keys, "goes into the bowl")


def added_grams(told: Told, band: Mapping[str, float]) -> Complaint:
    return within(sum(told.added.values()), band, "what goes into the bowl")


def liquid_grams(told: Told, band: Mapping[str, float]) -> Complaint:
    return within(told.grams("liquid"), band, "liquid into the bowl")


def powder_grams(told: Told, band: Mapping[str, float]) -> Complaint:
    return within(told.grams("powder"), band, "powder into the bowl")


def stage_at_most(told: Told, most: float) -> Complaint:
    heaviest = max((sum(line["grams"] for line in stage) for stage in told.answer["stages"]), default=0.0)
    return within(heaviest, {"max": most}, "the heaviest stage")


def says(told: Told, wanted: list[list[str]]) -> Complaint:
    return groups(told.sentences, wanted, "in the answer")


def asks(told: Told, wanted: list[list[str]]) -> Complaint:
    return groups(told.listed("questions"), wanted, "in a question")


def early(told: Told, wanted: list[list[str]]) -> Complaint:
    return groups(told.listed("findings", "cautions")[:3], wanted, "in the first three lines")


def first_advice(told: Told, words: list[str]) -> Complaint:
    return groups(told.listed("advice")[:1], [words], "in the first advice")


def first_caution(told: Told, words: list[str]) -> Complaint:
    return groups(told.listed("cautions")[:1], [words], "in the first caution")


def finding(told: Told, wanted: list[Mapping[str, Any]]) -> Complaint:
    found = told.answer.get("findings", ())
    for one in wanted:
        severities = WORST_FIRST if one["severity"] == "any" else (one["severity"],)
        if not any(item["severity"] in severities and has(item["text"], one["words"]) for item in found):
            return f"no finding {one}"
    return None


def worst_finding(told: Told, most: str) -> Complaint:
    allowed = WORST_FIRST[WORST_FIRST.index(most) :]
    worse = [item["id"] for item in told.answer["findings"] if item["severity"] not in allowed]
    return f"worse findings: {worse}" if worse else None


def stand_ins(told: Told) -> list[str]:
    options = told.answer.get("options", ())
    return [key for one in options for key in [one["replacement"]] if isinstance(key, str)]


def offers(told: Told, keys: list[str]) -> Complaint:
    return every(keys, lambda key: key in stand_ins(told), "is not offered")


def rejects(told: Told, keys: list[str]) -> Complaint:
    turned_away = {one["replacement"] for one in told.answer.get("rejected", ())}
    return every(keys, lambda key: key in turned_away, "is not turned away")


def first_option(told: Told, keys: list[str]) -> Complaint:
    first = stand_ins(told)[:1]
    return None if first and first[0] in keys else f"{first} comes first"


def figures(told: Told, bands: Mapping[str, Mapping[str, float]]) -> Complaint:
    return next(filter(None, (within(told.figure(path), band, path) for path, band in bands.items())), None)


def lists(told: Told, wanted: Mapping[str, list[str]]) -> Complaint:
    said = (every(texts, told.answer[name].__contains__, f"not in {name}") for name, texts in wanted.items())
    return next(filter(None, said), None)


WORDS: dict[str, Callable[[Told, Any], Complaint]] = {
    judge.__name__: judge
    for judge in (
        *(status, problem, rises, falls, held, one_rises, one_falls, new, liquid_per_powder),
        *(movers_at_most, move_at_least, active_within, share, cheaper),
        *(adds, adds_only, added_grams, liquid_grams, powder_grams, stage_at_most),
        *(says, asks, early, first_advice, first_caution, finding, worst_finding),
        *(offers, rejects, first_option, figures, lists),
    )
}
WORDS["option_share"] = share


def judge(told: Told, must: Mapping[str, Any], never: Mapping[str, Any]) -> list[str]:
    """Return everything an answer gets wrong."""
    if told.answer.get("code") and not {"problem", "says"} & {*must, *never}:
        return [f"a problem: {told.answer['code']}, {told.answer.get('detail')}"]
    wrong = [complaint for word, wanted in must.items() if (complaint := WORDS[word](told, wanted))]
    for word, refused in never.items():
        each = refused if isinstance(refused, list) else [refused]
        wrong += [f"never {word} {one}" for one in each if WORDS[word](told, one_of(word, one)) is None]
    return wrong + sums(told)


def one_of(word: str, one: Any) -> Any:
    """Return one refused thing in the shape its word takes."""
    if word in ("says", "asks", "early"):
        return [[one]]
    return one if word in ("status", "problem", "liquid_per_powder") else [one]


def sums(told: Told) -> list[str]:
    """Return what no answer may get wrong: totals, negative lines, grams off the balance."""
    wrong = []
    if "lines" in told.answer.get("recipe", {}) and "percent" in told.answer["recipe"]["lines"][0]:
        total = sum(told.next.values())
        wrong += [f"the total is {total}"] if abs(total - 100) > 1e-6 else []
    wrong += [f"{key} is negative" for key, amount in told.next.items() if amount < 0]
    step = told.request.get("balance_step")
    if step and told.verb in ("add", "recover"):
        off = [key for key, grams in told.added.items() if abs(grams / step - round(grams / step)) > 1e-6]
        wrong += [f"{key} is off the balance" for key in off]
    return wrong
