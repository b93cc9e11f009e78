"""An answer as a reader of it sees it: sentences, lines and grams, with sums of the reader's own."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from helpers import ordinary, swap_judge

Amounts = dict[str, float]
SENTENCES = ("text", "why", "warning", "reason", "title", "detail", "problem", "hint")


def written(recipe: Mapping[str, Any], unit: str = "percent") -> Amounts:
    """Return the lines of a recipe as amounts by key."""
    return {line["material"]: line[unit] for line in recipe["lines"] if unit in line}


@dataclass(frozen=True)
class Told:
    """What was asked with a verb, and the JSON that came back (a problem where nothing fitted)."""

    verb: str
    request: Mapping[str, Any]
    answer: Mapping[str, Any]

    def block(self, key: str) -> Mapping[str, Any]:
        """Return a material as the request or the library writes it."""
        inline = {block["key"]: block for block in self.request.get("materials", ())}
        return inline.get(key) or swap_judge.library()[key]

    @cached_property
    def asked(self) -> Amounts:
        """The recipe that was asked about, in percent."""
        lines = self.request.get("recipe", {"lines": []})
        grams = written(lines, "grams")
        whole = sum(grams.values())
        return {key: 100 * amount / whole for key, amount in grams.items()} or written(lines)

    @cached_property
    def next(self) -> Amounts:
        """The recipe of the answer, in percent; of the smallest way out or the first option where there are several."""
        if "bowl_after" in self.answer:
            grams = written(self.answer["bowl_after"], "grams")
            return {key: 100 * amount / sum(grams.values()) for key, amount in grams.items()}
        options = self.answer.get("options") or ()
        place = self.answer.get("smallest") or (options[0] if options else self.answer)
        return written(place["recipe"]) if "recipe" in place else dict(self.asked)

    @cached_property
    def moves(self) -> Amounts:
        """How far each line moved, in points."""
        keys = sorted({*self.asked, *self.next})
        moved = {key: self.next.get(key, 0.0) - self.asked.get(key, 0.0) for key in keys}
        return {key: change for key, change in moved.items() if abs(change) > 1e-9}

    @cached_property
    def added(self) -> Amounts:
        """The grams that go into the bowl."""
        place = self.answer.get("smallest") or self.answer
        return {line["material"]: line["grams"] for line in place.get("additions", ()) if line["grams"]}

    def grams(self, kind: str) -> float:
        """Return how many grams of liquid or powder go into the bowl."""
        share = {key: swap_judge.liquid(self.block(key)) for key in self.added}
        return sum(g * (share[key] if kind == "liquid" else 1 - share[key]) for key, g in self.added.items())

    def liquid_per_powder(self, percents: Amounts) -> float:
        """Return liquid over powder by mass, at the warm bench."""
        liquids = sum(swap_judge.liquid(self.block(key)) * amount for key, amount in percents.items())
        return liquids / (sum(percents.values()) - liquids)

    def active(self, percents: Amounts) -> float:
        """Return the active matter in percent."""
        return sum(swap_judge.figure(self.block(key), "active") * x / 100 for key, x in percents.items())

    def price(self, percents: Amounts) -> float:
        """Return what a kilogram costs."""
        return sum(
            swap_judge.figure(self.block(key), "price_per_kg") * x / 100 for key, x in percents.items()
        )

    @cached_property
    def sentences(self) -> tuple[str, ...]:
        """Every sentence of the answer."""
        return tuple(sentences(self.answer))

    def listed(self, *names: str) -> list[str]:
        """Return the sentences of some lists of the answer, in their order."""
        return [item["text"] for name in names for item in self.answer.get(name, ())]

    def figure(self, path: str) -> float:
        """Return a figure of the answer by its dotted path."""
        place: Any = self.answer
        for step in path.split("."):
            place = place[int(step)] if step.isdigit() else place[step]
        return float(place)


def sentences(told: Any, name: str = "") -> Iterator[str]:
    """Yield every string of an answer that a maker reads as a sentence."""
    if isinstance(told, Mapping):
        for key, value in told.items():
            yield from sentences(value, key)
    elif isinstance(told, list | tuple):
        for value in told:
            yield from sentences(value, name)
    elif isinstance(told, str) and name in SENTENCES and told:
        yield told


def has(text: str, words: Any) -> bool:
    """Say whether a text holds one of the words, whatever their case."""
    return any(word.casefold() in text.casefold() for word in words)


def is_lever(told: Told, key: str) -> bool:
    """Say whether a master would move the line at all."""
    return not ordinary.is_held(dict(told.block(key)))
