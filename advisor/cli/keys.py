"""The verbs on the keys of the notebook: list them, make one, revoke one; none of them needs a key."""

import argparse
import sys
import time
from datetime import UTC, datetime

from advisor.cli.storing import part, settings

_DAY = 24 * 3600


def keys_options(made: argparse.ArgumentParser) -> None:
    """Add ``keys list``, ``keys make NAME`` and ``keys revoke ID``."""
    below = made.add_subparsers(dest="what", required=True)
    below.add_parser("list", help="which keys there are; never the keys themselves").set_defaults(run=_list)
    make = below.add_parser("make", help="make a key; it is shown once")
    make.add_argument("name", metavar="NAME", help="whose it is, or what for")
    make.add_argument(
        "--role",
        choices=("owner", "bench", "read"),
        default="owner",
        help="read looks and calculates, bench writes doughs too, owner does all (default: %(default)s)",
    )
    make.add_argument("--days", type=int, metavar="N", help="how long it is valid (default: until revoked)")
    make.set_defaults(run=_make)
    revoke = below.add_parser("revoke", help="make a key worthless from the next request on")
    revoke.add_argument("id", metavar="ID", help="as list shows it")
    revoke.add_argument("--i-am-sure", action="store_true", help="even if it is the owner's last key")
    revoke.set_defaults(run=_revoke)


def _list(_: argparse.Namespace) -> int:
    rows = part("sharing").list_keys(settings())
    if not rows:
        sys.stdout.write("There are no keys: the notebook is open on this machine, and to nobody else.\n")
    for row in rows:
        told = [f"{row['id']}  {row['role']:5}  {row['label']}", f"made {_day(row['made_at'])}"]
        told += [f"last used {_day(row['used_at'])}" if row["used_at"] else "never used"]
        told += [f"ends {_day(row['ends_at'])}"] if row["ends_at"] else []
        told += [f"revoked {_day(row['revoked_at'])}"] if row["revoked_at"] else []
        sys.stdout.write(", ".join(told) + "\n")
    return 0


def _make(options: argparse.Namespace) -> int:
    ends = None if options.days is None else int(time.time()) + options.days * _DAY
    made = part("sharing").make_key(settings(), part("keys").Wanted(options.name, options.role, ends))
    sys.stdout.write(f"Key {made.id} ({made.role}) for {made.label}, shown once:\n{made.key}\n")
    return 0


def _revoke(options: argparse.Namespace) -> int:
    part("sharing").revoke_key(settings(), options.id, sure=options.i_am_sure)
    sys.stdout.write(
        f"Key {options.id} is worthless from the next request on. A new one: dough-advisor keys make NAME\n"
    )
    return 0


def _day(seconds: int) -> str:
    return datetime.fromtimestamp(seconds, UTC).date().isoformat()
