"""Reaches what the command line shares with the server: its folder, its settings, its notebook."""

import argparse
import os
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

from advisor.errors import InvalidRequest, NotInstalled

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


class Refused(InvalidRequest):
    """What was asked on the command line cannot be done so."""

    title = "That cannot be done"


def part(name: str) -> Any:
    """Return a module of the notebook.

    Raises
    ------
    NotInstalled
    """
    try:
        return server_module(f"notebook.{name}")
    except ImportError as error:
        raise NotInstalled.of("The notebook", "notebook") from error


def settings() -> Any:
    """Return the settings of the server, as the environment gives them.

    Raises
    ------
    Refused
        A variable is wrong; its name is in the message.
    """
    try:
        return server_module("settings").Settings.read(os.environ)
    except ValueError as error:
        raise Refused(f"{error}.") from None


def agree(options: argparse.Namespace, question: str, else_: str) -> None:
    """Wait for a yes, unless --yes was said.

    Raises
    ------
    Refused
        There is nobody to ask, or the answer is another: what is said of it is ``else_``.
    """
    if options.yes:
        return
    if not sys.stdin.isatty():
        raise Refused(f"{else_}: say --yes, for there is nobody to ask.")
    sys.stdout.write(f"{question} [y/N] ")
    sys.stdout.flush()
    if sys.stdin.readline().strip().casefold() not in ("y", "yes"):
        raise Refused(f"{else_}.")
