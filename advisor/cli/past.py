"""The verbs that show what a shop keeps: recipes with their versions, doughs, stock, and the rack."""

import argparse
import json
import re
import sys
from typing import Any

from pydantic import BaseModel

from advisor.cli import shop
from advisor.cli.reading import put_keys, recipe_of
from advisor.cli.storing import Refused, server_module
from advisor.printing.document import Block, Document, Sentences, Table
from advisor.printing.told import Told
from advisor.recipe.request import known_materials, read_formula, read_request
from advisor.rulebook.load import load_rulebook
from advisor.rulebook.naming import as_typed
from advisor.schema.base import KEY_PATTERN
from advisor.schema.lot import StockPage
from advisor.schema.material import Material
from advisor.schema.notebook import BarTested, RecipesPage, RecipeVersion, VersionTold
from advisor.writing import counted, figure

_GRAMS = frozenset({2, 3})
_LONGEST_KEY = 64
_KEEP = "dough-advisor keep my-bar.csv --as my-bar"
_NOTE, _BOOK = "dough-advisor note --help", "dough-advisor book --help"
_UUID = 36


def recipes(options: argparse.Namespace) -> Document | None:
    """Return the recipes that are kept, or the versions of one; None where JSON was written."""
    if options.key is None:
        last = {one.key: one for one in _past(options, None)}
        if options.json:
            write(RecipesPage(items=tuple(last.values()), next=None, rules_version=load_rulebook().edition))
            return None
        rows = tuple((key, one.recipe.name, str(one.version), str(one.kept_on)) for key, one in last.items())
        table = Table("", ("Key", "recipe", "version", "kept on"), rows, numeric=frozenset({2}))
        return Document(
            counted(len(rows), "recipe"),
            (table,) if rows else (),
            f"dough-advisor recipes {rows[0][0]}" if rows else _KEEP,
        )
    found = [one for one in _past(options, options.key) if options.number in (None, one.version)]
    if not found:
        raise Refused(f"The notebook keeps no such version of {options.key!r}: dough-advisor recipes")
    if options.json:
        write(
            RecipeVersion.model_validate(
                {name: getattr(found[-1], name) for name in RecipeVersion.model_fields}
            )
        )
        return None
    told = Told({}, notebook=shop.notebook_of(options))
    blocks = [_version(one, told) for one in found]
    if options.number is not None:
        blocks.insert(0, _lines(found[0], told))
    return Document(
        found[-1].recipe.name or options.key,
        tuple(blocks),
        f"dough-advisor weigh {options.key} --batch 1000 --balance 0.1",
    )


def _lines(one: VersionTold, told: Told) -> Table:
    unit = "percent" if one.recipe.lines[0].percent is not None else "grams"
    rows = tuple((told.name(line.material), figure(getattr(line, unit))) for line in one.recipe.lines)
    return Table("", ("Material", "%" if unit == "percent" else "g"), rows, numeric=frozenset({1}))


def write(one: BaseModel, *, nulls: bool = False) -> None:
    """Write a thing that is kept as JSON; an answer has ``nulls``."""
    sys.stdout.write(one.model_dump_json(indent=2, exclude_none=not nulls) + "\n")


def _past(options: argparse.Namespace, key: str | None) -> list[Any]:
    return shop.read(options, lambda notes: notes.recipes() if key is None else notes.past(key)) or []


def _version(one: VersionTold, told: Told) -> Block:
    """Return a version: what it comes from, what changed, what was made of it, and why."""
    lines = [f"{told.name(line.material)} {line.before:g} to {line.after:g} %." for line in one.changes]
    made = [f"Made {dough.made_on or 'once'}: {told.feel(dough.feel)}." for dough in one.doughs]
    made += [_bar_test(tested) for tested in one.bar_tests]
    of = one.descends_from
    come = [] if of is None else [f"From {of.recipe_key}, version {of.version}."]
    note = [one.note] if one.note else []
    return Sentences(
        f"Version {one.version}, {one.kept_on}", (*note, *come, *lines, *made) or ("As it began.",)
    )


def _bar_test(tested: BarTested) -> str:
    beside = {"less": ", less than before", "more": ", more than before", "same": ", as before"}
    told = f"{tested.test.capitalize()} of {tested.bars} bars {tested.mean:g}, {tested.spread:g} apart"
    return f"{told}{beside.get(tested.against_last or '', '')}."


def keep(options: argparse.Namespace) -> Document:
    """Keep a recipe as its next version, or a material of one's own.

    Raises
    ------
    Refused, InvalidRequest, InvalidRecipe, UnknownMaterial
    """
    source = shop.named(options, options.file)
    if isinstance(source.get("material"), dict):
        return _keep_material(options, source["material"])
    recipe = recipe_of(source).get("recipe")
    named_so = recipe.get("name") if isinstance(recipe, dict) else None
    key = options.key or source.get("recipe_key") or key_of(str(named_so or ""))
    _check_key(key)
    body = {"key": key, "version": 1, "kept_on": shop.today(), "note": options.note}

    def work(notes: Any) -> RecipeVersion:
        put_keys(recipe, shop.keys_of(notes.known()))
        wanted = read_request(RecipeVersion, {**body, "recipe": recipe})
        read_formula(wanted.recipe, known_materials(None, load_rulebook(), notes.known()))
        there = any(one.key == wanted.key for one in notes.recipes())
        found: RecipeVersion = notes.put_recipe(wanted, shop.seen(there=there))[0]
        return found

    found = shop.write(options, work)
    return Document(f"{found.key}, version {found.version}", (), f"dough-advisor recipes {found.key}")


