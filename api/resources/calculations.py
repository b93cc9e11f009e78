"""Ties an address to the task that answers it."""

from collections.abc import Callable
from dataclasses import dataclass

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.assessment.schema import AssessmentAnswer, AssessmentRequest
from advisor.assessment.task import assess
from advisor.batch_record.task import record
from advisor.bowl.add import add
from advisor.bowl.add_schema import AdditionAnswer, AdditionRequest
from advisor.bowl.recover import recover
from advisor.bowl.recover_schema import RecoveryAnswer, RecoveryRequest
from advisor.correction.schema import CorrectionAnswer, CorrectionRequest
from advisor.correction.task import correct
from advisor.drying.task import dry
from advisor.errors import (
    AdvisorError,
    InvalidRecipe,
    NoRecipeFits,
    NotInstalled,
    SolverError,
    UnknownMaterial,
)
from advisor.experiment.trial import trial
from advisor.experiment.trial_schema import TrialAnswer, TrialRequest
from advisor.labelling.schema import LabelAnswer, LabelRequest
from advisor.labelling.task import label
from advisor.laboratory.dose import dose
from advisor.laboratory.dose_schema import DoseAnswer, DoseRequest
from advisor.laboratory.strength import strength
from advisor.laboratory.strength_schema import StrengthAnswer, StrengthRequest
from advisor.laboratory.titrate import titrate
from advisor.laboratory.titrate_schema import TitrationAnswer, TitrationRequest
from advisor.laboratory.uptake import uptake
from advisor.printing.document import Document
from advisor.printing.label import label_sheet
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text
from advisor.printing.record import batch_record
from advisor.printing.weigh_sheet import weigh_sheet
from advisor.schema.batch_record import BatchRecordAnswer, BatchRecordRequest
from advisor.schema.drying import DryingAnswer, DryingRequest
from advisor.schema.uptake_test import UptakeTestAnswer, UptakeTestRequest
from advisor.substitution.schema import SubstitutionAnswer, SubstitutionRequest
from advisor.substitution.task import substitute
from advisor.weighing.schema import WeighingAnswer, WeighingRequest
from advisor.weighing.task import weigh
from api.http.answering import json_answer
from api.http.negotiation import JSON, chosen
from api.http.reading import parse_json, read_body, read_query
from api.notebook.access import ShopAccess
from api.notebook.errors import KeyNeeded, Storage
from api.operation import Endpoint, Operation
from api.settings import Settings
from api.shapes import Asking, SheetQuery
from api.work import SHORT_BYTES, Work

Errors = tuple[type[AdvisorError], ...]
_RECIPE: Errors = (InvalidRecipe, UnknownMaterial)
_PROGRAM: Errors = (*_RECIPE, NoRecipeFits, SolverError)


_PRINTED: dict[str, Callable[[Document], str]] = {
    "text/html": as_html,
    "text/markdown": as_markdown,
    "text/plain": as_text,
}
_PAGE_POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; frame-ancestors 'none'"


@dataclass(frozen=True)
class Call:
    """A calculation: where it is asked, by what shape, and which task answers."""

    name: str
    operation_id: str
    summary: str
    request: type[BaseModel]
    answer: type[BaseModel]
    task: Callable[..., BaseModel]
    errors: Errors = _RECIPE
    long: bool = False
    knows_shop: bool = True
    sheet: Callable[..., Document] | None = None
    query: type[Asking] = Asking


