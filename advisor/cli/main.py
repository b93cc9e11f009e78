"""The command line: a verb for each task, and the server."""

import argparse
import json
import os
import socket
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, get_args

from advisor.cli import backup, keys
from advisor.cli.storing import Refused, part, settings
from advisor.errors import AdvisorError, InvalidRequest, NoRecipeFits, RulesError
from advisor.recipe.request import with_keys
from advisor.registry import TASKS, Task
from advisor.rulebook.load import load_rulebook
from advisor.schema.base import Degree, Market
from advisor.sweeps.schema import Task as Swept

_LOOPBACK = "127.0.0.1"
DONE, BAD_INPUT, NOTHING_FITS, FAILED = 0, 2, 3, 4
_FORMS = ("text", "markdown", "html")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb and return the exit code: 0 done, 2 bad input, 3 nothing fits, 4 failed."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except NoRecipeFits as error:
        return _complain(error, NOTHING_FITS, as_json=options.json)
    except KeyboardInterrupt:
        sys.stderr.write("Interrupted.\n")
        return FAILED
    except RulesError as error:
        return _complain(error, FAILED, as_json=False)
    except AdvisorError as error:
        code = BAD_INPUT if error.status < 500 else FAILED
        return _complain(error, code, as_json=getattr(options, "json", False))
    except BrokenPipeError:
        sys.stderr.close()
        return DONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dough-advisor",
        description="Corrects the recipe of a hand-kneaded solid cleansing bar whose dough failed.",
        epilog="Exit codes: 0 done, 2 bad input, 3 nothing fits, 4 failed.",
    )
    verbs = parser.add_subparsers(dest="verb", required=True)
    for one in TASKS:
        if one.method == "POST" and one.name != "sweep":
            _add_task(verbs, one)
    _add_sweep(verbs)
    backup.add_verbs(verbs)
    keys.add_verbs(verbs)
    serve = verbs.add_parser("serve", help="Start the JSON API and the page", description="Start the server.")
    serve.add_argument("--host", default=_LOOPBACK, help="address to listen on (default: %(default)s)")
    serve.add_argument("--port", type=int, default=8000, help="port to listen on (default: %(default)s)")
    serve.add_argument(
        "--share", action="store_true", help="let other devices in: make a key and one-time links for them"
    )
    serve.add_argument("--workers", type=int, default=1, help="worker processes (default: %(default)s)")
    serve.set_defaults(run=_serve)
    return parser


def _add_task(verbs: Any, asked: Task) -> None:
    parser = verbs.add_parser(asked.asked_as, help=asked.summary, description=f"{asked.summary}.")
    parser.set_defaults(asked=asked, run=_run)
    parser.add_argument(
        "file",
        help="a request as JSON, or a recipe as CSV (material,percent or grams); - is standard input",
    )
    shown = parser.add_mutually_exclusive_group()
    shown.add_argument("--json", action="store_true", help="print the answer as JSON")
    if asked.form:
        shown.add_argument("--print", choices=_FORMS, help="write the answer as a form to print")
    if asked.name == "weigh":
        parser.add_argument("--units", choices=("g", "oz"), default="g", help="units of the weigh sheet")
    _add_fields(parser)


def _add_fields(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--feel", help="what happened to the dough, such as too_wet")
    parser.add_argument("--degree", choices=get_args(Degree), help="how badly")
    parser.add_argument("--sign", action="append", help="a sign seen, such as dusty; may be repeated")
    parser.add_argument("--market", choices=get_args(Market), help="where the bar is sold")
    parser.add_argument("--shelf", help="other materials at hand, separated by commas")
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="FIELD=VALUE",
        help="set a field of the request (JSON value)",
    )


def _add_sweep(verbs: Any) -> None:
    about = "Ask one task of many recipes; begun again after an interruption, it goes on where it stopped."
    parser = verbs.add_parser("sweep", help="Ask one task of many recipes", description=about)
    parser.add_argument(
        "file",
        help="recipes as CSV (recipe,material,percent or grams), or one body of the task a line as NDJSON",
    )
    parser.add_argument("--task", required=True, choices=get_args(Swept), help="what is asked of each recipe")
    parser.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="OUT.ndjson",
        help="where the answers go, one a line; OUT.summary.csv and OUT.recipes.csv are written beside it",
    )
    parser.add_argument("--missing", metavar="KEY", help="the material that cannot be had (substitutions)")
    _add_fields(parser)
    parser.add_argument("--workers", type=int, help="processes to share the work (default: one a core)")
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="of a Dask scheduler whose workers do the work"
    )
    parser.set_defaults(run=_sweep)


def _sweep(options: argparse.Namespace) -> int:
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    from advisor.sweeps.file import Order, run

    given = {} if options.missing is None else {"missing": options.missing}
    run(
        Order(Path(options.file), options.task, Path(options.output), options.workers, options.scheduler),
        lambda body: _put_in({**body, **given}, options),
    )
    return DONE


