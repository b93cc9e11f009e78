"""The verbs that write into the notebook: book a lot in, note a dough, forget either or a recipe."""

import argparse
import json
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.cli import shop
from advisor.cli.past import short, write
from advisor.cli.reading import Body, Kept, put_in, put_keys, recipe_of, without_others
from advisor.cli.storing import Refused, agree, server_module
from advisor.printing.document import Document, Facts, Sentences
from advisor.printing.told import Told
from advisor.recipe.history import check_dough, used_grams
from advisor.recipe.notebook import Notebook
from advisor.recipe.read import lots_of
from advisor.recipe.request import KnownMaterials, known_materials, read_request
from advisor.rulebook.load import load_rulebook
from advisor.schema.lot import Lot, LotRow
from advisor.schema.notebook import StoredDough

_Held = Mapping[tuple[str, str], float | None]


def book(options: argparse.Namespace) -> Document | None:
    """Book a lot in, or change what is said of one; None where JSON was written.

    Raises
    ------
    Refused, InvalidRequest, UnknownMaterial
    """

    text_of = server_module("http.answering").text_of

    def work(notes: Any) -> tuple[LotRow, str]:
        known = _known(notes)
        key = shop.keys_of(known.notebook)(options.material)
        found = known.all([(key, "/material")])
        before = dict(notes.items("lots", (key,))).get((key, options.lot))
        told = {} if before is None else json.loads(before)
        row = read_request(LotRow, {**put_in(told, options, Lot), "material": key, "lot": options.lot})
        lot = Lot(**row.model_dump(include=set(Lot.model_fields)))
        notes.put("lots", (key, options.lot), text_of(lot), shop.seen(there=before is not None))
        return row, found[key].material.name

    row, name = shop.write(options, work)
    if options.json:
        write(row)
        return None
    told = (
        (field.replace("_", " "), f"{value:g}" if isinstance(value, float) else str(value))
        for field, value in row
        if value is not None and field in Lot.model_fields
    )
    return Document(f"{name}, lot {row.lot}: booked", (Facts(tuple(told)),), "dough-advisor stock")


def note(options: argparse.Namespace) -> Document | None:
    """Write down a dough, or what became of one; None where JSON was written.

    Raises
    ------
    Refused, InvalidRequest, InvalidRecipe, UnknownMaterial
    """
    source = shop.named(options, options.file)
    if not isinstance(source, Kept):
        source = without_others(recipe_of(source), StoredDough, options.verb)

    def work(notes: Any) -> tuple[str, Body, Notebook, list[str]]:
        known, before = _known(notes), _held(notes)
        told = put_in({}, options, StoredDough, shop.keys_of(known.notebook))
        if "id" not in source:
            told = {"made_on": source.get("made_on") or shop.today(), **told}
        fields = {field: value for field, value in source.items() if field in StoredDough.model_fields}
        put_keys(fields, shop.keys_of(known.notebook))
        dough = read_request(StoredDough, _with(fields, told))
        check_dough(dough, known)
        if dough.id is None:
            kept = notes.add_dough(dough, None)
        else:
            kept = notes.put_dough(dough.id, dough, shop.seen(there=True))[0]
        return kept.id, json.loads(kept.body), known.notebook, list(_fell(dough, before, _held(notes), known))

    name, body, notebook, fell = shop.write(options, work)
    if options.json:
        write(StoredDough.model_validate(body))
        return None
    undo = f"To take it back: dough-advisor forget dough {short(name)}"
    lines = (*fell, undo) if "id" not in source else fell
    head = Told(body, notebook=notebook).head
    return Document(f"{head}: noted as {short(name)}", (Sentences("", tuple(lines)),), "dough-advisor rack")


def _with(fields: Body, told: Body) -> Body:
    """Return a dough with what was told besides: lists grow, tables take it in, all else is replaced."""
    found = dict(fields)
    for field, value in told.items():
        before = found.get(field)
        if isinstance(before, list) and isinstance(value, list):
            found[field] = [*before, *value]
        elif isinstance(before, dict) and isinstance(value, dict):
            found[field] = {**before, **value}
        else:
            found[field] = value
    return found


def _fell(dough: StoredDough, before: _Held, after: _Held, known: KnownMaterials) -> Iterable[str]:
    """Yield what each lot of a dough now holds."""
    used, lots = used_grams(dough), lots_of(dough.recipe, dough.lots)
    if lots and not any(used.values()):
        yield "How much was made is not told, so no stock falls: --batch GRAMS."
        return
    for key, lot in lots.items():
        held, left, name = before.get((key, lot)), after.get((key, lot)), _lot_named(key, lot, known)
        if held is None or left is None:
            yield f"{name}: nobody counted it, so nothing falls."
        elif not left and used.get(key, 0.0) > held:
            yield f"{name}: it held {held:g} g, and {used[key]:g} g went in; nothing is left."
        else:
            yield f"{name}: {left:g} g are left."


def forget(options: argparse.Namespace) -> Document:
    """Forget a dough, a lot or a recipe.

    Raises
    ------
    Refused, NotFound, UnknownMaterial
    """
    wanted = {"dough": _forget_dough, "lot": _forget_lot, "recipe": _forget_recipe}[options.kind]
    if len(options.names) != (2 if options.kind == "lot" else 1):
        raise Refused("Write: forget dough ID, forget lot MATERIAL LOT, or forget recipe KEY.")
    if shop.read(options, lambda notes: notes.id) is None:
        raise Refused("There is no notebook yet: nothing can be forgotten.")
    question = f"Forget {options.kind} {' '.join(options.names)}? It does not come back."
    agree(options, question, "Nothing was forgotten")
    title, lines = shop.write(options, lambda notes: wanted(notes, options.names))
    return Document(f"{title}: forgotten", (Sentences("", lines),) if lines else ())


def _forget_dough(notes: Any, names: list[str]) -> tuple[str, tuple[str, ...]]:
    found = shop.dough_named(notes, names[0])
    if found is None:
        raise Refused(f"The notebook keeps no dough {names[0]!r}: dough-advisor doughs")
    dough, before, known = StoredDough.model_validate_json(found.body), _held(notes), _known(notes)
    notes.remove_dough(found.id, shop.seen(there=True))
    after = _held(notes)
    moved = {of: after[of] for of in after if of in before and after[of] != before[of]}
    lines = (f"{_lot_named(key, lot, known)}: {left:g} g again." for (key, lot), left in moved.items())
    return dough.recipe.name or short(found.id), tuple(lines)


def _forget_lot(notes: Any, names: list[str]) -> tuple[str, tuple[str, ...]]:
    notes.remove("lots", (shop.keys_of(notes.known())(names[0]), names[1]), shop.seen(there=True))
    return f"{names[0]}, lot {names[1]}", ()


def _forget_recipe(notes: Any, names: list[str]) -> tuple[str, tuple[str, ...]]:
    notes.remove_recipe(names[0], shop.seen(there=True))
    return names[0], ("The doughs that were made of it stay.",)


def _lot_named(key: str, lot: str, known: KnownMaterials) -> str:
    found = known.get(key)
    return f"{key if found is None else found.material.name}, lot {lot}"


def _known(notes: Any) -> KnownMaterials:
    return known_materials(None, load_rulebook(), notes.known())


def _held(notes: Any) -> _Held:
    """Return what each lot holds [g], None where nobody counted it."""
    return {
        (one.material, one.lot): None if one.on_hand is None else one.on_hand - one.reserved
        for one in notes.stock(shop.today())
    }
