"""What shifts between two recipes besides their lines."""

from typing import Annotated, Literal

from advisor.schema.base import Extensible, Shape

What = Annotated[
    Literal[
        "strength",
        "wetness",
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
        "limits",
    ],
    Extensible(),
]
Direction = Literal["better", "worse", "up", "down", "more", "less", "changed"]


class Shift(Shape):
    """What changes besides the arithmetic."""

    what: What
    direction: Direction
    text: str
