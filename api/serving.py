"""Reads the environment: what the serve command starts in every worker process."""

import logging
import os
from typing import Any

from fastapi import FastAPI

from advisor.rulebook.load import load_rulebook
from api.app import create_app
from api.http.guards.log import log_to, write
from api.notebook.access import ShopAccess
from api.notebook.place import place_of
from api.settings import Settings

UVICORN: dict[str, Any] = {
    "factory": True,
    "http": "api.http.patience:PatientProtocol",
    "ws": "none",
    "access_log": False,
    "log_config": None,
    "server_header": False,
    "proxy_headers": False,
    "timeout_graceful_shutdown": 10,
    "timeout_keep_alive": 30,
}
"""How uvicorn serves ``api.serving:create_served_app``, besides address, certificate and workers."""


def check_start(settings: Settings) -> str:
    """Find out, before a server is started, what would stop it.

    Returns
    -------
    str
        Where its notebook lies, or why nothing can be kept.

    Raises
    ------
    RulesError
        A file under rules/ does not say what it must.
    Storage, Busy
        The notebook cannot be read.
    """
    access = ShopAccess(settings.notebook, load_rulebook())
    try:
        return access.check()
    finally:
        access.close()


def create_served_app() -> FastAPI:
    """Return the server as the environment sets it, with its log on standard error.

    It is described before anybody asks: that takes more than half a second, and would hold up all others.

    Raises
    ------
    ValueError
        A variable is wrong; its name is in the message.
    RulesError
        A file under rules/ does not say what it must.
    """
    log_to()
    settings = Settings.read(os.environ)
    write(logging.INFO, "notebook", "start", place=place_of(settings.notebook))
    app = create_app(settings)
    app.openapi()
    return app
