"""The same seed draws the same sentences for an audit, no two alike, each with what was asked."""

from itertools import islice

from tests.soak import sentences


def test_the_same_seed_draws_the_same_sentences() -> None:
    first, again = (list(islice(sentences.sentences(7), 12)) for _ in range(2))
    assert [drawn.text for drawn in first] == [drawn.text for drawn in again]
    assert len({drawn.text for drawn in first}) == 12
    assert all(drawn.text in drawn.told.sentences for drawn in first)
