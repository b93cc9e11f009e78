"""Imports the server's modules from beside this package, whatever else goes by their name where one works."""

import sys
from importlib import import_module
from pathlib import Path
from typing import Any

FOLDER = str(Path(__file__).resolve().parents[2])


def server_module(name: str) -> Any:
    """Return a module of the server.

    Raises
    ------
    ImportError
        It needs an extra that is not installed.
    """
    if sys.path[:1] != [FOLDER]:
        sys.path.insert(0, FOLDER)
    return import_module(f"api.{name}")
