"""From the program of a correction to the recipe that serves its report: what gives way, in its order."""

from collections.abc import Iterator

from advisor.case.case import Case
from advisor.case.confidence import attempt
from advisor.case.refusal import conflict_of
from advisor.case.solve import Attempt, Program, Solved
from advisor.demands.aim import Target
from advisor.demands.kept import is_same_bar
from advisor.demands.use import given_way
from advisor.frozen import dataclass, replace
from advisor.optimise.problem import CERTIFIED
from advisor.schema.base import WHOLE
from advisor.schema.recipe import Report


@dataclass(frozen=True)
class Walk:
    """How the program of a case is solved for what a report asks."""

    case: Case
    report: Report
    aim: Target

    def best(self, program: Program) -> Attempt:
        """Solve; where the report is not served, usual ranges give way, then surfactants may rise."""
        best = Attempt(program, None)
        for milder in self._ever_milder(program):
            tried = self._of_this_bar(milder)
            if tried.missed < best.missed - CERTIFIED:
                best = tried
            if best.missed <= CERTIFIED:
                break
        return best if self.serves(best.solved) else self._at_last(best)

    def serves(self, solved: Solved | None) -> bool:
        """Tell whether a recipe was found whose wetting index moves the way it was reported at all."""
        if solved is None or not self.aim.direction:
            return solved is not None
        index, own = self.aim.demands[0].measure, self.case.formula.amounts
        moved = (index.of(solved.plan.amounts) or 0.0) - (index.of(own) or 0.0)
        return moved * self.aim.direction > CERTIFIED

    def _at_last(self, best: Attempt) -> Attempt:
        """Solve with more of what sets and farther moves, and beyond usual ranges for a finished bar."""
        program = best.program
        setting = (key for key in program.no_more_of if program.ingredients[key].main_role == "structurant")
        hard = [demand for demand in program.hard if demand.group != "beside"]
        eased = replace(program, hard=hard, no_more_of=program.no_more_of - frozenset(setting))
        tries = [eased] if best.solved is None else []
        tries += [self._beyond_ranges(eased)] if self.aim.route == "in_use" else []
        found = (one for one in map(self._of_this_bar, tries) if self.serves(one.solved))
        return next(found, best if best.solved else Attempt(eased, None))

    def _ever_milder(self, program: Program) -> Iterator[Program]:
        """Return the program as it is, then as it gives way where the report asks for it."""
        of = program.ingredients
        greasing = self.aim.route == "wetter" and self.report.feel != "crumbling"
        rising = frozenset(
            key for key in program.no_more_of if of[key].is_surfactant or (greasing and of[key].oil)
        )
        for allowed in (frozenset[str](), rising) if rising else (rising,):
            tried = replace(program, no_more_of=program.no_more_of - allowed) if allowed else program
            yield tried
            if self.aim.route in ("wetter", "drier"):
                yield self._beyond_ranges(tried)
        if program.cheapest and self.aim.route == "wetter":
            yield replace(
                program,
                hard=[d for d in program.hard if not (is_same_bar(d) and d.group in ("oil", "water"))],
            )
        if any(demand.rank == "wish" and demand.minimum == demand.maximum for demand in program.hard):
            yield _by_a_step(program)

    def _of_this_bar(self, program: Program) -> Attempt:
        """Solve, and let go of what the cheapest bar cannot keep of the bar it was."""
        tried = self._tried(program)
        while tried.solved is None and (dropped := _same_bar_in_conflict(tried.program)):
            kept = [demand for demand in tried.program.hard if demand.id not in dropped]
            tried = self._tried(replace(tried.program, hard=kept))
        return tried

    def _beyond_ranges(self, program: Program) -> Program:
        """Return the program with usual ranges that give way, within frames and assessed levels."""
        context, own = self.case.context, self.case.formula.amounts
        caps = [
            replace(demand, maximum=max(demand.maximum or 0.0, demand.measure.of(own, WHOLE) or 0.0))
            for demand in self.case.advised
        ]
        given = [given_way(demand, context) if demand.group == "use" else demand for demand in program.hard]
        return replace(program, hard=[*given, *caps])

    def _tried(self, program: Program) -> Attempt:
        return attempt(program, self.case.wishes.confidence, self.case.rulebook)


def _same_bar_in_conflict(program: Program) -> set[str]:
    """Return what the cheapest bar was to keep that excludes the other demands; all where none is blamed."""
    kept = {demand.id for demand in program.hard if is_same_bar(demand)}
    if not kept:
        return set()
    blamed = {demand.id for demand, _ in conflict_of(program)}
    return kept & blamed if blamed else kept


def _by_a_step(program: Program) -> Program:
    """Return the program with usual ranges a rounding step wider: no ground to refuse an exact wish."""
    step = 1.0 / program.rules.rounding.per_percent
    wider = [
        replace(demand, maximum=demand.maximum + step) if demand.group == "use" and demand.maximum else demand
        for demand in program.hard
    ]
    return replace(program, hard=wider)
