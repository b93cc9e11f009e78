"""Write the answer to every sample; run it after a change of rules or answers, and read what changed."""

import json
import os
import tomllib
from pathlib import Path
from typing import Any

from advisor.errors import AdvisorError
from advisor.registry import TASKS

DAY = "2026-11-28"
SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CALLS = {one.address: one for one in TASKS}


def index() -> dict[str, dict[str, str]]:
    """Return the samples by name."""
    return tomllib.loads((SAMPLES / "samples.toml").read_text(encoding="utf-8"))


def answer(name: str, call: str) -> dict[str, Any]:
    """Return status and body of the answer to one sample; what differs from run to run is left empty."""
    body = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    try:
        told = CALLS[call].function(body)
    except AdvisorError as error:
        return {"status": error.status, "body": error.problem() | {"instance": ""}}
    answered = told.model_dump(mode="json")
    for entry in answered.get("answers", ()) if call == "sweeps" else ():
        if "problem" in entry:
            entry["problem"]["instance"] = ""
    return {"status": 200, "body": answered}


def main() -> None:
    """Write every answer beside its request, as of one day."""
    os.environ["DOUGH_TODAY"] = DAY
    for name, entry in index().items():
        text = json.dumps(answer(name, entry["call"]), indent=2, ensure_ascii=False)
        (SAMPLES / "answers" / f"{name}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
