"""The verbs that write the whole notebook into one file and put such a file back."""

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.cli.storing import agree, part, settings
from advisor.writing import counted


def backup_options(made: argparse.ArgumentParser) -> None:
    """Add what ``backup`` is told."""
    made.add_argument("file", metavar="FILE", help="a name that is free")
    made.set_defaults(run=_back_up)


def restore_options(made: argparse.ArgumentParser) -> None:
    """Add what ``restore`` is told."""
    made.add_argument("file", metavar="FILE", help="what the verb backup wrote")
    made.add_argument("--yes", action="store_true", help="do not ask")
    made.add_argument("--dry-run", action="store_true", help="say what would be done, and do nothing")
    made.set_defaults(run=_restore)


def _back_up(options: argparse.Namespace) -> int:
    made = part("backup").back_up(settings(), Path(options.file))
    sys.stdout.write(f"Wrote {options.file}: {_counted(made)}. It is whole and on the disk.\n")
    return 0


def _restore(options: argparse.Namespace) -> int:
    backup, source, chosen = part("backup"), Path(options.file), settings()
    found = backup.restore(chosen, source, dry_run=True)
    sys.stdout.write(f"{source} holds {_counted(found.backup)}. It would go to {found.place}.\n")
    for kept in found.kept:
        sys.stdout.write(f"What is there now would be kept as {kept}.\n")
    if options.dry_run:
        sys.stdout.write("Nothing was changed.\n")
        return 0
    agree(options, "Restore it?", "Nothing was restored")
    sys.stdout.write(f"Restored {backup.restore(chosen, source).place}. Start the server again.\n")
    return 0


def _counted(made: Any) -> str:
    rows: Mapping[str, int] = made.rows
    counts = ", ".join(counted(rows.get(f"{name}s", 0), name.replace("_", " ")) for name in _TABLES)
    return f"{counts}; {counted(made.size, 'byte')}"


_TABLES = ("material", "lot", "uptake_test", "dough", "recipe", "key")
