"""Turns what a shop keeps into evidence, and keeps it until the notebook changes."""

import datetime
import threading
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.errors import InvalidRecipe, UnknownMaterial
from advisor.laboratory.uptake import measured
from advisor.learning import Dough
from advisor.recipe.belief import Measured
from advisor.recipe.history import dough_weights, stored_evidence
from advisor.recipe.notebook import NO_FACTS, Notebook, ShopFacts, newest_recipes
from advisor.recipe.request import KnownMaterials, known_materials
from advisor.rulebook.ingredient import compile_material
from advisor.rulebook.load import Rulebook
from advisor.schema.lot import Lot
from advisor.schema.material import Material, UptakeTest
from advisor.schema.notebook import StoredDough
from advisor.schema.recipe import Recipe
from api.notebook.callers import LOCAL
from api.notebook.named import LOTS, MATERIALS, UPTAKE_TESTS, changes
from api.notebook.schema import doughs

_MOST_SHOPS = 64
_Row = tuple[tuple[str, ...], str]


class _Judged(NamedTuple):
    """One dough as evidence: what it was read from, and what it says; of its many shapes none is kept."""

    tag: str
    made_on: datetime.date | None
    recipe: str
    materials: tuple[str, ...]
    evidence: tuple[Dough, ...]
    unknown: bool = False


@dataclass
class _Shop:
    """What is known of one shop, as of which change, and the materials and lots its doughs were read with."""

    changes: int
    own: set[_Row]
    notebook: Notebook
    judged: dict[str, _Judged] = field(default_factory=dict)

    def still(self, own: set[_Row]) -> dict[str, _Judged]:
        """Return the doughs none of whose materials and lots have changed since."""
        changed = {name[0] for name, _ in own ^ self.own}
        return {name: one for name, one in self.judged.items() if changed.isdisjoint(one.materials)}


class Knowledge:
    """What the shops know, learned when first asked for.

    Parameters
    ----------
    rulebook : Rulebook
    half_life_days : float, optional
        Age at which a dough counts half [d]; without, all count alike.
    today : callable
        Returns the day, which the dates of lots are held against.
    facts : ShopFacts
        What the first shop, to which the server belongs, says of itself.
    """

    def __init__(
        self,
        rulebook: Rulebook,
        half_life_days: float | None,
        today: Callable[[], datetime.date],
        facts: ShopFacts = NO_FACTS,
    ) -> None:
        self.rulebook = rulebook
        self.half_life_days = half_life_days
        self._today, self._facts = today, facts
        self._shops: dict[str, _Shop] = {}
        self._lock = threading.Lock()
        self._learning: defaultdict[str, threading.RLock] = defaultdict(threading.RLock)

    def of(self, connection: Connection, shop: str) -> Notebook:
        """Return what a shop knows at this moment; nobody waits for what another shop has to learn."""
        now = changes(connection, shop)
        known = self._kept(shop, now)
        if known is None:
            with self._learning[shop]:
                known = self._kept(shop, now) or self._keep(shop, self._read(connection, shop))
        return known.notebook

    @contextmanager
    def ahead(self, connection: Connection, shop: str) -> Iterator[None]:
        """Learn what a shop will know once the transaction, which ends within, is kept."""
        learned = self._read(connection, shop)
        with self._learning[shop]:
            yield
            self._keep(shop, learned)

    def _kept(self, shop: str, now: int) -> _Shop | None:
        known = self._shops.get(shop)
        return known if known and known.changes >= now and known.notebook.today == self._today() else None

    def _keep(self, shop: str, known: _Shop) -> _Shop:
        with self._lock:
            self._shops.pop(shop, None)
            while len(self._shops) >= _MOST_SHOPS:
                del self._shops[next(iter(self._shops))]
            self._shops[shop] = known
        return known

    def _read(self, connection: Connection, shop: str) -> _Shop:
        now, before = changes(connection, shop), self._shops.get(shop)
        materials, lots = MATERIALS.items(connection, shop), LOTS.items(connection, shop)
        own, known = {*materials, *lots}, self._known(materials, lots)
        earlier = {} if before is None else before.still(own)
        judged = self._judged(connection, shop, known, earlier)
        weights = dough_weights(
            [one.made_on for one in judged.values()], self.half_life_days, known.notebook.today
        )
        evidence = [
            (name, dough if weight == 1.0 else replace(dough, weight=weight))
            for (name, one), weight in zip(judged.items(), weights, strict=True)
            for dough in one.evidence
        ]
        written = dict.fromkeys(one.recipe for one in reversed(judged.values()) if not one.unknown)
        notebook = replace(
            known.notebook,
            doughs=tuple(dough for _, dough in evidence),
            names=tuple(name for name, _ in evidence),
            measured=_tested(connection, shop, known),
            recipes=newest_recipes(Recipe.model_validate_json(one) for one in written),
            unread=tuple(name for name, one in judged.items() if one.unknown),
            facts=self._facts if shop == LOCAL else NO_FACTS,
        )
        notebook.window  # noqa: B018
        return _Shop(now, own, notebook, judged)

    def _known(self, own: list[_Row], delivered: list[_Row]) -> KnownMaterials:
        rules = self.rulebook
        read = [Material.model_validate_json(body) for _, body in own]
        materials = {material.key: compile_material(material, rules.dough) for material in read}
        lots = {(key, lot): Lot.model_validate_json(body) for (key, lot), body in delivered}
        notebook = Notebook(rules.dough, rules.ingredients, materials, lots=lots, today=self._today())
        return known_materials(None, rules, notebook)

    def _judged(
        self, connection: Connection, shop: str, known: KnownMaterials, earlier: dict[str, _Judged]
    ) -> dict[str, _Judged]:
        """Return every dough as evidence, oldest first; only what is new is read and reckoned."""
        tags = connection.execute(
            sa.select(doughs.c.id, doughs.c.tag).where(doughs.c.shop == shop).order_by(doughs.c.place)
        ).all()
        new = [name for name, tag in tags if name not in earlier or earlier[name].tag != tag]
        bodies: dict[str, str] = {}
        for start in range(0, len(new), 500):
            rows = connection.execute(
                sa.select(doughs.c.id, doughs.c.body).where(
                    doughs.c.shop == shop, doughs.c.id.in_(new[start : start + 500])
                )
            )
            bodies.update((name, body) for name, body in rows)
        return {
            name: _reckoned(tag, bodies[name], known) if name in bodies else earlier[name]
            for name, tag in tags
        }


def _reckoned(tag: str, body: str, known: KnownMaterials) -> _Judged:
    dough = StoredDough.model_validate_json(body)
    named = *(one.material for one in dough.recipe.lines), *(one.material for one in dough.added)
    judged = _Judged(tag, dough.made_on, dough.recipe.model_dump_json(), named, ())
    try:
        return judged._replace(evidence=tuple(stored_evidence(dough, known)))
    except (UnknownMaterial, InvalidRecipe):
        return judged._replace(unknown=True)


def _tested(connection: Connection, shop: str, known: KnownMaterials) -> dict[str, Measured]:
    found = {}
    for _, body in UPTAKE_TESTS.items(connection, shop):
        test = UptakeTest.model_validate_json(body)
        try:
            result = measured(test, known)
        except (UnknownMaterial, InvalidRecipe):
            continue
        if result is not None:
            found[test.material] = result
    return found
