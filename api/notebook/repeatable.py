"""What makes asking twice do a thing once: the header Idempotency-Key."""

import hashlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Repeatable:
    """The name a writer gave a request, and what it asked, so that asking twice does it once."""

    key: str
    body: bytes
    now: int

    @property
    def digest(self) -> str:
        """What tells one request from another."""
        return hashlib.sha256(self.body).hexdigest()
