"""Knows the distributed engine: chunks answered by the workers of a Dask cluster."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from typing import Any

from advisor.errors import InvalidRequest, NotInstalled
from advisor.sweeps.chunk import Chunk, Outcome, Setting, answer_packed

_SECONDS_TO_FIND = 10
_AHEAD = 3


class Cluster:
    """The workers behind a scheduler; each needs this package, of the same rules.

    Parameters
    ----------
    address : str
        Of the scheduler, as in ``tcp://127.0.0.1:8786``.

    Raises
    ------
    NotInstalled
        The extra ``distributed`` is missing.
    InvalidRequest
        No scheduler answers at the address.
    """

    def __init__(self, address: str) -> None:
        try:
            import distributed
        except ImportError as error:
            raise NotInstalled.of("A scheduler", "distributed") from error
        client: Any = distributed.Client
        try:
            self._client = client(address, timeout=_SECONDS_TO_FIND, set_as_default=False)
        except (OSError, ValueError) as error:
            raise InvalidRequest(f"No scheduler answers at {address}.") from error
        self.depth = _AHEAD * max(1, sum(self._client.nthreads().values()))
        self._sent: tuple[Setting, Any] | None = None

    def submit(self, setting: Setting, chunk: Chunk) -> "Future[list[Outcome]]":
        """Take on a chunk."""
        if self._sent is None or self._sent[0] is not setting:
            self._sent = setting, self._client.scatter(setting.packed, broadcast=True)
        begun: Future[list[Outcome]] = self._client.submit(
            answer_packed, self._sent[1], list(chunk), pure=False
        )
        return begun

    def each(self, work: Callable[[Any], Any], parts: Iterable[Any]) -> Iterator[Any]:
        """Let the workers do parts, a few ahead of what is taken, and give the results in order."""
        begun: deque[Any] = deque()
        for part in parts:
            begun.append(self._client.submit(work, part, pure=False))
            if len(begun) > self.depth:
                yield begun.popleft().result()
        while begun:
            yield begun.popleft().result()

    def close(self) -> None:
        """Leave the cluster, which stays."""
        self._client.close()
