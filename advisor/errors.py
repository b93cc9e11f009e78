"""Everything that can go wrong, with codes that never change.

- ``AdvisorError``
    - ``RulesError`` (``broken-rules``): a file under rules/ does not say what it must.
    - ``RequestError``
        - ``InvalidRequest`` (``invalid-request``): a field is wrong.
        - ``InvalidRecipe`` (``invalid-recipe``): the total, the units or a repeated line.
        - ``UnknownMaterial`` (``unknown-material``): no such key; the nearest keys are named.
        - ``NoRecipeFits`` (``no-recipe-fits``): the demands exclude each other.
    - ``SolverError`` (``solver-timeout``): the solver gave no proved answer.
    - ``NotInstalled`` (``not-installed``): an optional extra is missing.
"""

import sys
import uuid
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar, Self

from pydantic_core import to_jsonable_python

_INSTALLERS = {
    "uv-receipt.toml": 'uv pip install --python "$(uv tool dir)/dough-advisor"',
    "pipx_metadata.json": "pipx runpip dough-advisor install",
}
"""What installs beside this program, by the file that marks whose environment it lies in; else pip does."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One place of a request and what is wrong there; ``where`` is a JSON Pointer into the body."""

    where: str
    problem: str
    hint: str = ""


def pointer_part(name: str, at_most: int | None = 64) -> str:
    """Return a name as one part of a JSON Pointer (RFC 6901); of one that nobody knows only so many letters.

    Examples
    --------
    >>> pointer_part("Acrylates/C10-30")
    'Acrylates~1C10-30'
    """
    return name[:at_most].encode("utf-8", "replace").decode().replace("~", "~0").replace("/", "~1")


class AdvisorError(Exception):
    """What every error of this package is.

    Parameters
    ----------
    detail : str
        What happened, for a person.
    faults : sequence of Fault
        The places of the request it comes from.
    extra : any
        Further members of the problem body.

    Examples
    --------
    >>> InvalidRecipe("The percents add up to 99 %.", [Fault("/recipe/lines", "adds up to 99 %")]).code
    'invalid-recipe'
    """

    code: ClassVar[str] = "advisor-error"
    title: ClassVar[str] = "The advisor could not answer"
    remedy: ClassVar[str] = "Read the detail."
    status: ClassVar[int] = 500

    def __init__(self, detail: str, faults: Sequence[Fault] = (), **extra: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.faults = tuple(faults)
        self.extra = extra

    def problem(self) -> dict[str, Any]:
        """Return the body of the problem (RFC 9457)."""
        return {
            "type": f"/problems/{self.code}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
            "code": self.code,
            "instance": f"urn:uuid:{uuid.uuid4()}",
            "errors": [asdict(fault) for fault in self.faults],
            **to_jsonable_python(self.extra),
        }


class RulesError(AdvisorError):
    """A file under rules/ does not say what it must; the message names file and entry."""

    code = "broken-rules"
    title = "A rules file is broken"
    remedy = "Mend the named entry of the named file and start again."


class RequestError(AdvisorError):
    """The caller can do something about it."""

    status = 422


class InvalidRequest(RequestError):
    """A field is missing, unknown, of the wrong type or out of its bounds."""

    code = "invalid-request"
    title = "A field of the request is wrong"
    remedy = "Mend the fields named in errors; each names its place in the body."


class InvalidRecipe(RequestError):
    """A recipe does not add up, mixes units or repeats a material."""

    code = "invalid-recipe"
    title = "The recipe does not add up"
    remedy = "Give every material once, all in percent (total 100 within 0.05) or all in grams."


class UnknownMaterial(RequestError):
    """A key names no material; ``nearest_keys`` says which come close."""

    code = "unknown-material"
    title = "No such material"
    remedy = "Use one of the nearest keys, or send the material in the field materials."


class NoRecipeFits(RequestError):
    """The demands exclude each other; ``conflict`` is irreducible, ``nearest`` comes closest.

    ``advice`` is what the report calls for at the bench all the same.
    """

    code = "no-recipe-fits"
    title = "No recipe meets every demand"
    remedy = "Give up or widen any one of the demands in conflict, or take the nearest recipe."


class SolverError(AdvisorError):
    """The solver gave no proved answer."""

    code = "solver-timeout"
    title = "The solver gave no proved answer"
    remedy = "Try again; if it happens again, send the request with the report of a fault."
    status = 503


class NotInstalled(AdvisorError):
    """The call needs an extra that is not installed."""

    code = "not-installed"
    title = "An optional part is not installed"
    remedy = "Install the extra named in the detail."
    status = 501

    @classmethod
    def of(cls, what: str, extra: str, /, **members: Any) -> Self:
        """Return that something needs an extra, with the command that installs it beside this program.

        Examples
        --------
        >>> NotInstalled.of("A drying curve", "fit").extra
        {'missing_extra': 'fit'}
        """
        here = Path(sys.prefix)
        installer = next(
            (words for mark, words in _INSTALLERS.items() if (here / mark).exists()), "pip install"
        )
        detail = f'{what} needs the extra {extra}: {installer} "dough-advisor[{extra}]".'
        return cls(detail, missing_extra=extra, **members)
