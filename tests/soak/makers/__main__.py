"""Let invented makers of every world learn their doughs, and write what came of it.

Usage: python -m tests.soak.makers [--makers 100] [--output docs/learning.md]. Ends with 1 where a maker without
noise never gets a workable dough, or this tool stays behind a rule of thumb by more than 0.02 at a dough that is told.
"""

import argparse
import sys
from pathlib import Path

from .course import COVERED, LEVEL, TOLD, Course, Trust, classes_told, course, trust
from .strategies import STRATEGIES
from .worlds import NOISELESS, WORLDS, World

_RULES = ("steps halved at each turn", "steps shrinking with the doughs")
_BEHIND_AT_MOST = 0.02


def main() -> int:
    """Run, write, and judge."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--makers", type=int, default=100)
    asked.add_argument("--output", type=Path)
    options = asked.parse_args()
    told, fallen = [_beginning(options.makers)], 0
    for world in (*WORLDS, NOISELESS):
        courses = {name: course(world, name, options.makers) for name in STRATEGIES}
        found = trust(world, options.makers) if world is not NOISELESS else None
        told.append(_world(world, courses, found))
        fallen += _faults(world, courses)
    text = "\n".join(told)
    if options.output:
        options.output.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)
    return int(fallen > 0)


def _beginning(count: int) -> str:
    return f"""# How doughs teach

Written by `make learning`: {count} invented makers in each world correct one recipe for fifteen doughs. Each has a
centre and demands of powders drawn as the world says, and judges with {classes_told()}, or as the world says.
The first dough is made at the library's own centre. What is told is the mean chance of a workable dough, at dough
{", ".join(map(str, TOLD))}; the standard error of a share is about {0.5 / count**0.5:.2f}. A dough at the very centre is
called workable in about half of all cases, so that even whoever knows the centre does not come to 1.
"""


def _world(world: World, courses: dict[str, Course], found: Trust | None) -> str:
    head = "| way | " + " | ".join(f"dough {one}" for one in TOLD) + " | doughs until workable | never |"
    rows = [f"## World: {world.name}\n", head, "|---|" + "---:|" * (len(TOLD) + 2)]
    for name, one in courses.items():
        shares = " | ".join(f"{share:.2f}" for share in one.workable)
        rows.append(f"| {name} | {shares} | {one.until:.1f} | {one.never} |")
    if found is not None:
        covered = " and ".join(f"{found.coverage[doughs]:.0%} after {doughs}" for doughs in COVERED)
        rows.append(
            f"\nThe {LEVEL:.0%} interval holds the centre of the next dough in {covered} doughs; the chance of a "
            f"workable dough is off by {found.calibration_error:.3f} (expected calibration error)."
        )
    bars = ", ".join(f"{share:.2f}" for share in courses["this tool"].workable)
    lines = ", ".join(f"{share:.2f}" for share in courses["knowing the centre"].workable)
    names = ", ".join(f'"{one}"' for one in TOLD)
    rows.append(
        "\n```mermaid\nxychart-beta\n"
        f'    title "{world.name}: this tool (bars), knowing the centre (line)"\n'
        f'    x-axis "dough" [{names}]\n    y-axis "chance of a workable dough" 0 --> 1\n'
        f"    bar [{bars}]\n    line [{lines}]\n```\n"
    )
    return "\n".join(rows)


def _faults(world: World, courses: dict[str, Course]) -> int:
    tool, faults = courses["this tool"], 0
    for name in _RULES:
        pairs = zip(TOLD, tool.workable, courses[name].workable, strict=True)
        for dough, mine, theirs in pairs:
            if mine < theirs - _BEHIND_AT_MOST:
                sys.stderr.write(f"{world.name}, dough {dough}: {mine:.3f}, {name} {theirs:.3f}\n")
                faults += 1
    if world is NOISELESS and tool.never:
        sys.stderr.write(f"{world.name}: {tool.never} makers never had a workable dough\n")
        faults += 1
    return faults


if __name__ == "__main__":
    sys.exit(main())
