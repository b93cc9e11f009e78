"""The verbs and their options: what the shape of a request has room for, and nothing else."""

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple, get_args

from advisor.cli import backup, evidence, keys
from advisor.printing.forms import FORMS
from advisor.registry import TASKS, Task

PROGRAM = "dough-advisor"
FOLDS = {
    "why": "show the figures behind each reason",
    "checks": "show every check",
    "cautions": "show the standing cautions whole",
    "all": "show everything",
}
LOOPBACK = "127.0.0.1"
_EPILOG = """\
examples:
  dough-advisor correct my-bar.csv --feel too_wet --degree slight
  dough-advisor weigh my-bar.csv --batch 1000 --balance 0.1
  dough-advisor materials betaine
  dough-advisor serve

exit codes: 0 done, 2 bad input, 3 nothing fits, 4 failed"""


class Option(NamedTuple):
    """A flag, the place of the request it fills, and how it is read."""

    flag: str
    place: str
    about: str
    kind: type = str
    many: bool = False
    metavar: str = "WORD"


OPTIONS = (
    Option("--feel", "report.feel", "what happened to the dough, such as too_wet"),
    Option("--degree", "report.degree", "how badly: slight, clear or severe"),
    Option("--kneaded-minutes", "report.kneaded_minutes", "how long kneaded", float, metavar="MINUTES"),
    Option("--rested-minutes", "report.rested_minutes", "how long rested", float, metavar="MINUTES"),
    Option("--dough-c", "report.dough_c", "how warm the dough is", float, metavar="DEGREES"),
    Option("--room-c", "report.room_c", "how warm the room is", float, metavar="DEGREES"),
    Option("--room-rh", "report.room_rh", "humidity of the room in percent", float, metavar="PERCENT"),
    Option("--minutes-since-melt", "report.minutes_since_melt", "since the melt", float, metavar="MINUTES"),
    Option("--dried-days", "report.dried_days", "for how many days it dried", float, metavar="DAYS"),
    Option("--sign", "report.signs", "a sign seen, such as dusty; may be repeated", many=True),
    Option("--method", "report.method", "worked by hand, mixer or press"),
    Option("--market", "wishes.market", "where the bar is sold: eu, uk, us, ca, jp or none"),
    Option("--market", "market", "where the bar is sold: eu, uk, us, ca, jp or none"),
    Option("--aim", "wishes.aim", "closest or lowest_cost"),
    Option("--used-on", "wishes.used_on", "hand_and_body, face or hair"),
    Option("--claim", "wishes.claims", "what the bar is to be, such as vegan; may be repeated", many=True),
    Option("--shelf", "shelf", "other materials at hand, separated by commas", metavar="NAMES"),
    Option("--missing", "missing", "the material that cannot be had", metavar="NAME"),
    Option("--left", "left_grams", "what is left of it", float, metavar="GRAMS"),
    Option("--batch", "batch_grams", "how much is made", float, metavar="GRAMS"),
    Option("--balance", "balance_step", "what the balance reads to", float, metavar="GRAMS"),
    Option("--fine-balance", "fine_balance_step", "what a finer balance reads to", float, metavar="GRAMS"),
    Option("--bar", "dried_bar_grams", "what a dried bar is to weigh", float, metavar="GRAMS"),
    Option("--lost", "lost_grams", "what was lost on gloves and bowl", float, metavar="GRAMS"),
    Option("--ph", "ph", "the pH that was read", float, metavar="PH"),
    Option("--target-ph", "target_ph", "the pH that is wanted", float, metavar="PH"),
    Option("--humidity", "room_rh", "humidity of the room in percent", float, metavar="PERCENT"),
)


