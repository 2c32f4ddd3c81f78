"""A studio moved from one kind of database to the other, equal row by row, with its photos."""

from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import make_url

from service.errors import Conflict
from service.records.db import open_database
from service.records.folder import owned
from service.records.photo_store import ASIDE, PhotoStore
from service.records.snapshot import check_newest
from service.studio.restoring import pour


@dataclass(frozen=True, slots=True)
class Copied:
    """What was copied."""

    rows: int
    photos: int


def copy(source: str, target: str, photos_from: PhotoStore, photos_to: PhotoStore) -> Copied:
    """Copy the studio at one address into the empty database at another; neither may be in use.

    Raises Conflict if the first holds no studio, the second is not empty, or a service runs on either folder.
    """
    if make_url(source) == make_url(target):
        raise Conflict("Both addresses are the same. Name where to copy from, then where to.")
    with ExitStack() as held:
        for url in (source, target):
            if folder := folder_of(url):
                held.enter_context(owned(folder))
        _check_source(source)
        names = [name for name, _ in photos_from.names() if not name.endswith(ASIDE)]
        for name in names:
            photos_to.keep(name, photos_from.read(name))
        written = pour(source, target)
    return Copied(sum(table.rows for table in written.values()), len(names))


def folder_of(url: str) -> Path | None:
    """The data folder of a studio in SQLite; nothing for PostgreSQL."""
    address = make_url(url)
    if address.get_backend_name() != "sqlite":
        return None
    return Path(address.database or "").parent


def _check_source(url: str) -> None:
    address = make_url(url)
    if address.get_backend_name() == "sqlite" and not Path(address.database or "").is_file():
        raise Conflict(f"There is no studio at {address.database}.")
    database = open_database(url)
    try:
        check_newest(database)
    finally:
        database.close()
