"""What is advised: composition frames and the highest levels assessed."""

from collections.abc import Iterator

from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Measures
from advisor.rulebook.levels import AssessedFile, FramesFile


def frame_advice(measures: Measures, frames: FramesFile, assessed: AssessedFile) -> Iterator[Demand]:
    """Return composition frames and assessed levels as advice."""
    frame = frames.frame[0]
    for part in frame.part:
        top = {}
        for key, one in measures.ingredients.items():
            if part.counts == "components":
                share = one.holds(*part.components)
            elif part.counts == "active":
                share = one.active if one.material.charge in part.charges else 0.0
            else:
                share = 1.0 if one.main_role in part.roles else 0.0
            if share:
                top[key] = share
        if top:
            yield Demand(
                id=f"frame:{part.id}",
                group="frame",
                name=f"{part.name}, frame {frame.id}",
                measure=Measure(top, None, 100.0),
                unit="%",
                kind="advice",
                rank="advice",
                maximum=part.max,
                about=tuple(sorted(top)),
                basis=frames.basis,
                source=f"{frames.source}, frame {frame.id} {frame.title}",
            )
    for level in (one for one in assessed.level if one.kind == "assessed"):
        top = {
            key: share for key, one in measures.ingredients.items() if (share := one.holds(*level.components))
        }
        if top:
            yield Demand(
                id=f"level:{level.id}",
                group="level",
                name=f"{level.name}, highest level assessed",
                measure=Measure(top, None, 100.0),
                unit="%",
                kind="advice",
                rank="advice",
                maximum=level.max,
                about=level.components,
                basis=level.basis,
                source=level.source,
            )
