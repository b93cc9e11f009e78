"""Holds the README against the errors and the commands that there are."""

import re
from collections.abc import Iterator

from advisor import errors
from advisor.cli.options import parser


def tree(kind: type[errors.AdvisorError]) -> Iterator[type[errors.AdvisorError]]:
    yield kind
    for below in kind.__subclasses__():
        yield from tree(below)


def kinds() -> list[type[errors.AdvisorError]]:
    return [kind for kind in tree(errors.AdvisorError) if kind.__module__ == errors.__name__]


def test_every_code_stands_in_the_readme(readme: str) -> None:
    missing = sorted(
        {kind.code for kind in kinds() if kind is not errors.AdvisorError and f"`{kind.code}`" not in readme}
    )
    assert not missing, missing


def test_the_docstring_draws_the_whole_tree() -> None:
    drawn = errors.__doc__ or ""
    for kind in kinds():
        assert f"``{kind.__name__}``" in drawn
        assert "code" not in vars(kind) or kind is errors.AdvisorError or f"``{kind.code}``" in drawn


def test_codes_are_kebab_case_and_each_belongs_to_one_kind() -> None:
    own = [kind.code for kind in kinds() if "code" in vars(kind)]
    assert len(own) == len(set(own))
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in own)


def test_every_kind_says_what_can_be_done() -> None:
    own = [kind for kind in kinds() if "code" in vars(kind)]
    assert all({"title", "remedy"} <= vars(kind).keys() for kind in own)


def test_every_verb_of_the_command_stands_in_the_readme(readme: str) -> None:
    missing = [verb for verb in parser("")[1] if f"dough-advisor {verb}" not in readme]
    assert not missing, missing
