"""Asks every operation of the description what Schemathesis invents, and holds the answers to it.

Two thirds of the requests are as the description says, one third are not, but for lines of JSON, of which every one
is answered in its place. Of the sound requests with a body most carry a plausible one of our own, a sample with
another recipe or without a field, so that the calculations are reached.
"""

import copy
import itertools
import json
import random
import re
import sys
import tempfile
import warnings
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import run_state_machine_as_test
from schemathesis.config import SchemathesisConfig
from schemathesis.core.failures import Failure, FailureGroup
from schemathesis.generation import GenerationMode

from api.app import create_app
from api.settings import Settings
from tests.helpers import makers

SEED = 20_261_125
ALLOWED = ["2xx", "3xx", "401", "403", "404", "409", "412", "422", "428"]
CONFIG = {"checks": {"positive_data_acceptance": {"expected-statuses": ALLOWED}}}
NDJSON = "application/x-ndjson"
SHARE_OF_SOUND = 2 / 3
STEPS, LINKS_AT_LEAST = 8, 10
PLAUSIBLE = 0.8
MAKE_KEYS = ("/v1/keys", "/v1/shops")


@schemathesis.serializer(NDJSON)
def lines_of(_: Any, value: Any) -> bytes:
    """Return a value as the lines of a body."""
    return value.encode() if isinstance(value, str) else json.dumps(value).encode()


class Server:
    """Whichever server is asked just now."""

    app: Any = None

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        await self.app(scope, receive, send)


@dataclass
class Tally:
    """What was asked and how it ended."""

    cases: int = 0
    posts: int = 0
    posts_answered: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)

    @property
    def share_answered(self) -> float:
        """The share of POST requests that were answered 200 or 201."""
        return self.posts_answered / max(1, self.posts)


