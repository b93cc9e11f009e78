"""Pictures of answers by matplotlib (the extra ``plots``), of the same fields as those of the page."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from advisor.comparison.schema import ComparisonAnswer
from advisor.correction.schema import CorrectionAnswer
from advisor.errors import InvalidRequest, NotInstalled
from advisor.experiment.schema import MethodWindow, WindowAnswer
from advisor.schema.drying import DryingAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WETNESS = "how wet it is for its powders"
_HOURS = 24.0


def thread(
    answer: CorrectionAnswer, window: MethodWindow | None = None, axes: "Axes | None" = None
) -> "Axes":
    """Draw how wet the dough was, how wet the next one is to be, and where doughs are workable.

    Parameters
    ----------
    answer : CorrectionAnswer
    window : MethodWindow, optional
        Of ``advisor.window_of``, by the method the dough was worked with.
    axes : matplotlib Axes, optional
        Where to draw; default: a new figure.

    Raises
    ------
    InvalidRequest
        The recipe has no powder or no liquid, so it is neither wet nor dry.
    NotInstalled
    """
    before, after = answer.before.consistency.wetness, answer.after.consistency.wetness
    if before is None or after is None:
        raise InvalidRequest("Without a powder and a liquid a recipe is neither wet nor dry.")
    axes = _axes(axes, (7, 1.8))
    axes.set_xscale("log")
    axes.axhline(0, color="0.8", linewidth=18, zorder=0)
    if window is not None:
        axes.axvspan(window.low, window.high, color="tab:green", alpha=0.2, label="where doughs are workable")
        axes.axvline(window.centre, color="tab:green", linestyle=":")
    wanted = next((one for one in answer.checks if one.name == _WETNESS), None)
    if wanted is not None and wanted.min is not None and wanted.max is not None:
        axes.axvspan(wanted.min, wanted.max, color="tab:blue", alpha=0.4, label="what is wanted")
    axes.plot([before], [0], "v", color="tab:red", markersize=12, label=f"this dough {before:.2f}")
    axes.plot([after], [0], "^", color="tab:blue", markersize=12, label=f"the next {after:.2f}")
    axes.set(yticks=[], xlabel=f"{_WETNESS}, drier to the left")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, 1.5), ncols=4, frameon=False)
    return axes


def curve(
    answer: DryingAnswer, weighings: Iterable[Mapping[str, float]] = (), axes: "Axes | None" = None
) -> "Axes":
    """Draw the drying of a bar: the weighings, the fitted curve with its band, and when it is dry.

    Parameters
    ----------
    answer : DryingAnswer
    weighings : iterable of mapping
        ``hours`` and ``grams``, as the request carried them.
    axes : matplotlib Axes, optional

    Raises
    ------
    NotInstalled
    """
    axes = _axes(axes, (7, 4))
    dry = answer.hours_to_dry
    axes.axvspan(
        dry.low / _HOURS, dry.high / _HOURS, color="tab:green", alpha=0.2, label="dry, in all likelihood"
    )
    axes.axvline(dry.typical / _HOURS, color="tab:green", linestyle=":")
    days = [point.hours / _HOURS for point in answer.curve]
    axes.plot(days, [point.grams for point in answer.curve], color="tab:blue", label="fitted")
    band = [
        (p.hours / _HOURS, p.low, p.high) for p in answer.curve if p.low is not None and p.high is not None
    ]
    axes.fill_between(
        [p[0] for p in band], [p[1] for p in band], [p[2] for p in band], color="tab:blue", alpha=0.15
    )
    weighed = list(weighings)
    axes.plot([w["hours"] / _HOURS for w in weighed], [w["grams"] for w in weighed], "o", color="black")
    axes.set(xlabel="days", ylabel="a bar weighs [g]")
    axes.legend(frameon=False)
    return axes


def window(answer: WindowAnswer, axes: "Axes | None" = None) -> "Axes":
    """Draw where a shop's doughs are workable, by each method, with how many doughs say so.

    Raises
    ------
    NotInstalled
    """
    axes = _axes(axes, (7, 2.2))
    methods = answer.by_method
    centres = [one.centre for one in methods]
    reach = [[one.centre - one.low for one in methods], [one.high - one.centre for one in methods]]
    axes.errorbar(centres, range(len(methods)), xerr=reach, fmt="o", capsize=6)
    axes.set_yticks(range(len(methods)), [f"{one.method}, {one.doughs} doughs" for one in methods])
    axes.set(xlabel=f"{_WETNESS}, at {answer.level:.0%}", ylim=(len(methods) - 0.5, -0.5))
    return axes


def composition(answer: CorrectionAnswer | ComparisonAnswer, axes: "Axes | None" = None) -> "Axes":
    """Draw what two recipes consist of, one above the other: before and after, or a and b.

    Raises
    ------
    NotInstalled
    """
    axes = _axes(axes, (9, 2.6))
    names, lines = _both(answer)
    left = [0.0, 0.0]
    for material, both in lines.items():
        axes.barh(names, both, left=left, edgecolor="white", label=material)
        for place, percent in enumerate(both):
            if percent > 4:
                middle = left[place] + percent / 2
                axes.text(middle, place, f"{percent:.1f}", ha="center", va="center", color="white")
        left = [start + percent for start, percent in zip(left, both, strict=True)]
    axes.set(xlabel="percent", xlim=(0, 100))
    axes.invert_yaxis()
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.3), ncols=4, frameon=False)
    return axes


def _both(answer: CorrectionAnswer | ComparisonAnswer) -> tuple[list[str], dict[str, list[float]]]:
    """Return the names of two recipes and the percents of each material in both."""
    if isinstance(answer, ComparisonAnswer):
        return ["a", "b"], {line.material: [line.a, line.b] for line in answer.lines}
    lines = {line.material: [line.percent, line.percent] for line in answer.recipe.lines}
    lines |= {one.material: [one.before, one.after] for one in answer.changes}
    return ["before", "after"], lines


def _axes(axes: "Axes | None", size: tuple[float, float]) -> "Axes":
    """Return where to draw.

    Raises
    ------
    NotInstalled
    """
    if axes is not None:
        return axes
    try:
        from matplotlib import pyplot
    except ImportError as error:
        raise NotInstalled.of("A picture", "plots") from error
    made: Axes = pyplot.subplots(figsize=size, layout="constrained")[1]
    return made
