"""What the command line lists of the library: materials."""

from advisor.errors import InvalidRequest
from advisor.printing.document import Document, Table
from advisor.recipe import catalogue
from advisor.recipe.notebook import Notebook
from advisor.rulebook.ingredient import typical
from advisor.rulebook.load import load_rulebook
from advisor.writing import counted


def materials(words: list[str], notebook: Notebook | None) -> Document:
    """Return the materials whose names hold every word, the shop's own among them."""
    rules, typed = load_rulebook(), " ".join(words)
    known = {**rules.ingredients, **({} if notebook is None else notebook.materials)}
    found = catalogue.materials(typed, notebook=notebook)
    if not found:
        near = "; ".join(f"{known[key].name} ({key})" for key in rules.nearest_keys(typed, known))
        raise InvalidRequest(f"No material is called so.{f' Near it: {near}.' if near else ''}")
    rows = tuple(
        (one.name, one.key, one.form.replace("_", " "), f"{typical(one.active):g} %") for one in found
    )
    table = Table("", ("Material", "key", "form", "active"), rows, numeric=frozenset({3}))
    return Document(counted(len(rows), "material"), (table,), f"dough-advisor explain {found[0].key}")