def parser(verb: str | None) -> tuple[argparse.ArgumentParser, tuple[str, ...]]:
    """Return the parser with the options of one verb, or of all where none is named; and every verb.

    The options of a task need its shape, and only what is asked for is loaded.
    """
    top = argparse.ArgumentParser(
        prog=PROGRAM,
        description="Corrects the recipe of a hand-kneaded solid cleansing bar whose dough failed.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="store_true", help="print the version and the edition of the rules")
    verbs = top.add_subparsers(dest="verb", metavar="VERB", title="verbs")
    for one in TASKS:
        if one.name not in ("sweep", "window_of"):
            made = _verb(verbs, one.asked_as, one.summary, f"{one.asked_as} {_sample(one)}")
            made.set_defaults(asked=one)
            if verb in (None, one.asked_as):
                _task(made, one)
    for name, about, example, fill in _OTHERS:
        made = _verb(verbs, name, about, example)
        if verb in (None, name):
            fill(made)
    backup.add_verbs(verbs)
    keys.add_verbs(verbs)
    evidence.add_verbs(verbs)
    return top, tuple(verbs.choices)


def _sample(asked: Task) -> str:
    return f"samples/{asked.sample}.json" if asked.sample else "FILE"


def _verb(among: Any, name: str, about: str, example: str) -> argparse.ArgumentParser:
    made: argparse.ArgumentParser = among.add_parser(
        name,
        help=about,
        description=f"{about}.",
        epilog=f"example:\n  {PROGRAM} {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    return made


def _task(made: argparse.ArgumentParser, asked: Task) -> None:
    made.add_argument(
        "file", help="a request as JSON, or a recipe as a table (csv, tsv, xlsx, ods); - is input"
    )
    if asked.name == "compare":
        made.add_argument("other", nargs="?", help="the recipe to hold beside it")
    shown = made.add_mutually_exclusive_group()
    shown.add_argument("--json", action="store_true", help="print the answer as JSON")
    if asked.form:
        shown.add_argument("--print", choices=tuple(FORMS), help="write the answer as a form to print")
        shown.add_argument("--short", action="store_true", help="only the head of the form")
    if asked.name == "weigh":
        made.add_argument("--units", choices=("g", "oz"), default="g", help="units of the weigh sheet")
    for name in ("cautions", "all") if asked.form else FOLDS:
        made.add_argument(f"--{name}", action="append_const", dest="unfolded", const=name, help=FOLDS[name])
    if not asked.form:
        made.add_argument("--keys", action="store_true", help="call materials by their keys")
    _fields(made, asked)
    _notebook(made)


def _fields(made: argparse.ArgumentParser, *asked: Task) -> None:
    taken: set[str] = set()
    for option in OPTIONS:
        if option.flag not in taken and any(_has(one.request, option.place.split(".")) for one in asked):
            taken.add(option.flag)
            action = "append" if option.many else "store"
            made.add_argument(
                option.flag, type=option.kind, help=option.about, metavar=option.metavar, action=action
            )
    made.add_argument("--normalise", action="store_true", help="make the percents add up to 100")
    made.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="FIELD=VALUE",
        help="set a field of the request, as in wishes.active.min=45 (JSON value)",
    )


def _has(shape: Any, path: Sequence[str]) -> bool:
    """Say whether a shape has room for a place of a request."""
    fields = getattr(shape, "model_fields", {})
    if path[0] not in fields:
        return False
    inner = fields[path[0]].annotation
    return len(path) == 1 or any(_has(one, path[1:]) for one in (inner, *get_args(inner)))


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
    made.add_argument("--workers", type=_count, help="processes to share the work (default: one a core)")
    made.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask scheduler whose workers do the work")
    _fields(made, *swept.values())


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


def _recipes(made: argparse.ArgumentParser) -> None:
    made.add_argument("key", nargs="?", help="of one recipe, as the list shows it")
    made.add_argument("--version", type=_count, dest="number", help="one of its versions (default: all)")
    made.add_argument("--json", action="store_true", help="write the newest, or that version, as JSON")
    _notebook(made)


def _keep(made: argparse.ArgumentParser) -> None:
    made.add_argument("file", help="a recipe as a table, or as JSON such as an answer holds; - is input")
    made.add_argument("--as", dest="key", required=True, metavar="KEY", help="what it is kept under")
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
    ("doughs", "List the doughs of the notebook", "doughs", _notebook),
    ("recipes", "List the recipes that are kept, or the versions of one", "recipes my-bar", _recipes),
    ("keep", "Keep a recipe as its next version", "keep my-bar.csv --as my-bar --note drier", _keep),
    ("stock", "List what each lot holds", "stock", _notebook),
    ("rack", "List the batches that dry, and what is to be done today", "rack", _notebook),
    ("window", "Say what the shop's own doughs have taught", "window", _notebook),
    ("explain", "Print what the rules say behind an id, with basis and source", "explain dust", _explain),
    ("completion", "Write the completion for a shell", "completion bash", _completion),
)
