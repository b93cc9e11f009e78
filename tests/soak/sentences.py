"""Draw sentences at random from the answers of the grid of ordinary recipes, for a reader to audit.

Usage: python -m tests.soak.sentences [--count 100] [--seed 0]. Each comes with what was asked and the figures that a
reader needs to call it true, misleading or false: the request, the recipe before and after, and where it stood.
"""

import argparse
import random
import sys
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

import advisor
from case_book.told import SENTENCES, Told
from helpers import ordinary

VERBS = ("correct", "correct", "add", "weigh", "substitute", "assess")


class Drawn(NamedTuple):
    """A sentence, where it stood, and what was asked."""

    verb: str
    asked: ordinary.Asked
    told: Told
    place: str
    text: str


def placed(told: Any, place: str = "") -> Iterator[tuple[str, str]]:
    """Yield every sentence of an answer with the path to it."""
    if isinstance(told, dict):
        for name, value in told.items():
            if name in SENTENCES and isinstance(value, str) and value:
                yield f"{place}/{told.get('id') or told.get('material') or name}", value
            else:
                yield from placed(value, f"{place}/{name}")
    elif isinstance(told, list):
        for value in told:
            yield from placed(value, place)


def asked_at_random(rng: random.Random) -> tuple[str, ordinary.Asked]:
    """Return a verb and a request of its grid."""
    verb = rng.choice(VERBS)
    one, market = rng.choice(ordinary.RECIPES), rng.choice(ordinary.MARKETS)
    if verb == "correct":
        grid = list(ordinary.corrections([one], markets=[market], shelf=rng.choice([(), ordinary.CUPBOARD])))
    elif verb == "add":
        grid = list(ordinary.bowls([one], market=market))
    elif verb == "weigh":
        grid = list(ordinary.weighings([one], market=market))
    elif verb == "substitute":
        grid = list(ordinary.substitutions([one], market=market))
    else:
        grid = [ordinary.Asked(one, {"recipe": one.recipe(), "wishes": {"market": market}})]
    return verb, rng.choice(grid)


def sentences(seed: int) -> Iterator[Drawn]:
    """Yield sentences without end, one an answer, none twice."""
    rng, seen = random.Random(seed), set()
    while True:
        verb, asked = asked_at_random(rng)
        try:
            answer = getattr(advisor, verb)(asked.request).model_dump(mode="json")
        except advisor.AdvisorError as problem:
            answer = problem.problem()
        fresh = [(place, text) for place, text in placed(answer) if text not in seen]
        if fresh:
            place, text = rng.choice(fresh)
            seen.add(text)
            yield Drawn(verb, asked, Told(verb, asked.request, answer), place, text)


def print_drawn(number: int, drawn: Drawn) -> None:
    """Print a sentence with what a reader needs to judge it."""
    request = {key: value for key, value in drawn.asked.request.items() if key != "recipe"}
    moved = {
        key: (round(drawn.told.asked.get(key, 0), 2), round(drawn.told.next.get(key, 0), 2))
        for key in drawn.told.moves
    }
    print(f"{number}. {drawn.text}")
    print(f"   {drawn.verb} {drawn.place}: {drawn.asked.named}; {request}")
    print(f"   recipe: {drawn.asked.about.lines}")
    print(f"   moved: {moved}; added: {drawn.told.added}")


def main() -> None:
    """Draw and print."""
    reading = argparse.ArgumentParser(description=__doc__)
    reading.add_argument("--count", type=int, default=100)
    reading.add_argument("--seed", type=int, default=0)
    wanted = reading.parse_args()
    for number, drawn in enumerate(islice(sentences(wanted.seed), wanted.count), 1):
        print_drawn(number, drawn)


if __name__ == "__main__":
    main()
