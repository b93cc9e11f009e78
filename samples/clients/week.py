"""A shop's week against the server, by a client that was generated from its /openapi.json and nothing else.

pip install openapi-python-client
openapi-python-client generate --url http://127.0.0.1:8000/openapi.json
PYTHONPATH=dough-advisor-client python week.py http://127.0.0.1:8000
"""

import sys
from typing import Any, TypeVar

from dough_advisor_client import AuthenticatedClient
from dough_advisor_client.api.calculations import correct, draft, substitute, sweep
from dough_advisor_client.api.notebook import add_dough
from dough_advisor_client.models import (
    AssessmentSweep,
    CorrectionAnswer,
    CorrectionRequest,
    DraftAnswer,
    DraftRequest,
    StoredDough,
    SubstitutionAnswer,
    SubstitutionRequest,
    SweepAnswer,
)

BAR: dict[str, Any] = {
    "name": "Sluice bar",
    "lines": [
        {"material": "isethionate-powder", "percent": 47},
        {"material": "kaolin", "percent": 18.1},
        {"material": "betaine-30", "percent": 27},
        {"material": "glycerin", "percent": 4},
        {"material": "jojoba-oil", "percent": 3},
        {"material": "phenoxyethanol-blend", "percent": 0.9},
    ],
}
WET = {"feel": "too_wet"}
Answer = TypeVar("Answer")


def told(kind: type[Answer], answer: object) -> Answer:
    """Return an answer of this kind; end with the problem that came instead."""
    if not isinstance(answer, kind):
        sys.exit(f"no {kind.__name__} came, but {answer}")
    return answer


def main(address: str = "http://127.0.0.1:8000", key: str = "none") -> None:
    """Correct, swap, keep, sweep and draft; print a line each. A server without keys asks for none."""
    client = AuthenticatedClient(base_url=address, token=key, raise_on_unexpected_status=True)

    asked = CorrectionRequest.from_dict({"recipe": BAR, "report": WET})
    corrected = told(CorrectionAnswer, correct.sync(client=client, body=asked))
    print("corrected:", ", ".join(f"{one.material} {one.change:g}" for one in corrected.changes))

    gone = SubstitutionRequest.from_dict({"recipe": BAR, "missing": "betaine-30", "options_at_most": 2})
    swapped = told(SubstitutionAnswer, substitute.sync(client=client, body=gone))
    print("instead:", ", ".join(str(one.replacement) for one in swapped.options))

    dough = StoredDough.from_dict({"recipe": BAR, "report": WET, "made_on": "2031-05-04"})
    kept = told(StoredDough, add_dough.sync(client=client, body=dough))
    print("kept:", kept.made_on)

    recipes = [BAR, corrected.recipe.to_dict()]
    both = AssessmentSweep.from_dict({"task": "assessment", "recipes": recipes})
    swept = told(SweepAnswer, sweep.sync(client=client, body=both))
    print("swept:", len(swept.answers))

    shelf = [line["material"] for line in BAR["lines"]]
    wish = {"wishes": {"market": "eu", "active": {"min": 40, "max": 50}}, "options_at_most": 1}
    extra = ["sulfoacetate-powder", "rice-flour", "cetyl-alcohol"]
    wanted = DraftRequest.from_dict({**wish, "shelf": shelf + extra})
    drafted = told(DraftAnswer, draft.sync(client=client, body=wanted))
    print("drafted:", ", ".join(str(bool(one.recipe.lines)).lower() for one in drafted.options))


if __name__ == "__main__":
    main(*sys.argv[1:3])
