"""What shifts between two recipes besides their lines."""

from typing import Literal

from advisor.schema.base import Shape

What = Literal[
    "strength",
    "mildness",
    "foam",
    "hardness",
    "fineness",
    "ph",
    "water",
    "balance",
    "sulfate_free",
    "ethoxylated",
    "vegan",
    "palm",
    "allergens",
    "label",
    "price",
    "preservation",
    "safety",
]
Direction = Literal["better", "worse", "up", "down", "more", "less", "changed"]


class Shift(Shape):
    """What changes besides the arithmetic."""

    what: What
    direction: Direction
    text: str
