"""A sweep's jobs and settings, and where a chunk of them is answered, each failure in its place."""

import json
import pickle
import traceback
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple, cast, get_args

from advisor.errors import AdvisorError, Fault, InvalidRequest, SolverError
from advisor.frozen import cached_property, dataclass, replace
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import known_materials
from advisor.registry import TASKS
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import TextItem
from advisor.sweeps.schema import Swept

SWEPT = {task.swept_as: task for task in TASKS if task.swept_as}
_RECIPE = "/recipe"
_PACKS_KEPT = 4


class Job(NamedTuple):
    """One recipe to be answered: the body of its task, and where its recipe stands in the request."""

    task: Swept
    body: Any
    place: str = _RECIPE


class Outcome(NamedTuple):
    """The answer to one job, or its problem, as JSON, with its cautions besides."""

    answered: bool
    text: bytes
    cautions: tuple[TextItem, ...] = ()

    def line(self, index: int) -> bytes:
        """Return the outcome as one line of a sweep.

        Examples
        --------
        >>> Outcome(True, b'{}').line(3)
        b'{"index":3,"answer":{}}'
        """
        return b'{"index":%d,"%s":%s}' % (index, b"answer" if self.answered else b"problem", self.text)


Chunk = Sequence[Job | Outcome]


@dataclass(frozen=True)
class Setting:
    """What every job of a sweep shares.

    Parameters
    ----------
    shared : mapping
        Fields of the task's body besides the recipe, validated.
    rulebook : Rulebook, optional
        None stands for the packaged one, which every worker loads for itself.
    notebook : Notebook, optional
    edition : str
        The rules that are meant; a worker that has others refuses.
    """

    shared: Mapping[str, Any]
    rulebook: Rulebook | None
    notebook: Notebook | None
    edition: str

    @classmethod
    def of(
        cls, shared: Mapping[str, Any], rulebook: Rulebook | None = None, notebook: Notebook | None = None
    ) -> "Setting":
        """Return the setting of a sweep; inline materials are compiled once for all its recipes.

        Raises
        ------
        InvalidRequest
            A key stands twice in ``materials``.
        """
        rules = rulebook or load_rulebook()
        return cls(shared, None if rules is load_rulebook() else rules, notebook, rules.edition)._compiled(
            rules
        )

    def _compiled(self, rules: Rulebook) -> "Setting":
        """Let inline materials that nothing learned depends on take the place of the shop's own."""
        known = known_materials(self.shared.get("materials"), rules, self.notebook)
        if not known.inline or known.notebook.doughs:
            return self
        materials = {**known.notebook.materials, **known.inline}
        return replace(
            self,
            shared={name: value for name, value in self.shared.items() if name != "materials"},
            notebook=replace(known.notebook, materials=materials),
        )

    @cached_property
    def packed(self) -> bytes:
        """The setting as a worker unpacks it; the library stays behind, every worker has it."""
        notebook = self.notebook and replace(self.notebook, library={})
        return pickle.dumps((self.shared, self.rulebook, notebook, self.edition))


def answer_chunk(setting: Setting, chunk: Chunk) -> list[Outcome]:
    """Answer the jobs of a chunk in their order; what has its outcome already keeps it."""
    return [job if isinstance(job, Outcome) else _outcome(setting, job) for job in chunk]


def answer_packed(packed: bytes, chunk: Chunk) -> list[Outcome]:
    """Answer the jobs of a chunk under a packed setting, which is kept for the chunks to come."""
    return answer_chunk(_unpacked(packed), chunk)


@lru_cache(maxsize=_PACKS_KEPT)
def _unpacked(packed: bytes) -> Setting:
    """Return a packed setting.

    Raises
    ------
    SolverError
        This worker has other rules than those that were asked for.
    """
    shared, rulebook, notebook, edition = pickle.loads(packed)  # noqa: S301 packed by the process that started this one
    rules = rulebook or load_rulebook()
    if rules.edition != edition:
        raise SolverError(f"The worker has the rules {rules.edition}, not {edition}.")
    if notebook is not None:
        notebook = replace(notebook, library=rules.ingredients)
    return Setting(shared, rulebook, notebook, edition)


def _outcome(setting: Setting, job: Job) -> Outcome:
    try:
        answer = SWEPT[job.task].function(
            {**job.body, **setting.shared}, rulebook=setting.rulebook, notebook=setting.notebook
        )
    except AdvisorError as error:
        return refused(error, job.place)
    except MemoryError:
        return refused(SolverError("There was no memory left for this recipe."))
    except Exception as fault:
        return refused(AdvisorError(f"A fault of the advisor: {_origin(fault)}."))
    return Outcome(True, answer.__pydantic_serializer__.to_json(answer), answer.cautions)


def _origin(fault: Exception) -> str:
    """Return kind and place of a fault; its message may hold what the caller sent and is left out."""
    frame = traceback.extract_tb(fault.__traceback__)[-1]
    return f"{type(fault).__name__} in {frame.name}, line {frame.lineno}"


def refused(error: AdvisorError, place: str = _RECIPE) -> Outcome:
    """Return the problem of a job, its pointers starting at the place of its recipe."""
    problem = error.problem()
    if place != _RECIPE:
        nearest = problem.get("nearest") or {}
        for entry in (*problem["errors"], *problem.get("conflict", ()), *nearest.get("bends", ())):
            entry["where"] = _moved(entry["where"], place)
    return Outcome(False, json.dumps(problem, separators=(",", ":")).encode())


def _moved(where: str, place: str) -> str:
    rest = where.removeprefix(_RECIPE)
    return place + rest if rest != where and rest[:1] in ("", "/") else where


_TASKS = get_args(Swept)


def job_of(body: Any, task: Swept | None = None) -> Job:
    """Return the job a line asks for.

    Parameters
    ----------
    body : any
        A task's body; its field ``task`` may name the task.
    task : str, optional
        The task of lines that do not name theirs. Without it, what names a missing material is a substitution
        and the rest are corrections.

    Raises
    ------
    InvalidRequest
        The line is no object, or its task is none.

    Examples
    --------
    >>> job_of({"recipe": {"lines": []}, "missing": "kaolin"}).task
    'substitution'
    """
    if not isinstance(body, Mapping):
        raise InvalidRequest("A line must be an object.", [Fault("", "is no object")])
    named = body.get("task")
    if named is None:
        named = task or ("substitution" if "missing" in body else "correction")
    elif named not in _TASKS:
        raise InvalidRequest(
            "There is no such task.", [Fault("/task", "is no task", f"one of {', '.join(_TASKS)}")]
        )
    return Job(cast(Swept, named), {name: value for name, value in body.items() if name != "task"})
