"""What came of the makers, written for a reader: what had to hold, then world by world."""

from collections.abc import Iterator, Mapping

from .course import COVERED, LEVEL, TOLD, Course, Trust, classes_told
from .worlds import NOISELESS, WORLDS, World

Found = Mapping[World, tuple[dict[str, Course], Trust]]
_TOOL, _SHRINKING, _ORACLE = "this tool", "steps shrinking with the doughs", "knowing the centre"
_BEHIND_AT_MOST, _BEHIND_THE_ORACLE = 0.02, 0.03
_COVERED_FROM, _COVERED_TO, _CALIBRATED = 0.72, 0.88, 0.06


def beginning(found: Found, count: int, seed: int) -> tuple[str, list[str]]:
    """Return the beginning of the report, and what had to hold and does not."""
    lines = list(_lines(found))
    few = found[WORLDS[0]][0]["an optimiser for any purpose"].makers
    rows = "\n".join(
        f"| {what} | {measured} | {'yes' if held else '**no**'} |" for what, measured, held in lines
    )
    text = f"""# How doughs teach

Written by `make learning`: {count} invented makers in each world (seeds from {seed} on; the figures in
`rules/dough.toml` were chosen with makers of seeds from 200000 on) correct one recipe for fifteen doughs. Each has a
centre and demands of powders drawn as the world says, and judges with {classes_told()}, or as the world says.
The first dough is made at the library's own centre. What is told is the mean chance of a workable dough, at dough
{", ".join(map(str, TOLD))}; the standard error of a share is at most {0.5 / count**0.5:.2f}. A dough at the very centre is
called workable in about half of all cases, so that even whoever knows the centre does not come to 1. "Pooled" is this
tool with what a hundred other makers of the same world handed on beside its rules. The optimiser for any purpose is the
tree-structured Parzen estimator of optuna, asked dough by dough for the wetness that is least degrees from workable,
by {few} of the makers.

## What must hold

| what | measured | holds |
|---|---|---|
{rows}
"""
    return text, [f"{what}: {measured}" for what, measured, held in lines if not held]


def _lines(found: Found) -> Iterator[tuple[str, str, bool]]:
    """Return what must hold, what was measured, and whether it holds."""
    noisy = {world: one for world, one in found.items() if world is not NOISELESS}
    for doughs in COVERED:
        shares = {world.name: trusted.coverage[doughs] for world, (_, trusted) in noisy.items()}
        least, most = min(shares, key=lambda one: shares[one]), max(shares, key=lambda one: shares[one])
        yield (
            f"the {LEVEL:.0%} interval covers {_COVERED_FROM:.0%} to {_COVERED_TO:.0%} after {doughs} doughs, in every world",
            f"{shares[least]:.1%} ({least}) to {shares[most]:.1%} ({most})",
            shares[least] >= _COVERED_FROM and shares[most] <= _COVERED_TO,
        )
    errors = {world.name: trusted.calibration_error for world, (_, trusted) in noisy.items()}
    worst = max(errors, key=lambda one: errors[one])
    yield (
        f"the chance of a workable dough is off by at most {_CALIBRATED:.2f}, in every world",
        f"{errors[worst]:.3f} ({worst})",
        errors[worst] <= _CALIBRATED,
    )
    behind, world, dough = max(
        (theirs - mine, world.name, dough)
        for world, (told, _) in found.items()
        for dough, mine, theirs in zip(TOLD, told[_TOOL].workable, told[_SHRINKING].workable, strict=True)
    )
    yield (
        f"never behind shrinking steps by more than {_BEHIND_AT_MOST:.2f}, at any dough in any world",
        f"at most {behind:.3f} ({world}, dough {dough})",
        behind <= _BEHIND_AT_MOST,
    )
    told = found[WORLDS[0]][0]
    mine, best = told[_TOOL].workable[-1], told[_ORACLE].workable[-1]
    yield (
        f"at dough {TOLD[-1]} within {_BEHIND_THE_ORACLE:.2f} of whoever knows the centre, as believed",
        f"{mine:.3f} of {best:.3f}",
        mine >= best - _BEHIND_THE_ORACLE,
    )
    never = found[NOISELESS][0][_TOOL].never
    yield f"without noise every maker has a workable dough in {TOLD[-1]}", f"{never} never had one", not never


def world_told(world: World, courses: Mapping[str, Course], found: Trust) -> str:
    """Return what came of one world: a table, what may be trusted, a plot."""
    head = "| way | " + " | ".join(f"dough {one}" for one in TOLD) + " | doughs until workable | never |"
    rows = [f"## World: {world.name}\n", head, "|---|" + "---:|" * (len(TOLD) + 2)]
    for name, one in courses.items():
        shares = " | ".join(f"{share:.2f}" for share in one.workable)
        rows.append(f"| {name} | {shares} | {one.until:.1f} | {one.never} |")
    if world is not NOISELESS:
        covered = " and ".join(f"{found.coverage[doughs]:.0%} after {doughs}" for doughs in COVERED)
        rows.append(
            f"\nThe {LEVEL:.0%} interval holds the centre of the next dough in {covered} doughs; the chance of a "
            f"workable dough is off by {found.calibration_error:.3f} (expected calibration error)."
        )
    bars, rule, best = (
        ", ".join(f"{share:.2f}" for share in courses[name].workable) for name in (_TOOL, _SHRINKING, _ORACLE)
    )
    names = ", ".join(f'"{one}"' for one in TOLD)
    rows.append(
        "\n```mermaid\nxychart-beta\n"
        f'    title "{world.name}: this tool (bars), shrinking steps and knowing the centre (lines)"\n'
        f'    x-axis "dough" [{names}]\n    y-axis "chance of a workable dough" 0 --> 1\n'
        f"    bar [{bars}]\n    line [{rule}]\n    line [{best}]\n```\n"
    )
    return "\n".join(rows)
