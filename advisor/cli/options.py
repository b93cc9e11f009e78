"""The verbs and their options: what the shape of a request has room for, and nothing else."""

import argparse
import json
import sys
from functools import partial
from pathlib import Path
from typing import Any, NoReturn

from advisor.cli.backup import backup_options, restore_options
from advisor.cli.evidence import pool_options, share_options
from advisor.cli.flags import OPTIONS, in_grams
from advisor.cli.keys import keys_options
from advisor.cli.storing import FOLDER
from advisor.errors import InvalidRequest
from advisor.printing.forms import FORMS
from advisor.registry import TASKS, Task, task

PROGRAM = "dough-advisor"
FOLDS = {
    "why": "show the figures behind each reason",
    "checks": "show every check",
    "cautions": "show the standing cautions whole",
    "all": "show everything",
}
_SOURCE = "a recipe: a file (table or JSON), - for input, or the key or id of one that is kept"
_REQUEST = "a request as JSON, - for input; what has an option needs no file"
_RECIPE = """

A recipe is a table (csv, tsv, xlsx, ods) with names or keys of materials and percent or grams:
  material,percent
  isethionate-powder,60
  kaolin,10
  betaine-30,30"""
_RECIPES = {"recipe", "recipes", "batches"}
LOOPBACK = "127.0.0.1"
_EPILOG = """\
examples:
  dough-advisor correct my-bar.csv --feel too_wet --degree slight
  dough-advisor weigh my-bar.csv --batch 1000 --balance 0.1
  dough-advisor materials betaine
  dough-advisor serve

exit codes: 0 done, 2 bad input, 3 nothing fits, 4 failed"""


