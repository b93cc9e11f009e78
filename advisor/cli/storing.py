"""Reaches the notebook of the server from the command line, where its extra is installed."""

import os
from typing import Any

from advisor.cli.beside import server_module
from advisor.errors import InvalidRequest, NotInstalled


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
