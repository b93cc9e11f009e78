"""Joins the page's modules into one script and its styles into one sheet, in memory."""

import re
from functools import cache
from pathlib import Path

_IMPORT = re.compile(r'^import \{([^}]*)\} from "([^"]+)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:const|class|function|async function) (\w+))", re.MULTILINE)
_STYLE = re.compile(r'<link rel="stylesheet" href="/static/([^"]+)"( media="print")? />\n\s*')


@cache
def modules(entry: Path) -> str:
    """Return a module and all it imports as one script; each keeps its names to itself.

    Parameters
    ----------
    entry : Path
        The module that starts the page.

    Raises
    ------
    ValueError
        Two modules import each other.
    """
    names: dict[Path, str] = {}
    return "".join(_joined(entry.resolve(), names, ()))


def _joined(path: Path, names: dict[Path, str], above: tuple[Path, ...]) -> list[str]:
    if path in above:
        raise ValueError(f"{path.name} and {above[-1].name} import each other")
    if path in names:
        return []
    source = path.read_text(encoding="utf-8")
    parts: list[str] = []
    for found in _IMPORT.finditer(source):
        parts += _joined((path.parent / found[2]).resolve(), names, (*above, path))
    names[path] = f"$m{len(names)}"
    taken = _IMPORT.sub(
        lambda found: (
            f"const {{{found[1].replace(' as ', ': ')}}} = {names[(path.parent / found[2]).resolve()]};\n"
        ),
        source,
    )
    given = ", ".join(_EXPORT.findall(source))
    return [
        *parts,
        f"const {names[path]} = (() => {{\n{_EXPORT.sub('', taken)}\nreturn {{ {given} }};\n}})();\n",
    ]


def styles(document: str, folder: Path, joined: str) -> tuple[str, str]:
    """Return the style sheets a document names as one, and the document with one link to it.

    Examples
    --------
    >>> styles("<p>", Path(), "/static/page.css")
    ('', '<p>')
    """
    sheets = []
    for name, only_print in _STYLE.findall(document):
        sheet = (folder / name).read_text(encoding="utf-8")
        sheets.append(f"@media print {{\n{sheet}}}\n" if only_print else sheet)
    links = iter([f'<link rel="stylesheet" href="{joined}" />\n    '])
    return "".join(sheets), _STYLE.sub(lambda _: next(links, ""), document)
