"""Where the pictures lie: a folder below the data folder, or an S3-compatible store. Names come from the content.

A picture is whole under its name or not there at all: the folder writes it aside, syncs it, renames it and syncs the
folder; a bucket does as much by itself.
"""

import contextlib
import errno
import os
import re
import secrets
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy.engine import make_url

from service.errors import Conflict, NoRoom, NotFound
from service.records.folder import sync_folder

FOLDER_NAME = "photos"
ASIDE = ".part"
GONE = "That picture is not in the store any more."
_NAME = re.compile(r"[0-9a-f]{64}-[a-z]{1,10}\.jpg")
_FULL = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT}


class PhotoStore(Protocol):
    """Keeps pictures under names; the same name always means the same picture."""

    def keep(self, name: str, content: bytes) -> None:
        """Keep a picture so that it outlives a power cut; one that is there already stays as it is."""

    def read(self, name: str) -> bytes:
        """A picture's content, or NotFound."""

    def remove(self, name: str) -> None:
        """Remove a picture; one that is not there is no fault."""

    def names(self) -> Iterator[tuple[str, datetime]]:
        """Every name there is, also of what was left half written, and since when."""


class FolderStore:
    """Pictures as files, in folders named by the first two letters of their digest."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, name: str, content: bytes) -> None:
        path = self._path(name)
        if path.exists():
            return
        aside = path.with_name(f"{name}.{secrets.token_hex(4)}{ASIDE}")
        try:
            self._make(path.parent)
            with aside.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            aside.replace(path)
            sync_folder(path.parent)
        except OSError as error:
            with contextlib.suppress(OSError):
                aside.unlink(missing_ok=True)
            raise _no_room(error) from error

    def read(self, name: str) -> bytes:
        try:
            return self._path(name).read_bytes()
        except FileNotFoundError:
            raise NotFound(GONE) from None

    def remove(self, name: str) -> None:
        (self.folder / name[:2] / name).unlink(missing_ok=True)

    def names(self) -> Iterator[tuple[str, datetime]]:
        for path in self.folder.glob("??/*"):
            with contextlib.suppress(FileNotFoundError):
                yield path.name, datetime.fromtimestamp(path.stat().st_mtime, UTC)

    def _path(self, name: str) -> Path:
        return self.folder / name[:2] / _checked(name)

    def _make(self, below: Path) -> None:
        if below.is_dir():
            return
        below.mkdir(parents=True, exist_ok=True)
        sync_folder(self.folder)
        sync_folder(self.folder.parent)


class BucketStore:
    """Pictures in an S3-compatible store; its address and keys come from the usual AWS_ settings."""

    def __init__(self, address: str) -> None:
        import s3fs
        from botocore.exceptions import BotoCoreError

        self.faults = (OSError, BotoCoreError)
        self.root = address.removeprefix("s3://").strip("/")
        # Nothing is remembered of what lies there: another process may have removed it.
        self.files: Any = s3fs.S3FileSystem(use_listings_cache=False, skip_instance_cache=True)

    def keep(self, name: str, content: bytes) -> None:
        path = self._path(name)
        try:
            if not self.files.exists(path):
                self.files.pipe_file(path, content)
        except self.faults as error:
            raise _no_room(error) from error

    def read(self, name: str) -> bytes:
        try:
            found: bytes = self.files.cat_file(self._path(name))
        except self.faults as error:
            gone = isinstance(error, FileNotFoundError)
            raise NotFound(GONE if gone else "That picture cannot be fetched from its store just now.") from error
        return found

    def remove(self, name: str) -> None:
        with contextlib.suppress(FileNotFoundError):
            self.files.rm_file(self._path(name))

    def names(self) -> Iterator[tuple[str, datetime]]:
        try:
            found = self.files.find(self.root, detail=True)
        except self.faults as error:
            raise Conflict(f"The store of photos at s3://{self.root} cannot be reached: {error}") from error
        for path, about in found.items():
            yield path.rpartition("/")[2], about["LastModified"]

    def _path(self, name: str) -> str:
        return f"{self.root}/{name[:2]}/{_checked(name)}"


def open_store(address: str, folder: Path) -> PhotoStore:
    """The store at this address (s3://bucket or s3://bucket/below), else the folder of photos in the data folder."""
    if not address:
        return FolderStore(folder / FOLDER_NAME)
    if not re.fullmatch(r"s3://[a-z0-9][a-z0-9.-]+(/[\w./-]*)?", address):
        raise Conflict(f"Photos cannot be kept at {address}: name a bucket, like s3://studio-photos.")
    return BucketStore(address)


def folder_beside(url: str, folder: Path = Path("data")) -> Path:
    """The data folder that a SQLite file lies in; of another database, the one in `folder`."""
    file = make_url(url)
    sqlite = file.get_backend_name() == "sqlite" and file.database
    return Path(file.database or "").parent if sqlite else folder


def store_beside(url: str, folder: Path = Path("data")) -> PhotoStore:
    """The folder of photos beside a SQLite file; beside another database, the one in `folder`."""
    return open_store("", folder_beside(url, folder))


def _checked(name: str) -> str:
    if not _NAME.fullmatch(name):
        raise ValueError(f"no name of a picture: {name!r}")
    return name


def _no_room(error: Exception) -> Exception:
    if isinstance(error, OSError) and error.errno in _FULL:
        return NoRoom("There is no room left for photos, so nothing was kept.")
    return NoRoom("Photos cannot be written where they are kept just now, so nothing was kept.")
