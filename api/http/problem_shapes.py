"""The bodies of problems."""

from typing import Annotated

from pydantic import BaseModel, Field

from advisor.schema.base import Shape
from advisor.schema.findings import TextItem
from advisor.schema.refusal import ConflictingDemand, NearestRecipe


class ProblemPlace(Shape):
    """One place of a request and what is wrong there; ``where`` is a JSON Pointer, or ?name in the query."""

    where: str
    problem: str
    hint: str


class Problem(BaseModel):
    """What went wrong (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    code: Annotated[
        str,
        Field(description="It never changes its meaning; more codes may come.", examples=["no-recipe-fits"]),
    ]
    instance: str
    errors: tuple[ProblemPlace, ...]


class UnknownMaterialProblem(Problem):
    """No such material; these come close."""

    nearest_keys: tuple[str, ...]


class NoRecipeFitsProblem(Problem):
    """No recipe meets every demand: which exclude each other, what comes nearest, what to do at the bench."""

    conflict: tuple[ConflictingDemand, ...]
    nearest: NearestRecipe | None
    advice: tuple[TextItem, ...]
    rules_version: str


class ProblemPage(Shape):
    """What a problem code means and what to do about it."""

    code: str
    title: str
    status: int
    meaning: str
    remedy: str