def parser(verb: str | None) -> tuple[argparse.ArgumentParser, tuple[str, ...]]:
    """Return the parser of one verb, or of all with their options where none is named; and every verb.

    Only what is asked for is made, and loaded, for the options of a task need its shape. For what is no verb
    all are made, without their options.
    """
    top = _Parser(
        prog=PROGRAM,
        description="Corrects the recipe of a hand-kneaded solid cleansing bar whose dough failed.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="store_true", help="print the version and the edition of the rules")
    verbs = top.add_subparsers(dest="verb", metavar="VERB", title="verbs")
    tasks = (
        (one.asked_as, one.summary, one.example, partial(_task, asked=one))
        for one in TASKS
        if one.name not in ("sweep", "window_of")
    )
    known: dict[str, tuple[str, str, str, Any]] = {one[0]: one for one in (*tasks, *_OTHERS)}
    for name, about, example, fill in known.values():
        if verb == name or verb not in known:
            made = verbs.add_parser(
                name,
                help=about,
                description=f"{about}.",
                epilog=f"example:\n  {PROGRAM} {example}",
                formatter_class=argparse.RawDescriptionHelpFormatter,
                allow_abbrev=False,
            )
            if verb in (None, name):
                fill(made)
    top.prog = verbs.choices[verb].prog if verb in verbs.choices else PROGRAM
    return top, tuple(known)


class _Parser(argparse.ArgumentParser):
    """Refuses as every verb does, and says where the options are told."""

    def error(self, message: str) -> NoReturn:
        """Refuse.

        Raises
        ------
        InvalidRequest
        """
        raise InvalidRequest(f"{message[:1].upper()}{message[1:]}. The options: {self.prog} --help")


class _Example(argparse.Action):
    """Prints the request that shows a task, and ends; of a sweep as the lines that its file holds."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        text = (Path(FOLDER) / "samples" / f"{self.const.sample}.json").read_text(encoding="utf-8")
        if self.const.name == "sweep":
            body = json.loads(text)
            shared = {name: body[name] for name in body if name not in ("task", "recipes")}
            text = "".join(f"{json.dumps({'recipe': one, **shared})}\n" for one in body["recipes"])
        sys.stdout.write(text)
        parser.exit()


def _example(made: argparse.ArgumentParser, asked: Task) -> None:
    made.add_argument(
        "--example", action=_Example, nargs=0, const=asked, help="print a request to begin from"
    )


def _task(made: argparse.ArgumentParser, asked: Task) -> None:
    made.set_defaults(asked=asked)
    recipe = asked.request.model_fields.get("recipe")
    if asked.name == "plan_day":
        made.add_argument("file", nargs="+", metavar="RECIPE=GRAMS", help=f"{_SOURCE}, with its batch")
        made.add_argument("--balance", type=in_grams, metavar="GRAMS", help="what the balance reads to")
    elif asked.name == "compare":
        made.add_argument("file", help=_SOURCE)
        made.add_argument("other", nargs="?", help="the recipe to hold beside it")
    else:
        needed = recipe is not None and recipe.is_required()
        made.add_argument(
            "file",
            nargs=None if needed else "?",
            help=_SOURCE if needed or asked.name == "trial" else _REQUEST,
        )
    _example(made, asked)
    shown = made.add_mutually_exclusive_group()
    shown.add_argument("--json", action="store_true", help="print the answer as JSON")
    if asked.form:
        shown.add_argument("--print", choices=tuple(FORMS), help="write the answer as a form to print")
        shown.add_argument("--short", action="store_true", help="only the head of the form")
    made.add_argument("--units", choices=("g", "oz"), default="g", help="units of the weights that are shown")
    for name in ("cautions", "all") if asked.form else FOLDS:
        made.add_argument(f"--{name}", action="append_const", dest="unfolded", const=name, help=FOLDS[name])
    if not asked.form:
        made.add_argument("--keys", action="store_true", help="call materials by their keys")
    if _RECIPES & asked.request.model_fields.keys():
        made.epilog = f"{made.epilog}{_RECIPE}"
    _fields(made, asked.request)
    _notebook(made)


def _fields(made: argparse.ArgumentParser, *shapes: Any) -> None:
    taken: set[str] = set()
    for option in OPTIONS:
        if option.flag not in taken and any(map(option.fits, shapes)):
            taken.add(option.flag)
            about = _worded(option.about)
            if option.const is not None:
                made.add_argument(option.flag, action="store_const", const=option.const, help=about)
            else:
                action = "append" if option.many else "store"
                made.add_argument(
                    option.flag, type=option.kind, help=about, metavar=option.metavar, action=action
                )
    if any(_RECIPES & shape.model_fields.keys() for shape in shapes):
        made.add_argument("--normalise", action="store_true", help="make the percents add up to 100")
    made.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="FIELD=VALUE",
        help="set a field of the request, as in wishes.active.min=45 (JSON value)",
    )


def _worded(about: str) -> str:
    """Return what an option is about, with the words the rules know."""
    if "{" not in about:
        return about
    from advisor.rulebook.load import load_rulebook

    return about.format(**{kind: ", ".join(known) for kind, known in load_rulebook().words.items()})


def _notebook(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "--notebook", metavar="FILE", help="the shop's notebook, or none (default: that of this user)"
    )


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: 1 to 65535")
    return int(text)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number from 1 to 1000")
    return int(text)


def _sweep(made: argparse.ArgumentParser) -> None:
    swept = {one.swept_as: one for one in TASKS if one.swept_as}
    made.add_argument(
        "file", help="recipes as a table (recipe,material,percent or grams), or bodies as NDJSON"
    )
    made.add_argument("--task", required=True, choices=sorted(swept), help="what is asked of each recipe")
    made.add_argument(
        "-o",
        "--output",
        required=True,
        type=Path,
        metavar="OUT.ndjson",
        help="where the answers go, one a line; OUT.summary.csv and OUT.recipes.csv are written beside it",
    )
    _example(made, task("sweep"))
    made.add_argument("--workers", type=_count, help="processes to share the work (default: one a core)")
    made.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask scheduler whose workers do the work")
    _fields(made, *(one.request for one in swept.values()))


def _serve(made: argparse.ArgumentParser) -> None:
    made.add_argument("--host", default=LOOPBACK, help="address to listen on (default: %(default)s)")
    made.add_argument("--port", type=_port, default=8000, help="port to listen on (default: %(default)s)")
    made.add_argument("--share", action="store_true", help="let other devices in: a key and one-time links")
    made.add_argument("--cert", metavar="FILE", help="serve HTTPS with this certificate (PEM)")
    made.add_argument("--key", metavar="FILE", help="the certificate's private key, if in a file of its own")
    made.add_argument("--workers", type=_count, default=1, help="worker processes (default: %(default)s)")
    _notebook(made)


def _materials(made: argparse.ArgumentParser) -> None:
    made.add_argument("words", nargs="*", help="parts of a name, in any order")
    _notebook(made)


def _json(made: argparse.ArgumentParser) -> None:
    made.add_argument("--json", action="store_true", help="print it as JSON")
    _notebook(made)


def _book(made: argparse.ArgumentParser) -> None:
    from advisor.schema.lot import Lot

    made.add_argument("material", help="its name or key: dough-advisor materials WORD")
    made.add_argument("lot", help="what the supplier's label calls the delivery")
    _fields(made, Lot)
    _json(made)


def _note(made: argparse.ArgumentParser) -> None:
    from advisor.schema.notebook import StoredDough

    made.add_argument(
        "file", help=f"for a new dough {_SOURCE}; for one that is noted its id, or last for the newest"
    )
    _fields(made, StoredDough)
    _json(made)


def _forget(made: argparse.ArgumentParser) -> None:
    made.add_argument("kind", choices=("dough", "lot", "recipe"), help="what is forgotten")
    made.add_argument("names", nargs="+", metavar="NAME", help="a dough's id, MATERIAL LOT, a recipe's key")
    made.add_argument("--yes", action="store_true", help="do not ask")
    _notebook(made)


def _recipes(made: argparse.ArgumentParser) -> None:
    made.add_argument("key", nargs="?", help="of one recipe, as the list shows it")
    made.add_argument("--version", type=_count, dest="number", help="one of its versions (default: all)")
    made.add_argument("--json", action="store_true", help="write the newest, or that version, as JSON")
    _notebook(made)


def _keep(made: argparse.ArgumentParser) -> None:
    made.add_argument("file", help=f"{_SOURCE}, or an answer as JSON")
    made.add_argument(
        "--as", dest="key", metavar="KEY", help="what it is kept under (default: from its name)"
    )
    made.add_argument("--note", metavar="TEXT", help="why it changed")
    _notebook(made)


def _explain(made: argparse.ArgumentParser) -> None:
    made.add_argument("id", help="of a finding, a caution, a pair or a limit, as answers carry them")


def _completion(made: argparse.ArgumentParser) -> None:
    made.add_argument("shell", choices=("bash", "zsh", "tcsh"), help="the shell to write it for")


_OTHERS = (
    ("sweep", "Ask one task of many recipes", "sweep bars.csv --task correction -o next.ndjson", _sweep),
    ("serve", "Start the page and the JSON API", "serve --port 8080", _serve),
    ("materials", "List materials by parts of their names", "materials coco betaine", _materials),
    (
        "book",
        "Book a lot in: what came, its price and dates",
        "book kaolin K-1 --stock 500 --price 3.2",
        _book,
    ),
    (
        "note",
        "Write down a dough, or what became of one",
        "note my-bar.csv --feel too_wet --batch 1000",
        _note,
    ),
    ("doughs", "List the doughs of the notebook", "doughs", _json),
    ("recipes", "List the recipes that are kept, or the versions of one", "recipes my-bar", _recipes),
    ("keep", "Keep a recipe as its next version, or a material", "keep my-bar.csv --note drier", _keep),
    ("stock", "List what each lot holds", "stock", _json),
    ("rack", "List the batches that dry, and what is to be done today", "rack", _json),
    ("forget", "Forget a dough, which gives its lots back, a lot or a recipe", "forget dough last", _forget),
    ("window", "Say what the shop's own doughs have taught", "window", _notebook),
    ("explain", "Print what the rules say behind an id, with basis and source", "explain dust", _explain),
    ("completion", "Write the completion for a shell", "completion bash", _completion),
    (
        "backup",
        "Write the whole notebook, of all shops and with their keys, into one new file, at any time",
        "backup mill-pond.backup",
        backup_options,
    ),
    (
        "restore",
        "Put a backup in the place of the notebook, while the server is off",
        "restore mill-pond.backup --dry-run",
        restore_options,
    ),
    (
        "keys",
        "List, make or revoke the keys of the notebook, on the server's own machine",
        "keys list",
        keys_options,
    ),
    (
        "share-evidence",
        "Write what the shop's doughs say of powders and methods, with no recipe, name or date",
        "share-evidence -o evidence.json",
        share_options,
    ),
    (
        "pool",
        "Pool such files of many shops into one, which DOUGH_POOLED puts beside the rules",
        "pool evidence-of-shops -o pooled.toml",
        pool_options,
    ),
)
