"""The rework call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Date, Flag, Grams, Key, Percent, Text
from advisor.schema.findings import Answer
from advisor.schema.material import Material, Materials
from advisor.schema.recipe import Recipe

Lots = Annotated[dict[Key, Text], Field(max_length=200)]


class ReworkRequest(Asked):
    """A recipe of which dough or bars are left over.

    ``mass_left`` is what is left of 100 g of dough in the dried bar [g]; ``grams`` what there is of it;
    ``lots`` the lots it was made of, beside those its lines name.
    """

    recipe: Recipe
    dried: Flag
    mass_left: Percent | None = None
    grams: Grams | None = None
    lots: Lots | None = None
    materials: Materials | None = None


class ReworkAnswer(Answer):
    """The rework as a material, ready to be kept or sent; its lots, and the date of the oldest."""

    material: Material
    lots: dict[Key, Text]
    expires: Date | None
