"""What the server answers of itself and of its lists: health, and one page of a list."""

from typing import Annotated, Any, Literal

from pydantic import PlainSerializer

from advisor.schema.base import Shape
from advisor.schema.material import Material


class Page(Shape):
    """A part of a list; ``next`` is the cursor of what follows, null at the end."""

    next: str | None
    rules_version: str


def _without_nulls(material: Material) -> dict[str, Any]:
    return material.model_dump(exclude_none=True)


SentMaterial = Annotated[Material, PlainSerializer(_without_nulls)]


class MaterialsPage(Page):
    """Materials by key."""

    items: tuple[SentMaterial, ...]


class Health(Shape):
    """Whether the server can work, and with what."""

    status: Literal["ok"]
    version: str
    rules_version: str
    solver: str


class Readiness(Shape):
    """Whether the server can serve now: what is stored can be read."""

    status: Literal["ready"]
    storage: Literal["ok"]
