"""What may be set about the server."""

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.recipe.notebook import NO_FACTS, ShopFacts
from advisor.writing import Writing

_AS_ON_THE_WIRE = Writing()
LOOPBACK = ("localhost", "127.0.0.1", "::1", "testserver")
_MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Settings:
    """What may be set about the server; but for ``facts``, nothing here changes an answer.

    Parameters
    ----------
    hosts : tuple of str
        Names this server answers to, besides any IP address; ``"*"`` for every name.
    origins : tuple of str
        Web origins other than the server's own that may call it, as in ``https://shop.example``.
    in_flight_at_most : int
        Requests worked on or waiting at one time.
    per_caller_at_most : int
        Of these, requests of one caller: of one key, or without keys of one address.
    body_bytes_at_most : int
        Size of a body [bytes].
    notebook_bytes_at_most : int
        Size of a whole notebook that is put in [bytes]; what was taken out must find its way back.
    notebook : str
        Where the notebook is kept: a file, made when something is first stored, or the URL of a database.
    notebook_pages_at_most : int, optional
        Largest size of that file in pages of 4096 bytes.
    sweep_workers : int, optional
        Processes that share the sweeps of one server process; default: one a core.
    half_life_days : float, optional
        Age at which a dough of the notebook counts half [d]; without, all count alike.
    nightly_copies : int, optional
        How many daily copies of the notebook are kept; without, none is made.
    copies_folder : str, optional
        Where they are kept; default: ``backups`` beside the notebook's file.
    facts : ShopFacts
        What the first shop says of itself: who answers for its bars, where a customer asks, its currency.
    writing : Writing
        How figures and days stand on forms to print; JSON and CSV keep the point and days as in 2031-03-09.
    """

    hosts: tuple[str, ...] = LOOPBACK
    origins: tuple[str, ...] = ()
    in_flight_at_most: int = 128
    per_caller_at_most: int = 96
    body_bytes_at_most: int = 4 * _MIB
    notebook_bytes_at_most: int = 64 * _MIB
    notebook: str = "dough-notebook.sqlite3"
    notebook_pages_at_most: int | None = None
    sweep_workers: int | None = None
    half_life_days: float | None = None
    nightly_copies: int | None = None
    copies_folder: str | None = None
    facts: ShopFacts = NO_FACTS
    writing: Writing = _AS_ON_THE_WIRE

    @classmethod
    def read(cls, environment: Mapping[str, str]) -> "Settings":
        """Return the settings of an environment; what it does not name keeps its default.

        Parameters
        ----------
        environment : mapping
            ``DOUGH_HOSTS`` (names with commas, besides the loopback ones), ``DOUGH_ORIGINS`` (with commas),
            ``DOUGH_IN_FLIGHT``, ``DOUGH_PER_CALLER``, ``DOUGH_BODY_BYTES``, ``DOUGH_NOTEBOOK_PAGES``,
            ``DOUGH_SWEEP_WORKERS``, ``DOUGH_HALF_LIFE_DAYS`` and ``DOUGH_NIGHTLY_COPIES`` (whole numbers
            above zero), ``DOUGH_NOTEBOOK`` (a file or the URL of a database), ``DOUGH_COPIES_FOLDER``,
            ``DOUGH_RESPONSIBLE``, ``DOUGH_CONTACT`` and ``DOUGH_CURRENCY`` (texts of labels and costings),
            ``DOUGH_DECIMAL`` (point or comma), ``DOUGH_DATES`` (iso, day-first or month-first).

        Raises
        ------
        ValueError
            A number is none; the name of the variable is in the message.

        Examples
        --------
        >>> Settings.read({"DOUGH_HOSTS": "bench.local", "DOUGH_IN_FLIGHT": "32"}).in_flight_at_most
        32
        """
        return cls(
            hosts=(*LOOPBACK, *_names(environment, "DOUGH_HOSTS")),
            origins=_names(environment, "DOUGH_ORIGINS"),
            in_flight_at_most=_count(environment, "DOUGH_IN_FLIGHT", cls().in_flight_at_most),
            per_caller_at_most=_count(environment, "DOUGH_PER_CALLER", cls().per_caller_at_most),
            body_bytes_at_most=_count(environment, "DOUGH_BODY_BYTES", cls().body_bytes_at_most),
            notebook=environment.get("DOUGH_NOTEBOOK", "").strip() or cls().notebook,
            notebook_pages_at_most=_count(environment, "DOUGH_NOTEBOOK_PAGES", 0) or None,
            sweep_workers=_count(environment, "DOUGH_SWEEP_WORKERS", 0) or None,
            half_life_days=_count(environment, "DOUGH_HALF_LIFE_DAYS", 0) or None,
            nightly_copies=_count(environment, "DOUGH_NIGHTLY_COPIES", 0) or None,
            copies_folder=environment.get("DOUGH_COPIES_FOLDER", "").strip() or None,
            facts=ShopFacts(
                responsible=environment.get("DOUGH_RESPONSIBLE", "").strip() or None,
                contact=environment.get("DOUGH_CONTACT", "").strip() or None,
                currency=environment.get("DOUGH_CURRENCY", "").strip() or None,
            ),
            writing=Writing.of(environment),
        )


def _names(environment: Mapping[str, str], name: str) -> tuple[str, ...]:
    parts = (part.strip().rstrip("/") for part in environment.get(name, "").split(","))
    return tuple(part for part in parts if part)


def _count(environment: Mapping[str, str], name: str, default: int) -> int:
    written = environment.get(name, "").strip()
    if not written:
        return default
    if not written.isascii() or not written.isdigit() or int(written) < 1:
        raise ValueError(f"{name} must be a whole number above zero")
    return int(written)