def _run(options: argparse.Namespace) -> int:
    body, asked = _body(options), options.asked
    answer = asked.function(body)
    if options.json:
        sys.stdout.write(answer.model_dump_json(indent=2) + "\n")
    elif asked.form and (options.print or asked.name == "weigh"):
        from advisor.printing.forms import printed

        units = {"units": options.units} if asked.name == "weigh" else {}
        sys.stdout.write(printed(asked, answer, options.print or "text", **units) + "\n")
    else:
        from advisor.printing.terminal import show

        show(options.verb, body, answer.model_dump())
    return DONE


def _body(options: argparse.Namespace) -> dict[str, Any]:
    """Return the request: the file, with what the options say put in.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    return _put_in(_read(options.file), options)


def _put_in(body: dict[str, Any], options: argparse.Namespace) -> dict[str, Any]:
    """Return a request with what the options say put in.

    Raises
    ------
    InvalidRequest
    """
    report = {"feel": options.feel, "degree": options.degree, "signs": options.sign}
    given = {name: value for name, value in report.items() if value}
    if given:
        body["report"] = {**(body.get("report") or {}), **given}
    if options.market:
        body["wishes"] = {**(body.get("wishes") or {}), "market": options.market}
    if options.shelf:
        named = [name.strip() for name in options.shelf.split(",") if name.strip()]
        body["shelf"] = [load_rulebook().key_named(name) or name for name in named]
    for setting in options.set:
        field, equals, value = setting.partition("=")
        if not equals:
            raise InvalidRequest(f"--set needs FIELD=VALUE, not {setting!r}.")
        body[field] = _value(value)
    return body


def _value(text: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError:
        return text


def _read(name: str) -> dict[str, Any]:
    path = Path(name)
    if path.suffix.casefold() == ".csv":
        if not path.is_file():
            raise InvalidRequest(f"There is no file {name}.")
        from advisor.tables import read_recipe_table

        return {"recipe": with_keys(read_recipe_table(path), load_rulebook())}
    try:
        text = sys.stdin.read() if name == "-" else path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidRequest(f"{name} cannot be read: {error}.") from error
    try:
        body = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise InvalidRequest(f"{name} is not JSON: {error}.") from error
    if not isinstance(body, dict):
        raise InvalidRequest(f"{name} holds no JSON object.")
    return {"recipe": body} if "lines" in body else body


def _complain(error: AdvisorError, code: int, *, as_json: bool) -> int:
    if as_json:
        sys.stderr.write(json.dumps(error.problem(), indent=2) + "\n")
        return code
    sys.stderr.write(f"{error.title}. {error.detail}\n")
    for fault in error.faults:
        hint = f" ({fault.hint})" if fault.hint else ""
        sys.stderr.write(f"  {fault.where}: {fault.problem}{hint}\n")
    nearest = error.extra.get("nearest")
    if nearest:
        lines = ", ".join(f"{line['material']} {line['percent']:g} %" for line in nearest["recipe"]["lines"])
        sys.stderr.write(f"Nearest recipe: {lines}\n")
    for item in error.extra.get("advice", ()):
        sys.stderr.write(f"At the bench: {item['text']}\n")
    return code


def _share(port: int) -> None:
    """Print a one-time link for this machine and for the phone on the bench, and the key for programs."""
    shared = part("sharing").share(settings(), devices=2)
    here, there = shared.links
    sys.stdout.write(
        f"On this machine open  http://{_LOOPBACK}:{port}{here}\n"
        f"On the phone open     http://{_address()}:{port}{there}\n"
        f"Each link works once, for ten minutes. Key for programs, shown once: {shared.key.key}\n"
    )


def _address() -> str:
    """Return this machine's address on the local network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def _check_port(host: str, port: int) -> None:
    """Refuse a port that cannot be listened at.

    Raises
    ------
    Refused
    """
    try:
        with socket.create_server((host, port)):
            pass
    except (OSError, OverflowError) as error:
        why = getattr(error, "strerror", None) or "there is no such port"
        raise Refused(f"Nothing can listen at {host}:{port}: {why}. Name another --port.") from None


def _serve(options: argparse.Namespace) -> int:
    import uvicorn

    serving = import_module("api.serving")
    serving.check_start(settings())
    _check_port(options.host, options.port)
    host = "0.0.0.0" if options.share and options.host == _LOOPBACK else options.host  # noqa: S104
    if options.share:
        _share(options.port)
    else:
        sys.stdout.write(f"Open http://{host}:{options.port}/\n")
    sys.stdout.flush()
    uvicorn.run(
        "api.serving:create_served_app",
        app_dir=str(Path(__file__).resolve().parents[2]),
        host=host,
        port=options.port,
        workers=options.workers,
        **serving.UVICORN,
    )
    return DONE
