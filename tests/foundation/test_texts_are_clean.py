"""Keeps out of the repository what belongs to one machine or one workplace.

The words are put together from pieces, so that this file does not carry them itself.
"""

import ast
import re
from pathlib import Path

MACHINE_PATHS = [
    "/".join(["", *parts])
    for parts in (
        ("wo" + "rk", ""),
        ("ro" + "ot", ""),
        ("opt", "wh" + "eels"),
        ("tmp", "w", ""),
        ("ho" + "me", ""),
    )
]
HOSTS = [
    ".".join(parts)
    for parts in (
        ("py" + "pi", "org"),
        ("pythonho" + "sted", "org"),
        ("np" + "mjs", "org"),
        ("np" + "mjs", "com"),
        ("deb", "deb" + "ian", "org"),
        ("cra" + "tes", "io"),
    )
]
WORKPLACE = [
    "seed " + "document",
    "farm" + "-bench",
    "farm" + "-studio",
    "/." + "library",
    "shared/" + "examples",
    *(name + ".md" for name in ("con" + "tract", "mo" + "del", "ho" + "use")),
]
FOREIGN = re.compile(
    r"(?<![\w~-])(?:" + "|".join(re.escape(word) for word in (*MACHINE_PATHS, *HOSTS, *WORKPLACE)) + ")",
    re.IGNORECASE,
)
ISSUE = re.compile(r"\biss" + r"ue\s+#?[0-9]", re.IGNORECASE)


def texts(files: list[Path]) -> list[tuple[Path, str]]:
    pictures = {".png", ".jpg", ".ico", ".woff2"}
    return [(path, path.read_text(encoding="utf-8")) for path in files if path.suffix not in pictures]


def test_no_file_carries_a_path_of_a_machine_a_registry_or_a_workplace(files: list[Path], root: Path) -> None:
    found = [
        f"{path.relative_to(root)}: {hit[0]}" for path, text in texts(files) for hit in FOREIGN.finditer(text)
    ]
    assert not found, found


def test_no_file_names_a_ticket_by_number(files: list[Path], root: Path) -> None:
    found = [
        f"{path.relative_to(root)}: {hit[0]}" for path, text in texts(files) for hit in ISSUE.finditer(text)
    ]
    assert not found, found


def test_no_file_carries_an_unfinished_remark(files: list[Path], root: Path) -> None:
    remark = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|XX" + r"X)\b")
    found = [
        f"{path.relative_to(root)}: {hit[0]}" for path, text in texts(files) for hit in remark.finditer(text)
    ]
    assert not found, found


def test_every_module_starts_by_saying_what_it_is_for(files: list[Path], root: Path) -> None:
    silent = [
        str(path.relative_to(root))
        for path, text in texts(files)
        if path.suffix == ".py" and text.strip() and not ast.get_docstring(ast.parse(text))
    ]
    assert not silent, silent
