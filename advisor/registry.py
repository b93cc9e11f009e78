"""The tasks, an entry each: function, shapes, address, verb, errors, printed form and sample."""

from collections.abc import Callable
from importlib import import_module
from typing import Any, Literal

from advisor.errors import (
    AdvisorError,
    InvalidRecipe,
    NoRecipeFits,
    NotInstalled,
    SolverError,
    UnknownMaterial,
)
from advisor.frozen import cached_property, dataclass

Errors = tuple[type[AdvisorError], ...]
_RECIPE: Errors = (InvalidRecipe, UnknownMaterial)
_SOLVED: Errors = (*_RECIPE, SolverError)
_PROGRAM: Errors = (*_SOLVED, NoRecipeFits)


@dataclass(frozen=True)
class Task:
    """One thing a maker asks.

    Parameters
    ----------
    name : str
        Of the function, of the client's method and, if ``verb`` says nothing else, of the verb.
    module : str
        Where the function is.
    address : str
        Its address below /v1/.
    summary : str
        What it does, for the command line, the client and the description of the API.
    shapes : str
        Where its shapes are, and how their names begin: ``advisor.correction.schema:Correction`` stands for
        ``CorrectionRequest`` and ``CorrectionAnswer``.
    sample : str
        The request in samples/ that shows it.
    errors : tuple
        What it may raise besides ``InvalidRequest``.
    method : {"POST", "GET"}
    verb : str, optional
        Of the command line, where it is not the name.
    typed : str, optional
        What is typed behind the verb, as an example; without it a recipe.
    document : str, optional
        Where the function is that lays its answer out, as ``module:function``.
    form : bool
        Whether its answer is a form to print.
    long : bool
        Whether it may keep a server busy.
    swept_as : str, optional
        What a sweep calls it.
    knows_shop : bool
        Whether it takes a ``notebook``.

    Examples
    --------
    >>> task("correct").answer.__name__
    'CorrectionAnswer'
    """

    name: str
    module: str
    address: str
    summary: str
    shapes: str
    sample: str = ""
    errors: Errors = _RECIPE
    method: Literal["POST", "GET"] = "POST"
    verb: str = ""
    typed: str = ""
    document: str = ""
    form: bool = False
    long: bool = False
    swept_as: str = ""
    knows_shop: bool = True

    @cached_property
    def function(self) -> Callable[..., Any]:
        """The function that answers."""
        found: Callable[..., Any] = _loaded(f"{self.module}:{self.name}")
        return found

    @cached_property
    def request(self) -> type[Any]:
        """The shape of what is asked."""
        found: type[Any] = _loaded(f"{self.shapes}Request")
        return found

    @cached_property
    def answer(self) -> type[Any]:
        """The shape of the answer."""
        found: type[Any] = _loaded(f"{self.shapes}Answer")
        return found

    @cached_property
    def lay_out(self) -> Callable[..., Any]:
        """The function that lays an answer out as a document."""
        found: Callable[..., Any] = _loaded(self.document)
        return found

    @property
    def asked_as(self) -> str:
        """The word a maker types."""
        return self.verb or self.name

    @property
    def example(self) -> str:
        """How it may be typed."""
        return f"{self.asked_as} {self.typed or 'my-bar.csv'}"


def _loaded(place: str) -> Any:
    module, _, name = place.partition(":")
    return getattr(import_module(module), name)


