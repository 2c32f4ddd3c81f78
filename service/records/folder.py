"""The data folder: one process owns it at a time, held by a lock on a file inside."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from service.errors import Conflict

LOCK_NAME = "in-use.lock"
DATABASE_NAME = "studio.sqlite"


@contextmanager
def owned(folder: Path) -> Iterator[None]:
    """Own the data folder while the block runs, or refuse in one sentence."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        lock = (folder / LOCK_NAME).open("a+")
    except OSError as error:
        raise Conflict(f"The data folder {folder} cannot be written: {error.strerror}.") from None
    with lock:
        if not _taken(lock):
            raise Conflict(
                f"The data folder {folder} is in use by another running service. Stop that one first, "
                "or name another folder with --data."
            )
        yield


def is_owned(folder: Path) -> bool:
    """Whether a running service owns the folder just now."""
    if not (folder / LOCK_NAME).exists():
        return False
    with (folder / LOCK_NAME).open("a+") as lock:
        return not _taken(lock)


if sys.platform == "win32":
    import msvcrt

    def _taken(lock: IO[str]) -> bool:
        try:
            lock.seek(0)
            msvcrt.locking(lock.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _taken(lock: IO[str]) -> bool:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True


def keep_private() -> None:
    """Files made from here on are readable by this user alone."""
    if os.name == "posix":
        os.umask(0o077)


def sync_folder(folder: Path) -> None:
    """Have a folder's own list of names on the disk, where the system lets a folder be opened for that."""
    if os.name != "posix":
        return
    held = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(held)
    finally:
        os.close(held)