CALLS = (
    Call(
        "assessments",
        "assess",
        "Hold a recipe against every demand",
        AssessmentRequest,
        AssessmentAnswer,
        assess,
    ),
    Call(
        "corrections",
        "correct",
        "Turn a failed dough into the next recipe",
        CorrectionRequest,
        CorrectionAnswer,
        correct,
        _PROGRAM,
    ),
    Call(
        "additions",
        "add",
        "Say what to add to the dough in the bowl",
        AdditionRequest,
        AdditionAnswer,
        add,
        _PROGRAM,
    ),
    Call(
        "substitutions",
        "substitute",
        "Find what may stand in for a missing material",
        SubstitutionRequest,
        SubstitutionAnswer,
        substitute,
        _PROGRAM,
        long=True,
    ),
    Call(
        "recoveries",
        "recover",
        "Bring an over-weighed batch right",
        RecoveryRequest,
        RecoveryAnswer,
        recover,
        (*_RECIPE, SolverError),
    ),
    Call(
        "weighings",
        "weigh",
        "Write the weigh sheet of a batch",
        WeighingRequest,
        WeighingAnswer,
        weigh,
        (*_RECIPE, SolverError),
        sheet=weigh_sheet,
        query=SheetQuery,
    ),
    Call(
        "labels",
        "label",
        "Write the ingredient list for a market",
        LabelRequest,
        LabelAnswer,
        label,
        sheet=label_sheet,
    ),
    Call(
        "drying",
        "dry",
        "Fit the drying of a bar and say when it is dry",
        DryingRequest,
        DryingAnswer,
        dry,
        (*_RECIPE, NotInstalled),
    ),
    Call(
        "ph-doses",
        "dose",
        "Say how much acid or alkali is still to add",
        DoseRequest,
        DoseAnswer,
        dose,
        _RECIPE,
    ),
    Call(
        "strengths",
        "strength",
        "Reckon the active matter with its spread",
        StrengthRequest,
        StrengthAnswer,
        strength,
    ),
    Call(
        "titrations",
        "titrate",
        "Reckon the active matter of a lot from a titration",
        TitrationRequest,
        TitrationAnswer,
        titrate,
        (UnknownMaterial,),
    ),
    Call(
        "uptake-tests",
        "uptake",
        "Reckon what a powder takes up from its bench test, or get the form of the test",
        UptakeTestRequest,
        UptakeTestAnswer,
        uptake,
        (UnknownMaterial,),
    ),
    Call(
        "trials",
        "trial",
        "Propose the small test dough that would teach most",
        TrialRequest,
        TrialAnswer,
        trial,
    ),
    Call(
        "batch-records",
        "record",
        "Lay out the record of a batch and what it lacks",
        BatchRecordRequest,
        BatchRecordAnswer,
        record,
        (*_RECIPE, NotInstalled),
        sheet=batch_record,
    ),
)


def operations(settings: Settings, work: Work, access: ShopAccess) -> list[Operation]:
    """Return one operation a calculation."""
    return [
        Operation(
            method="POST",
            path=f"/v1/{call.name}",
            operation_id=call.operation_id,
            summary=call.summary,
            tag="Calculations",
            endpoint=_endpoint(call, settings.body_bytes_at_most, work, access),
            request=call.request,
            answers={200: call.answer},
            errors=(*call.errors, *((KeyNeeded, Storage) if call.knows_shop else ())),
            forms=dict.fromkeys(_PRINTED, "The same as a form to print.") if call.sheet else {},
            query=call.query if call.query is not Asking else None,
        )
        for call in CALLS
    ]


def _endpoint(call: Call, most_bytes: int, work: Work, access: ShopAccess) -> Endpoint:
    async def calculate(request: Request) -> Response:
        form = chosen(request, (JSON, *_PRINTED) if call.sheet else (JSON,))
        asked = read_query(request, call.query)
        body = await read_body(request, most_bytes)
        shop = {"notebook": await access.of(request)} if call.knows_shop else {}
        return await work.run(
            lambda: _answered(call, call.task(parse_json(body), **shop), form, asked),
            long=call.long or len(body) > SHORT_BYTES,
        )

    return calculate


def _answered(call: Call, answer: BaseModel, form: str, asked: Asking) -> Response:
    if call.sheet is None:
        return json_answer(answer)
    vary = {"Vary": "Accept"}
    if form == JSON:
        response = json_answer(answer)
        response.headers.update(vary)
        return response
    headers = vary | ({"Content-Security-Policy": _PAGE_POLICY} if form == "text/html" else {})
    return Response(
        _PRINTED[form](call.sheet(answer, **asked.model_dump())), media_type=form, headers=headers
    )