TASKS = (
    Task(
        name="assess",
        module="advisor.assessment.task",
        address="assessments",
        summary="Look at a recipe as it stands, against every demand",
        typed="my-bar.csv --market eu",
        shapes="advisor.assessment.schema:Assessment",
        sample="recipe-to-look-at",
        swept_as="assessment",
        document="advisor.printing.answers:assessment",
    ),
    Task(
        name="compare",
        module="advisor.comparison.task",
        address="comparisons",
        summary="Put two recipes side by side",
        typed="my-bar.csv next-bar.csv",
        shapes="advisor.comparison.schema:Comparison",
        sample="before-and-after",
        document="advisor.printing.answers:comparison",
    ),
    Task(
        name="draft",
        module="advisor.drafting.task",
        address="drafts",
        summary="Draw up new bars from a wish and what is on the shelf",
        typed="--shelf 'isethionate-powder, kaolin, betaine-30, glycerin' --claim vegan",
        shapes="advisor.drafting.schema:Draft",
        sample="a-new-bar-for-spring",
        errors=_PROGRAM,
        document="advisor.printing.answers:draft",
        long=True,
    ),
    Task(
        name="correct",
        module="advisor.correction.task",
        address="corrections",
        summary="Turn a failed dough into the next recipe",
        typed="my-bar.csv --feel too_wet --degree clearly",
        shapes="advisor.correction.schema:Correction",
        sample="wet-betaine-dough",
        errors=_PROGRAM,
        swept_as="correction",
        document="advisor.printing.answers:correction",
    ),
    Task(
        name="add",
        module="advisor.bowl.add",
        address="additions",
        summary="Save the dough in the bowl by adding to it",
        typed="my-bowl.csv --feel too_wet --balance 0.1",
        shapes="advisor.bowl.schema:Addition",
        sample="bowl-too-wet",
        errors=_PROGRAM,
        document="advisor.printing.answers:addition",
    ),
    Task(
        name="substitute",
        module="advisor.substitution.task",
        address="substitutions",
        summary="Replace a material that cannot be had",
        typed="my-bar.csv --missing betaine-30",
        shapes="advisor.substitution.schema:Substitution",
        sample="betaine-cannot-be-had",
        errors=_PROGRAM,
        long=True,
        swept_as="substitution",
        document="advisor.printing.answers:substitution",
    ),
    Task(
        name="recover",
        module="advisor.bowl.recover",
        address="recoveries",
        summary="Mend a batch in which something was over-weighed",
        typed="my-bar.csv --batch 1000 --balance 0.1 --weighed kaolin=140 --mixed",
        shapes="advisor.bowl.schema:Recovery",
        sample="too-much-clay",
        errors=_SOLVED,
        document="advisor.printing.answers:recovery",
    ),
    Task(
        name="weigh",
        module="advisor.weighing.task",
        address="weighings",
        summary="Write the weigh sheet of a batch",
        typed="my-bar.csv --batch 1000 --balance 0.1",
        shapes="advisor.weighing.schema:Weighing",
        sample="weigh-sheet-on-two-balances",
        errors=_SOLVED,
        document="advisor.printing.weigh_sheet:weigh_sheet",
        form=True,
    ),
    Task(
        name="label",
        module="advisor.labelling.task",
        address="labels",
        summary="Write the ingredient list for a market",
        typed="my-bar.csv --market eu",
        shapes="advisor.labelling.schema:Label",
        sample="label-of-the-heron-bar",
        document="advisor.printing.label:label_sheet",
        form=True,
    ),
    Task(
        name="cost",
        module="advisor.costing.task",
        address="costings",
        summary="Reckon what a batch and a sold bar cost",
        typed="my-bar.csv --batch 1000 --bar 80 --work 12 --factor 2.5",
        shapes="advisor.costing.schema:Costing",
        sample="what-a-market-bar-costs",
        document="advisor.printing.answers:costing",
    ),
    Task(
        name="rework",
        module="advisor.reworking.task",
        address="reworks",
        summary="Make trimmings or cracked bars a material for a later batch",
        typed="my-bar.csv --dried --grams 300",
        shapes="advisor.reworking.schema:Rework",
        sample="trimmings-of-the-heron-bar",
        document="advisor.printing.days:rework",
    ),
    Task(
        name="plan_day",
        verb="plan-day",
        module="advisor.day_planning.task",
        address="day-plans",
        summary="Plan a day of several batches: one list to weigh, one melt, an order that dirties least",
        typed="my-bar.csv=1000 next-bar.csv=500 --balance 0.1",
        shapes="advisor.day_planning.schema:DayPlan",
        sample="saturday-with-three-batches",
        errors=_SOLVED,
        document="advisor.printing.days:day_plan",
    ),
    Task(
        name="dry",
        module="advisor.drying.task",
        address="drying",
        summary="Fit the drying of a bar and say when it is dry",
        typed="--weighing 0=112 --weighing 24=104 --weighing 48=101 --made-on 2026-05-31",
        shapes="advisor.schema.drying:Drying",
        sample="bar-on-the-drying-rack",
        errors=(*_RECIPE, NotInstalled),
        document="advisor.printing.measurements:drying",
        long=True,
    ),
    Task(
        name="dose",
        module="advisor.laboratory.dose",
        address="ph-doses",
        summary="Say how much acid or alkali is still to add",
        typed="--first-ph 8.4 --dose 0.5 --second-ph 7.6 --target-ph 6 --test-percent 10",
        shapes="advisor.laboratory.schema:Dose",
        sample="dough-too-alkaline",
        errors=_RECIPE,
        document="advisor.printing.measurements:dose",
    ),
    Task(
        name="strength",
        module="advisor.laboratory.strength",
        address="strengths",
        summary="Reckon the active matter and how sure it is",
        shapes="advisor.laboratory.schema:Strength",
        sample="strength-to-declare",
        document="advisor.printing.measurements:strength",
        long=True,
    ),
    Task(
        name="titrate",
        module="advisor.laboratory.titrate",
        address="titrations",
        summary="Reckon the active matter of a lot from a titration",
        typed="--material lauryl-sulfate-powder --volume 22.6 --concentration 0.004 --sample 1.105",
        shapes="advisor.laboratory.schema:Titration",
        sample="lot-from-the-laboratory",
        errors=(UnknownMaterial,),
        document="advisor.printing.measurements:titration",
    ),
    Task(
        name="uptake",
        module="advisor.laboratory.uptake",
        address="uptake-tests",
        summary="Reckon what a powder takes up from its bench test, or get the form of the test",
        typed="--material kaolin --powder 20 --repeat 8.4 --repeat 8.8 --repeat 8.2",
        shapes="advisor.schema.material:UptakeTest",
        sample="clay-in-a-cup",
        errors=(UnknownMaterial,),
        document="advisor.printing.measurements:uptake",
    ),
    Task(
        name="trial",
        module="advisor.experiment.trial",
        address="trials",
        summary="Propose the small test dough that would teach most",
        shapes="advisor.experiment.schema:Trial",
        sample="next-test-dough",
        document="advisor.printing.measurements:trial",
    ),
    Task(
        name="record",
        module="advisor.batch_record.task",
        address="batch-records",
        summary="Lay out the record of a batch and what it lacks",
        typed="my-bar.csv --batch 1000 --number 41 --lot kaolin=K-1",
        shapes="advisor.schema.batch_record:BatchRecord",
        sample="record-of-batch-41",
        errors=(*_RECIPE, NotInstalled),
        document="advisor.printing.record:batch_record",
        long=True,
        form=True,
    ),
    Task(
        name="sweep",
        module="advisor.sweeps.task",
        address="sweeps",
        summary="Ask one task of many recipes",
        shapes="advisor.sweeps.schema:Sweep",
        sample="betaine-gone-from-the-range",
        errors=(NotInstalled,),
    ),
    Task(
        name="window_of",
        module="advisor.experiment.window",
        address="window",
        summary="Say what the shop's own doughs have taught",
        shapes="advisor.experiment.schema:Window",
        method="GET",
        verb="window",
        document="advisor.printing.measurements:window",
    ),
)
_BY_NAME = {one.name: one for one in TASKS}


def task(name: str) -> Task:
    """Return the task of a name."""
    return _BY_NAME[name]
