"""Starts the server from the command line, for this machine or for the phone on the bench."""

import argparse
import os
import socket
import ssl
import sys

from advisor.cli.options import LOOPBACK
from advisor.cli.shop import place_of
from advisor.cli.storing import FOLDER, Refused, part, server_module, settings


def serve(options: argparse.Namespace) -> None:
    """Serve until it is ended.

    Raises
    ------
    Refused
        The address or the port cannot be listened on, or the certificate cannot be used.
    """
    import uvicorn

    scheme = _scheme(options.cert, options.key)

    os.environ["DOUGH_NOTEBOOK"] = place_of(options)
    serving = server_module("serving")
    notebook = serving.check_start(settings())
    _check_port(options.host, options.port)
    host = "0.0.0.0" if options.share and options.host == LOOPBACK else options.host  # noqa: S104
    if options.share:
        _share(scheme, options.port)
    else:
        sys.stdout.write(f"Open {scheme}://{host}:{options.port}/\n")
    sys.stdout.write(f"Notebook: {notebook}\n")
    sys.stdout.flush()
    with server_module("http.guards.metrics").counted_together(options.workers or 1):
        uvicorn.run(
            "api.serving:create_served_app",
            app_dir=FOLDER,
            host=host,
            port=options.port,
            workers=options.workers,
            ssl_certfile=options.cert,
            ssl_keyfile=options.key,
            **serving.UVICORN,
        )


def _check_port(host: str, port: int) -> None:
    """Refuse a port that cannot be listened at.

    Raises
    ------
    Refused
    """
    try:
        with socket.create_server((host, port)):
            pass
    except (OSError, OverflowError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or "there is no such address"
        raise Refused(f"Nothing can listen at {host}:{port}: {why}. Name another --port.") from None


def _scheme(certificate: str | None, key: str | None) -> str:
    """Return how the server is spoken to.

    Raises
    ------
    Refused
        The certificate and its key cannot be used.
    """
    if certificate is None:
        if key is not None:
            raise Refused("--key is the key of a certificate: name that with --cert.")
        return "http"
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key, password="")
    except (OSError, ValueError) as error:
        why = error.strerror or getattr(error, "reason", "") if isinstance(error, OSError) else str(error)
        raise Refused(f"The certificate {certificate} cannot be used: {why or 'it is none'}.") from None
    return "https"


def _share(scheme: str, port: int) -> None:
    """Print a one-time link for this machine and for the phone on the bench, and the key for programs."""
    shared = part("sharing").share(settings(), devices=2)
    here, there = shared.links
    sys.stdout.write(
        f"On this machine open  {scheme}://{LOOPBACK}:{port}{here}\n"
        f"On the phone open     {scheme}://{_address()}:{port}{there}\n"
        f"Each link works once, for ten minutes. Key for programs, shown once: {shared.key.key}\n"
    )
    if scheme == "http":
        sys.stdout.write(
            "The connection is not encrypted: whoever can listen on this network can read it, keys included. "
            "With --cert and --key it is.\n"
        )


def _address() -> str:
    """Return this machine's address on the local network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])
