"""What the notebook costs and brings: learning times, corrections with and without it, doughs that end workable."""

import statistics
import time
from collections.abc import Callable
from typing import Any

from advisor.correction.task import correct
from advisor.learning import learn
from advisor.recipe.belief import learning_rules, with_own_habits
from tests.notebook.test_learning import BOOK, invented
from tests.notebook.virtual_makers import Maker, chances_of_workable, notebook


def median_ms(work: Callable[[], Any], runs: int) -> float:
    """Return the median of some runs [ms]."""
    took = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        took.append(1e3 * (time.perf_counter() - start))
    return statistics.median(took)


def main() -> None:
    """Print the figures."""
    for doughs, powders, runs in ((500, 20, 30), (20_000, 60, 5)):
        made, belief = invented(doughs, powders)

        def taught(made: Any = made, belief: Any = belief) -> Any:
            return learn(made, with_own_habits(made, belief, BOOK.dough), learning_rules(BOOK.dough))

        print(f"learning from {doughs} doughs of {powders} powders: {median_ms(taught, runs):.1f} ms")
    maker = Maker.of(3)
    shop = notebook([maker.dough(maker.rng.normal(0, 0.1)) for _ in range(500)])
    failed = maker.failed()
    correct(failed, notebook=shop)
    pairs = [
        [median_ms(lambda k=k: correct(failed, notebook=k), 1) for k in (None, shop)] for _ in range(100)
    ]
    alone, known = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(f"correction: {alone:.2f} ms; with 500 doughs: {known:.2f} ms; ratio {known / alone:.2f}")
    without, with_doughs = chances_of_workable(1000)
    print(f"corrections of 1000 makers that end workable: {without:.1%}; after ten doughs: {with_doughs:.1%}")


if __name__ == "__main__":
    main()
