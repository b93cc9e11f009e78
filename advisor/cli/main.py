"""The command line: one verb asked, answered on the terminal, and its exit code."""

import argparse
import atexit
import difflib
import gc
import json
import os
import shlex
import shutil
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from advisor.cli import options as offered
from advisor.errors import AdvisorError, InvalidRequest, NoRecipeFits, RulesError
from advisor.frozen import replace
from advisor.registry import task
from advisor.threads import use_one_thread

_SHOWING = {f"--{name}" for name in (*offered.FOLDS, "keys")}
_LOOKED_AT_EVERY = 50_000
DONE, BAD_INPUT, NOTHING_FITS, FAILED = 0, 2, 3, 4


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb and return the exit code: 0 done, 2 bad input, 3 nothing fits, 4 failed.

    Whatever happens, a person is told in words and nobody by a traceback; a pipe that is closed is silence.
    """
    asked = list(sys.argv[1:] if arguments is None else arguments)
    as_json = "--json" in asked
    use_one_thread()
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    gc.set_threshold(_LOOKED_AT_EVERY)
    atexit.register(gc.freeze)
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        code = _ran(asked)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        _silence()
        return DONE
    except KeyboardInterrupt:
        sys.stderr.write("Interrupted.\n")
        return FAILED
    except NoRecipeFits as error:
        return _complain(error, NOTHING_FITS, as_json)
    except RulesError as error:
        return _complain(error, FAILED, as_json=False)
    except AdvisorError as error:
        return _complain(error, BAD_INPUT if error.status < 500 else FAILED, as_json)
    except Exception as fault:
        place = fault.__traceback__
        while place is not None and place.tb_next is not None:
            place = place.tb_next
        where = "" if place is None else f" in {place.tb_frame.f_code.co_name}, line {place.tb_lineno}"
        fault_told = AdvisorError(f"A fault of the advisor: {type(fault).__name__}{where}.")
        return _complain(fault_told, FAILED, as_json)


def _silence() -> None:
    """Let nothing more be written to a pipe that nobody reads."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _ran(asked: list[str]) -> int:
    for word in asked:
        if word.startswith("--") and word.endswith("=--"):
            raise InvalidRequest(f"{word.removesuffix('=--')} needs a value, and -- is none.")
    written = next((word for word in asked if not word.startswith("-")), None)
    verb = written and written.replace("_", "-")
    asked = [verb if verb and word is written else word for word in asked]
    parser, verbs = offered.parser(verb if verb in asked[:1] else "")
    if verb is not None and verb not in verbs:
        near = difflib.get_close_matches(verb, verbs, n=3, cutoff=0.5)
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        raise InvalidRequest(f"There is no verb {verb!r}.{meant} The verbs: dough-advisor --help")
    options = parser.parse_args(asked)
    options.typed = asked
    if options.version:
        sys.stdout.write(f"{_version()}\n")
    elif options.verb is None:
        parser.print_help()
    else:
        return int((getattr(options, "run", None) or _OTHERS.get(options.verb, _task))(options))
    return DONE


def _version() -> str:
    import advisor
    from advisor.rulebook.load import load_rulebook

    return f"dough-advisor {advisor.__version__}, rules {load_rulebook().edition}"


def _task(options: argparse.Namespace) -> int:
    from advisor.cli.shop import body_of, notebook_of

    asked = options.asked
    notebook = notebook_of(options) if asked.knows_shop else None
    body = body_of(options, asked, notebook)
    answer = asked.function(body, notebook=notebook) if asked.knows_shop else asked.function(body)
    if options.json or not asked.document:
        sys.stdout.write(answer.model_dump_json(indent=2) + "\n")
    elif asked.form:
        _print_form(options, answer)
    else:
        from advisor.printing.told import Told

        typed = () if options.file == "-" else tuple(word for word in options.typed if word not in _SHOWING)
        told = Told(body, notebook=notebook, typed=typed, keys=options.keys)
        _show(asked.lay_out(answer, told), options.unfolded or (), options.units)
    return DONE


def _print_form(options: argparse.Namespace, answer: Any) -> None:
    from advisor.printing.forms import FORMS, printed

    weighed = options.asked.name == "weigh"
    form = options.asked.lay_out(answer, **({"units": options.units} if weighed else {}))
    if options.short:
        form = replace(form, blocks=form.blocks[:2])
    units = "g" if weighed else options.units
    if options.print:
        shown = form if options.print == "csv" else _written(form, units)
        sys.stdout.write(printed(shown, FORMS[options.print]) + "\n")
    else:
        named = () if options.file == "-" else (*options.typed, "--print", "html")
        hint = f"{shlex.join((offered.PROGRAM, *named))} > {options.asked.name}.html" if named else ""
        _show(replace(form, hint=hint), options.unfolded or (), units)


def _written(document: Any, units: str) -> Any:
    """Return a document as the settings say that figures and days are written.

    Raises
    ------
    InvalidRequest
    """
    from advisor.printing.local import written
    from advisor.writing import Writing

    try:
        return written(document, Writing.of(os.environ), units)
    except ValueError as error:
        raise InvalidRequest(f"{error}.") from None


def _show(document: Any, unfolded: Sequence[str] = (), units: str = "g") -> None:
    from advisor.printing.plain import on_screen

    document = _written(document, units)
    width = max(40, min(100, shutil.get_terminal_size((80, 24)).columns))
    sys.stdout.write(on_screen(document, width, frozenset(unfolded)))


def _sweep(options: argparse.Namespace) -> int:
    from advisor.cli.reading import put_in
    from advisor.sweeps.chunk import SWEPT
    from advisor.sweeps.file import Order, run

    order = Order(Path(options.file), options.task, options.output, options.workers, options.scheduler)
    answered = run(order, lambda body: put_in(body, options, SWEPT[options.task].request))
    return DONE if answered else NOTHING_FITS


def _serve(options: argparse.Namespace) -> int:
    from advisor.cli.serving import serve

    serve(options)
    return DONE


def _window(options: argparse.Namespace) -> int:
    from advisor.cli.shop import notebook_of
    from advisor.printing.told import Told

    notebook, asked = notebook_of(options), task("window_of")
    _show(asked.lay_out(asked.function(notebook=notebook), Told({}, notebook=notebook)))
    return DONE


def _listed(options: argparse.Namespace) -> int:
    from advisor.cli import explaining, lists, shop

    if options.verb == "explain":
        _show(explaining.explain(options.id))
    else:
        _show(lists.materials(options.words, shop.notebook_of(options)))
    return DONE


def _kept(options: argparse.Namespace) -> int:
    from advisor.cli import noting, past

    document = getattr(noting if hasattr(noting, options.verb) else past, options.verb)(options)
    if document is not None:
        _show(document)
    return DONE


def _completion(options: argparse.Namespace) -> int:
    import shtab

    sys.stdout.write(shtab.complete(offered.parser(None)[0], options.shell) + "\n")
    return DONE


_OTHERS = {
    "sweep": _sweep,
    "serve": _serve,
    "materials": _listed,
    "book": _kept,
    "note": _kept,
    "forget": _kept,
    "doughs": _kept,
    "recipes": _kept,
    "keep": _kept,
    "stock": _kept,
    "rack": _kept,
    "window": _window,
    "explain": _listed,
    "completion": _completion,
}


def _complain(error: AdvisorError, code: int, as_json: bool) -> int:
    from advisor.cli.reading import lines_of

    told = json.dumps(error.problem(), indent=2) if as_json else "\n".join(lines_of(error))
    with suppress(BrokenPipeError):
        sys.stderr.write(f"{told}\n")
    return code