def _keep_material(options: argparse.Namespace, sent: Any) -> Document:
    """Keep a material of one's own, such as the rework an answer holds."""
    material = read_request(Material, sent)
    text_of = server_module("http.answering").text_of

    def work(notes: Any) -> None:
        there = (material.key,) in dict(notes.items("materials"))
        notes.put("materials", (material.key,), text_of(material), shop.seen(there=there))

    shop.write(options, work)
    return Document(f"{material.name}: kept as {material.key}", (), f"dough-advisor materials {material.key}")


def key_of(name: str) -> str:
    """Return the key the words of a name make.

    Examples
    --------
    >>> key_of("Crème, 2")
    'creme-2'
    """
    plain = as_typed(name).encode("ascii", "ignore").decode()
    return "-".join(re.findall("[a-z0-9]+", plain))[:_LONGEST_KEY].strip("-")


def _check_key(key: str) -> None:
    """Refuse what is no key of a recipe, with the key its words make.

    Raises
    ------
    Refused
    """
    if not re.fullmatch(KEY_PATTERN, key):
        made = key_of(key)
        hint = f" Try --as {made}." if made else " Name it with --as my-bar." if not key else ""
        raise Refused(f"{key!r} is no key of a recipe: small letters, digits and hyphens.{hint}")
    if len(key) > _LONGEST_KEY:
        raise Refused(f"{key!r} is no key of a recipe: at most {_LONGEST_KEY} letters.")


def stock(options: argparse.Namespace) -> Document | None:
    """Return what each lot holds; None where JSON was written."""
    found = shop.read(options, lambda notes: notes.stock(shop.today())) or []
    if options.json:
        write(StockPage(items=tuple(found), next=None, rules_version=load_rulebook().edition), nulls=True)
        return None
    rows = tuple(
        (
            one.name,
            one.lot,
            "not counted" if one.on_hand is None else f"{one.on_hand:g} g",
            f"{one.reserved:g} g" if one.reserved else "",
            str(one.expires or ""),
        )
        for one in found
    )
    header = ("Material", "lot", "there", "planned", "expires")
    return Document(
        counted(len(rows), "lot"), (Table("", header, rows, numeric=_GRAMS),) if rows else (), _BOOK
    )


def rack(options: argparse.Namespace) -> Document | None:
    """Return every batch that dries, and what is to be done today; None where JSON was written."""
    from advisor.drying.rack import rack as on_rack
    from advisor.schema.notebook import StoredDough

    known = shop.notebook_of(options)
    doughs = [StoredDough.model_validate_json(one.body) for one in shop.doughs(options)]
    found = on_rack(doughs, today=shop.today(), notebook=known)
    if options.json:
        write(found, nulls=True)
        return None
    rows = tuple(
        (
            short(one.id),
            one.name,
            str(one.dates.weigh_next),
            str(one.dates.handle),
            f"{one.dates.sell.typical} ({one.dates.sell.earliest} to {one.dates.sell.latest})",
        )
        for one in found.items
    )
    todo = tuple(one.text for one in found.today) or ("Nothing is due.",)
    blocks: tuple[Block, ...] = (Sentences(f"Today, {found.on}", todo),)
    if rows:
        blocks += (Table("", ("Id", "batch", "weigh next", "handle from", "for sale"), rows),)
    return Document(
        "The rack",
        (*blocks, Sentences("", tuple(n.text for n in found.notes))),
        f"dough-advisor note {rows[0][0]} --weighing HOURS=GRAMS" if rows else _NOTE,
    )


def doughs(options: argparse.Namespace) -> Document | None:
    """Return the doughs of the notebook, newest first; None where JSON was written."""
    kept = shop.doughs(options)
    if options.json:
        items = [json.loads(one.body) for one in kept]
        page = {"items": items, "next": None, "rules_version": load_rulebook().edition}
        sys.stdout.write(json.dumps(page, indent=2) + "\n")
        return None
    if not kept:
        return Document("No dough is kept yet", (), _NOTE)
    notebook, rows = shop.notebook_of(options), []
    for one in kept:
        body = json.loads(one.body)
        rows.append((short(one.id), body.get("made_on", ""), Told(body, notebook=notebook).head))
    return Document(counted(len(rows), "dough"), (Table("", ("Id", "made on", "dough"), tuple(rows)),), _NOTE)


def short(name: str) -> str:
    """Return as much of a dough's id as a person types."""
    return name.partition("-")[0] if len(name) == _UUID else name