def run(cases: int, start: int = SEED) -> Tally:
    """Ask so many requests, shared out over all operations."""
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        config = SchemathesisConfig.from_dict(CONFIG)
        schema = schemathesis.openapi.from_dict(create_app().openapi(), config=config)
        schema.app = server = Server()
        operations = [found.ok() for found in schema.get_all_operations()]
        each = -(-cases // len(operations))
        for place, operation in enumerate(operations):
            notebook = str(Path(folder) / f"{place}.sqlite3")
            server.app = create_app(Settings(notebook=notebook, sweep_workers=1))
            with TestClient(server.app):
                _ask(operation, each, start + place, tally)
    return tally


def _ask(operation: Any, count: int, start: int, tally: Tally) -> None:
    """Ask one operation; what takes nothing but free words cannot be asked wrongly."""
    sound = max(1, round(SHARE_OF_SOUND * count)) if _bound(operation.definition.raw) else count
    for mode, share in ((GenerationMode.POSITIVE, sound), (GenerationMode.NEGATIVE, count - sound)):
        if share:
            _generated(operation, mode, share, start, tally)


def _generated(operation: Any, mode: GenerationMode, count: int, start: int, tally: Tally) -> None:
    plausible = _plausible(operation.definition.raw)

    @seed(start)
    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def each(data: st.DataObject) -> None:
        case = data.draw(operation.as_strategy(generation_mode=mode))
        assume(mode is GenerationMode.POSITIVE or case.media_type != NDJSON)
        if mode is GenerationMode.POSITIVE and plausible and data.draw(st.integers(0, 9)) < 7:
            case.body = data.draw(st.builds(_varied, st.sampled_from(plausible), st.integers(0, 10_000)))
            case.media_type = "application/json"
            if "key" in case.path_parameters and isinstance(case.body, dict):
                named = case.body.get("key", case.body.get("material", "kaolin"))
                case.path_parameters["key"] = named
        _hold(case, tally)

    each()


def _bound(operation: dict[str, Any]) -> bool:
    """Return whether an operation takes anything that can be wrong by its description."""
    parameters = operation.get("parameters", [])
    return "requestBody" in operation or any(
        one["schema"].keys() - {"title", "description"} != {"type"} or one["schema"]["type"] != "string"
        for one in parameters
    )


def _plausible(operation: dict[str, Any]) -> list[Any]:
    """Return the examples of an operation's body."""
    content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    shown = [example["value"] for example in content.get("examples", {}).values()]
    return [*shown, *([content["example"]] if "example" in content else [])]


def _varied(body: Any, number: int) -> Any:
    """Return a plausible body with another recipe, or without one of its fields, or as it is."""
    varied = copy.deepcopy(body)
    if number % 3 == 0 and "report" in varied and "percent" in varied.get("recipe", {}).get("lines", [{}])[0]:
        varied = {
            "recipe": makers.recipe(number),
            "report": makers.report(number),
            "wishes": makers.wishes(number),
        }
    elif number % 3 == 1 and len(varied) > 2:
        del varied[sorted(varied)[number % len(varied)]]
    return varied


def _hold(case: Any, tally: Tally) -> None:
    """Send one request and hold the answer against the description."""
    tally.cases += 1
    try:
        answer = case.call()
        tally.statuses[answer.status_code] += 1
        if case.method == "POST":
            tally.posts += 1
            tally.posts_answered += answer.status_code in (200, 201)
        case.validate_response(answer)
    except (FailureGroup, Failure) as failure:
        told = failure.exceptions if isinstance(failure, FailureGroup) else [failure]
        tally.failures += [f"{case.method} {case.path}: {one.title}: {str(one)[:600]}" for one in told]


def walk(walks: int, start: int) -> list[str]:
    """Walk so many times along links, a few steps each: what was made is read, changed and erased. Return the faults."""
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        described = copy.deepcopy(create_app().openapi())
        for path in MAKE_KEYS:
            del described["paths"][path]["post"]
        assert link(described) > LINKS_AT_LEAST
        schema = schemathesis.openapi.from_dict(described, config=SchemathesisConfig.from_dict(CONFIG))
        schema.app = server = Server()
        numbers = itertools.count()

        class Walk(schema.as_state_machine()):  # type: ignore[misc]
            def setup(self) -> None:
                """Begin with nothing kept: the same steps meet the same answers in every walk."""
                notebook = str(Path(folder) / f"{next(numbers)}.sqlite3")
                server.app = create_app(Settings(notebook=notebook, sweep_workers=1))
                self.client = TestClient(server.app)
                self.client.__enter__()

            def teardown(self) -> None:
                """Let go of what was kept."""
                self.client.__exit__()
                super().teardown()

            def before_call(self, case: Any) -> None:
                """Send mostly what is plausible, and change what is there."""
                draw = random.Random(f"{start} {case.method} {case.path} {case.path_parameters} {case.body}")
                sound = case.meta.generation.mode is GenerationMode.POSITIVE
                plausible = _plausible(case.operation.definition.raw) if sound else []
                if plausible and draw.random() < PLAUSIBLE:
                    case.body, case.media_type = copy.deepcopy(draw.choice(plausible)), "application/json"
                    if "key" in case.path_parameters and isinstance(case.body, dict) and "key" in case.body:
                        case.path_parameters["key"] = case.body["key"]
                if case.method in ("PUT", "DELETE") and draw.random() < PLAUSIBLE:
                    case.headers = {"If-Match": "*"} if case.method == "DELETE" else {}

        machine = seed(start)(Walk)
        bounds = settings(
            max_examples=walks,
            stateful_step_count=STEPS,
            database=None,
            deadline=None,
            phases=(Phase.generate,),
            suppress_health_check=list(HealthCheck),
        )
        try:
            run_state_machine_as_test(machine, settings=bounds)
        except (FailureGroup, Failure) as failure:
            told = failure.exceptions if isinstance(failure, FailureGroup) else [failure]
            return [f"{one.title}: {str(one)[:900]}" for one in told]
    return []


def link(described: dict[str, Any]) -> int:
    """Put links into a description: from what makes a thing to what asks for it; return how many."""
    count = 0
    for path, operations in described["paths"].items():
        for method, operation in operations.items():
            made = [told for status, told in operation["responses"].items() if status in ("200", "201")]
            same = {one: f"$request.path.{one}" for one in re.findall("{([^}]*)}", path)}
            for below, others in described["paths"].items():
                new = re.fullmatch(re.escape(path) + "/{([^}]*)}", below)
                if not (method == "post" and new) and not (method == "put" and below == path and same):
                    continue
                given = {**same, new[1]: "$response.body#/id"} if new else same
                for other in others.values():
                    for told in made:
                        links = told.setdefault("links", {})
                        links[other["operationId"]] = {
                            "operationId": other["operationId"],
                            "parameters": given,
                        }
                        count += 1
    return count


def main(cases: int) -> int:
    """Print the tally; return 1 where an answer was not as described."""
    tally = run(cases)
    print(
        json.dumps(
            {
                "cases": tally.cases,
                "statuses": dict(sorted(tally.statuses.items())),
                "posts_answered": round(tally.share_answered, 3),
                "failures": len(tally.failures),
            }
        )
    )
    for failure, times in Counter(tally.failures).most_common(20):
        print(f"{times} x {failure}")
    return int(bool(tally.failures))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 12_500))
