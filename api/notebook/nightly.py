"""Keeps a copy of the notebook for every day, if that is asked for, and the newest few of them."""

import asyncio
import datetime
import logging
from pathlib import Path
from typing import TYPE_CHECKING

from anyio import to_thread

from advisor.errors import NotInstalled
from api.http.errors import Busy
from api.http.guards.log import write
from api.notebook.access import ShopAccess
from api.notebook.errors import Storage, cause_of

if TYPE_CHECKING:
    from api.notebook.store import Store

_LOOK_SECONDS = 3600


async def keep_copies(access: ShopAccess, folder: str | None, most: int) -> None:
    """Look every hour whether the day has its copy, for as long as the server runs.

    Parameters
    ----------
    access : ShopAccess
    folder : str, optional
        Where the copies are kept; else in ``backups`` beside the notebook's file, or where the server runs.
    most : int
        How many are kept.
    """
    while True:
        try:
            store, _ = access.open()
            beside = store.file.path.parent if store.file else Path()
            place = Path(folder) if folder else beside / "backups"
            made = await to_thread.run_sync(keep_copy, store, place, most, access.today)
            if made is not None:
                write(logging.INFO, "nightly copy", "", file=str(made))
        except NotInstalled:
            return
        except (Storage, Busy, OSError) as error:
            write(logging.ERROR, "no nightly copy", "", cause=cause_of(error))
        await asyncio.sleep(_LOOK_SECONDS)


def keep_copy(store: "Store", folder: Path, most: int, today: datetime.date) -> Path | None:
    """Copy the notebook unless the day has its copy, and forget all copies but the newest.

    Parameters
    ----------
    store : Store
    folder : Path
        Made if need be.
    most : int
        How many copies are kept.
    today : date

    Returns
    -------
    Path or None
        The new copy; None where there is one of this day, or nothing was ever stored.

    Raises
    ------
    Storage, Busy
    """
    name = Path(store.place).stem
    target = folder / f"{name}-{today.isoformat()}.sqlite3"
    if target.exists() or not store.exists:
        return None
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    store.copy_to(target)
    for old in sorted(folder.glob(f"{name}-[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9].sqlite3"))[:-most]:
        old.unlink(missing_ok=True)
    return target
