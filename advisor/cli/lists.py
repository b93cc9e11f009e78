"""What the command line lists of the library: materials."""

from advisor.errors import InvalidRequest
from advisor.printing.document import Document, Table
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import load_rulebook


def materials(words: list[str], notebook: Notebook | None) -> Document:
    """Return the materials whose names hold every word, the shop's own among them."""
    rules = load_rulebook()
    known = {**rules.ingredients, **(notebook.materials if notebook is not None else {})}
    wanted = [word.casefold() for word in words]
    rows = []
    for key, one in sorted(known.items()):
        material = one.material
        names = " ".join((key, material.name, *material.also, *material.composition)).casefold()
        if all(word in names for word in wanted):
            active = (
                f"{material.active if isinstance(material.active, int | float) else one.active * 100:g} %"
            )
            rows.append((material.name, key, material.form.replace("_", " "), active))
    if not rows:
        near = "; ".join(f"{known[key].name} ({key})" for key in rules.nearest_keys(" ".join(words), known))
        raise InvalidRequest(f"No material is called so.{f' Near it: {near}.' if near else ''}")
    table = Table("", ("Material", "key", "form", "active"), tuple(rows), numeric=frozenset({3}))
    return Document(f"{len(rows)} materials", (table,), f"dough-advisor explain {rows[0][1]}")
