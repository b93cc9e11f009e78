"""Reads the environment: what the serve command starts in every worker process."""

import logging
import os

from fastapi import FastAPI

from api.app import create_app
from api.http.guards.log import log_to, write
from api.notebook.place import place_of
from api.settings import Settings


def create_served_app() -> FastAPI:
    """Return the server as the environment sets it, with its log on standard error.

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
    return create_app(settings)
