"""The shape of rules/bowl.toml: what may be added to a dough, and how."""

from typing import Annotated

from pydantic import Field

from advisor.rulebook.table import ByDegree, Id, Positive, Share, Sourced, Table, Worded
from advisor.schema.material import Form, Role


class BowlCaps(Sourced):
    """The most that is added to a dough in one go and in all [share of the dough]."""

    liquid: Share
    powder: Share
    in_all: Share


class Levers(Sourced):
    """What may be added to a dough, and in which order of preference."""

    own_blend: Positive
    beside_blend: Positive
    member_at_least: Share
    sliver: Share
    forms: tuple[Form, ...]
    roles: dict[Role, Positive]


class BowlStages(Sourced):
    """In which parts an addition is fed, and what is done after each [minutes].

    A part is at most the larger of ``grams_at_most`` [g] and ``share_at_most`` of the dough; below
    ``drops_below_steps`` steps of the balance a liquid is better given by drops.
    """

    parts: Annotated[int, Field(strict=True, ge=1)]
    grams_at_most: Positive
    share_at_most: Share
    drops_below_steps: Annotated[int, Field(strict=True, ge=1)]
    knead_minutes: int
    rest_minutes: int


class BindingRules(Sourced):
    """How much watery liquid a crumbling dough gets, by degree [share of the dough]."""

    dose: ByDegree


class ReworkRules(Sourced):
    """How much of a failed dough a later batch takes [share of the batch]."""

    at_most: Share


class RecoveryRules(Sourced):
    """How far what is no lever may end from its percent [share of itself], and what fills no batch up."""

    held_within: Share
    no_filling: tuple[Role, ...]


class BowlAdvice(Table):
    """Advice that is not for the dough in the bowl."""

    not_for_the_bowl: tuple[Id, ...]


class BowlRules(Worded):
    """rules/bowl.toml."""

    caps: BowlCaps
    levers: Levers
    stages: BowlStages
    binding: BindingRules
    rework: ReworkRules
    recovery: RecoveryRules
    advice: BowlAdvice
