"""How these examples ask the server: plain JSON over HTTP, nothing to install."""

import json
import urllib.error
import urllib.request
from typing import Any

ADDRESS = "http://127.0.0.1:8000"


def ask(call: str, body: dict[str, Any], address: str = ADDRESS) -> dict[str, Any]:
    """Return the answer to a call, or the problem that came instead; a problem has a ``code``."""
    request = urllib.request.Request(  # noqa: S310 an address the caller chose
        f"{address}/v1/{call}", json.dumps(body).encode(), {"Content-Type": "application/json"}
    )
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:  # noqa: S310
            told: dict[str, Any] = json.load(answer)
    except urllib.error.HTTPError as problem:
        told = json.load(problem)
    return told
