"""What is advised: composition frames and the highest levels assessed."""

from collections.abc import Iterator, Mapping
from typing import Literal

from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Measures
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.levels import AssessedFile, FramePart, FramesFile, Level


def frame_advice(measures: Measures, frames: FramesFile, assessed: AssessedFile) -> Iterator[Demand]:
    """Return composition frames, what the house wants at most besides, and assessed levels as advice."""
    frame = frames.frame[0]
    source = f"{frames.source}, frame {frame.id} {frame.title}"
    for part in frame.part:
        top = _top(part, measures)
        name = f"{part.name}, frame {frame.id}"
        yield from _at_most("frame", part, name, top, tuple(sorted(top)), frames.basis, source)
    for own in frames.own:
        top = _top(own, measures)
        yield from _at_most("frame", own, own.name, top, tuple(sorted(top)), own.basis, own.source)
    for level in (one for one in assessed.level if one.kind == "assessed"):
        top = measures.component(*level.components).top
        name = f"{level.name}, highest level assessed"
        yield from _at_most("level", level, name, top, level.components, level.basis, level.source)


def _at_most(
    group: Literal["frame", "level"],
    of: FramePart | Level,
    name: str,
    top: Mapping[str, float],
    about: tuple[str, ...],
    basis: str,
    source: str,
) -> Iterator[Demand]:
    if top:
        yield Demand(
            id=f"{group}:{of.id}",
            group=group,
            name=name,
            measure=Measure(top, None, 100.0),
            unit="%",
            kind="advice",
            rank="advice",
            maximum=of.max,
            about=about,
            basis=basis,
            source=source,
        )


def _top(part: FramePart, measures: Measures) -> Mapping[str, float]:
    return {key: share for key, one in measures.ingredients.items() if (share := _counted(part, one))}


def _counted(part: FramePart, one: Ingredient) -> float:
    """Return the share of a material that a part of a frame counts."""
    match part.counts:
        case "components":
            return one.holds(*part.components)
        case "active":
            return one.active if one.material.charge in part.charges else 0.0
        case "supplied":
            return 1.0 if one.main_role in part.roles else 0.0
        case "flagged":
            flags = one.material.flags
            return 1.0 if flags is not None and getattr(flags, part.flag or "") else 0.0
