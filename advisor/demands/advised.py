"""What is advised: composition frames and the highest levels assessed."""

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Literal

from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Measures
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.levels import AssessedFile, FramePart, FramesFile, Level

_REMEMBERED = 8192


def frame_advice(measures: Measures, frames: FramesFile, assessed: AssessedFile) -> Iterator[Demand]:
    """Return composition frames, what the house wants at most besides, and assessed levels as advice."""
    tops: dict[str, dict[str, float]] = {}
    rules = ByIdentity(frames), ByIdentity(assessed)
    for key, one in measures.ingredients.items():
        for demand, share in _counted(one, *rules):
            tops.setdefault(demand, {})[key] = share
    frame = frames.frame[0]
    source = f"{frames.source}, frame {frame.id} {frame.title}"
    for part in frame.part:
        if top := tops.get(f"frame:{part.id}"):
            yield _at_most("frame", part, f"{part.name}, frame {frame.id}", top, (), frames.basis, source)
    for own in frames.own:
        if top := tops.get(f"frame:{own.id}"):
            yield _at_most("frame", own, own.name, top, (), own.basis, own.source)
    for level in assessed.level:
        if top := tops.get(f"level:{level.id}"):
            name = f"{level.name}, highest level assessed"
            yield _at_most("level", level, name, top, level.components, level.basis, level.source)


def _at_most(
    group: Literal["frame", "level"],
    of: FramePart | Level,
    name: str,
    top: Mapping[str, float],
    about: tuple[str, ...],
    basis: str,
    source: str,
) -> Demand:
    return Demand(
        id=f"{group}:{of.id}",
        group=group,
        name=name,
        measure=Measure(top, None, 100.0),
        unit="%",
        kind="advice",
        rank="advice",
        maximum=of.max,
        about=about or tuple(sorted(top)),
        basis=basis,
        source=source,
    )


@lru_cache(maxsize=_REMEMBERED)
def _counted(
    one: Ingredient, frames: ByIdentity[FramesFile], assessed: ByIdentity[AssessedFile]
) -> tuple[tuple[str, float], ...]:
    """Return the share of a material that each frame and assessed level counts, where it counts any."""
    parts = (*frames.thing.frame[0].part, *frames.thing.own)
    levels = (level for level in assessed.thing.level if level.kind == "assessed")
    shares = [(f"frame:{part.id}", _share_in(part, one)) for part in parts]
    shares += [(f"level:{level.id}", one.holds(*level.components)) for level in levels]
    return tuple(counted for counted in shares if counted[1])


def _share_in(part: FramePart, one: Ingredient) -> float:
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
