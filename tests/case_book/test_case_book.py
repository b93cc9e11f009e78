"""Every situation of the case book holds, but for those in the open list; whoever mends one strikes it there."""

from collections.abc import Iterator

import pytest

from case_book import cases, reader

BOOK = cases.load()
STILL_OPEN = cases.still_open()
IDS = {one.id for one in BOOK}


def marked() -> Iterator[object]:
    for one in BOOK:
        wrong = STILL_OPEN.get(one.id)
        yield pytest.param(
            one, id=one.id, marks=[pytest.mark.xfail(reason=wrong, strict=True)] if wrong else []
        )


@pytest.mark.parametrize("one", list(marked()))
def test_the_answer_is_one_a_master_would_sign(one: cases.Case) -> None:
    complaints = reader.judge(cases.ask(one), one.must, one.never)
    assert not complaints, f"{one.title}: {'; '.join(complaints)}"


def test_the_open_list_names_situations_and_says_what_is_wrong() -> None:
    assert set(STILL_OPEN) <= IDS
    assert all(len(wrong) > 15 and wrong.endswith(".") for wrong in STILL_OPEN.values())


def test_the_book_is_whole() -> None:
    assert len(BOOK) >= 60
    assert len(IDS) == len(BOOK)
    assert 3 * sum(one.file == "practitioner" for one in BOOK) >= len(BOOK)
    verbs = {"correct", "add", "assess", "substitute", "recover", "weigh", "dose", "dry", "record", "label"}
    assert {one.verb for one in BOOK} >= verbs
    for one in BOOK:
        assert one.title and one.basis.endswith("."), one.id
        assert one.must, f"{one.id} asks nothing of its answer"
        assert set(one.must) | set(one.never) <= set(reader.WORDS), one.id


@pytest.mark.parametrize("one", BOOK, ids=lambda one: one.id)
def test_a_recipe_of_the_book_adds_up(one: cases.Case) -> None:
    amounts = [line.get("percent") for line in one.request.get("recipe", {"lines": []})["lines"]]
    assert None in amounts or not amounts or sum(amounts) == pytest.approx(100, abs=1e-6)
