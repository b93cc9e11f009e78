"""The Python client: every calculation, the library and sweeps, typed by the shapes.

It needs ``httpx`` (the extra ``client``) and nothing of the server but the shapes. Fields that a newer server
adds to its answers are ignored.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from types import TracebackType
from typing import Any, Self, TypeVar

import httpx
from pydantic import BaseModel, TypeAdapter

from advisor.assessment.schema import AssessmentAnswer, AssessmentRequest
from advisor.bowl.add_schema import AdditionAnswer, AdditionRequest
from advisor.bowl.recover_schema import RecoveryAnswer, RecoveryRequest
from advisor.correction.schema import CorrectionAnswer, CorrectionRequest
from advisor.experiment.trial_schema import TrialAnswer, TrialRequest
from advisor.labelling.schema import LabelAnswer, LabelRequest
from advisor.laboratory.dose_schema import DoseAnswer, DoseRequest
from advisor.laboratory.strength_schema import StrengthAnswer, StrengthRequest
from advisor.laboratory.titrate_schema import TitrationAnswer, TitrationRequest
from advisor.schema.batch_record import BatchRecordAnswer, BatchRecordRequest
from advisor.schema.drying import DryingAnswer, DryingRequest
from advisor.schema.material import Material
from advisor.schema.server import Health, MaterialsPage
from advisor.schema.uptake_test import UptakeTestAnswer, UptakeTestRequest
from advisor.substitution.schema import SubstitutionAnswer, SubstitutionRequest
from advisor.sweeps.schema import Answered, Refused, SweepAnswer, SweepRequest
from advisor.weighing.schema import WeighingAnswer, WeighingRequest

Answer = TypeVar("Answer", bound=BaseModel)
Fields = Mapping[str, Any]
_NDJSON = {"Content-Type": "application/x-ndjson"}
_ENTRY: TypeAdapter[Answered | Refused] = TypeAdapter(Answered | Refused)
_SECONDS = 60.0


class ProblemError(Exception):
    """The server answered with a problem (RFC 9457).

    ``code`` never changes its meaning; ``problem`` is the whole body.
    """

    def __init__(self, problem: Fields) -> None:
        super().__init__(str(problem.get("detail", "")))
        self.problem = dict(problem)
        self.status = int(problem.get("status", 0))
        self.code = str(problem.get("code", ""))


class Client:
    """A connection to a server; close it, or use it in a ``with``.

    Parameters
    ----------
    address : str
        As in ``http://127.0.0.1:8000``.
    key : str, optional
        The key of the shop.
    http : httpx.Client, optional
        What sends the requests, with a base address of its own; default: a new one.

    Raises
    ------
    ProblemError
        By every method: the server refused the request or could not answer it.

    Examples
    --------
    >>> from fastapi.testclient import TestClient
    >>> from api.app import create_app
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> with Client(http=TestClient(create_app())) as client:
    ...     client.assess({"recipe": {"lines": lines}}).totals.active
    67.8
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8000",
        key: str | None = None,
        http: httpx.Client | None = None,
    ) -> None:
        self._http = http or httpx.Client(base_url=address, timeout=_SECONDS)
        self._headers = {} if key is None else {"Authorization": f"Bearer {key}"}

    def __enter__(self) -> Self:
        """Use the connection in a ``with``."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close the connection."""
        self._http.close()

    def assess(self, request: AssessmentRequest | Fields) -> AssessmentAnswer:
        """Hold a recipe against every demand."""
        return self._post("assessments", request, AssessmentAnswer)

    def correct(self, request: CorrectionRequest | Fields) -> CorrectionAnswer:
        """Turn a failed dough into the next recipe."""
        return self._post("corrections", request, CorrectionAnswer)

    def add(self, request: AdditionRequest | Fields) -> AdditionAnswer:
        """Say what to add to the dough in the bowl."""
        return self._post("additions", request, AdditionAnswer)

    def substitute(self, request: SubstitutionRequest | Fields) -> SubstitutionAnswer:
        """Find what may stand in for a missing material."""
        return self._post("substitutions", request, SubstitutionAnswer)

    def recover(self, request: RecoveryRequest | Fields) -> RecoveryAnswer:
        """Mend a batch in which something was over-weighed."""
        return self._post("recoveries", request, RecoveryAnswer)

    def weigh(self, request: WeighingRequest | Fields) -> WeighingAnswer:
        """Write the weigh sheet of a batch."""
        return self._post("weighings", request, WeighingAnswer)

    def label(self, request: LabelRequest | Fields) -> LabelAnswer:
        """Write the ingredient list for a market."""
        return self._post("labels", request, LabelAnswer)

    def dry(self, request: DryingRequest | Fields) -> DryingAnswer:
        """Fit the drying of a bar and say when it is dry."""
        return self._post("drying", request, DryingAnswer)

    def dose(self, request: DoseRequest | Fields) -> DoseAnswer:
        """Say how much acid or alkali is still to add."""
        return self._post("ph-doses", request, DoseAnswer)

    def strength(self, request: StrengthRequest | Fields) -> StrengthAnswer:
        """Reckon the active matter with its spread."""
        return self._post("strengths", request, StrengthAnswer)

    def titrate(self, request: TitrationRequest | Fields) -> TitrationAnswer:
        """Reckon the active matter of a lot from a titration."""
        return self._post("titrations", request, TitrationAnswer)

    def uptake(self, request: UptakeTestRequest | Fields) -> UptakeTestAnswer:
        """Reckon what a powder takes up from its bench test."""
        return self._post("uptake-tests", request, UptakeTestAnswer)

    def trial(self, request: TrialRequest | Fields) -> TrialAnswer:
        """Propose the small test dough that would teach most."""
        return self._post("trials", request, TrialAnswer)

    def record(self, request: BatchRecordRequest | Fields) -> BatchRecordAnswer:
        """Lay out the record of a batch and what it lacks."""
        return self._post("batch-records", request, BatchRecordAnswer)

    def sweep(self, request: SweepRequest | Fields) -> SweepAnswer:
        """Ask one task of at most 10 000 recipes."""
        return self._post("sweeps", request, SweepAnswer)

    def sweep_lines(self, bodies: Iterable[Fields]) -> Iterator[Answered | Refused]:
        """Ask any number of tasks, and yield each answer or problem as it comes, in the order asked.

        Parameters
        ----------
        bodies : iterable of mapping
            The body of a task each; its field ``task`` may name the task. They are drawn as they are sent.
        """
        sent = (json.dumps(body).encode() + b"\n" for body in bodies)
        headers = {**self._headers, **_NDJSON}
        with self._http.stream("POST", "/v1/sweeps", content=sent, headers=headers, timeout=None) as answer:
            if answer.status_code >= 400:
                answer.read()
                raise ProblemError(answer.json())
            for line in answer.iter_lines():
                yield _ENTRY.validate_json(line, extra="ignore")

    def material(self, key: str) -> Material:
        """Return a material by its key, the shop's own before the library's."""
        return self._read(self._http.get(f"/v1/materials/{key}", headers=self._headers), Material)

    def materials(self, part: str = "", role: str | None = None) -> Iterator[Material]:
        """Yield the materials a part of whose name is given, page by page."""
        query = {"q": part or None, "role": role, "after": None}
        while True:
            given = {name: value for name, value in query.items() if value is not None}
            page = self._read(
                self._http.get("/v1/materials", params=given, headers=self._headers), MaterialsPage
            )
            yield from page.items
            if page.next is None:
                return
            query["after"] = page.next

    def health(self) -> Health:
        """Return whether the server works, and with what."""
        return self._read(self._http.get("/health"), Health)

    def _post(self, call: str, request: BaseModel | Fields, shape: type[Answer]) -> Answer:
        fields = (
            request.model_dump(mode="json", exclude_unset=True) if isinstance(request, BaseModel) else request
        )
        return self._read(self._http.post(f"/v1/{call}", json=fields, headers=self._headers), shape)

    @staticmethod
    def _read(answer: httpx.Response, shape: type[Answer]) -> Answer:
        if answer.status_code >= 400:
            raise ProblemError(answer.json())
        return shape.model_validate_json(answer.content, extra="ignore")
