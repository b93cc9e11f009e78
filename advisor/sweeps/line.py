"""Tells which task a line of a sweep asks: its own word, the sweep's, or what it names."""

from collections.abc import Mapping
from typing import Any, cast, get_args

from advisor.errors import Fault, InvalidRequest
from advisor.sweeps.chunk import Job
from advisor.sweeps.schema import Swept

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
