"""The sign-in page as it was last made, kept in the data folder so that a start answers before all is loaded.

It is kept under a mark of all that it rests on: the files of this release, and what the records say of the studio.
Under any other mark it is as good as not there, and is made again once all is loaded.
"""

import contextlib
import hashlib
import json
import os
import secrets
import sqlite3
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from service.records.folder import DATABASE_NAME

NAME = "sign-in-page.json"
TOP = Path(__file__).resolve().parent.parent
OF_THE_RELEASE = ("service", "templates", "migrations")
OF_THE_STUDIO = ("select version_num from alembic_version", "select * from studio")


@dataclass(frozen=True, slots=True)
class FirstPage:
    """What the sign-in page is answered with to somebody who sent nothing with the question."""

    mark: str
    headers: tuple[tuple[str, str], ...]
    body: str


def mark_of(folder: Path) -> str:
    """The mark under which the page may be kept; empty where there is no studio."""
    file = folder / DATABASE_NAME
    if not file.exists():
        return ""
    try:
        with contextlib.closing(sqlite3.connect(file)) as records:
            studio = [records.execute(question).fetchall() for question in OF_THE_STUDIO]
    except sqlite3.Error:  # no tables yet, or of another release
        return ""
    if not studio[1]:
        return ""
    release = [line for area in OF_THE_RELEASE for line in sorted(_files(str(TOP / area)))]
    return hashlib.sha256(repr((sys.version, release, studio)).encode()).hexdigest()


def _files(folder: str) -> Iterator[tuple[str, int, int]]:
    """Every file below, by its name, size and the time it was written."""
    with os.scandir(folder) as found:
        for each in found:
            if each.is_dir():
                if each.name != "__pycache__":
                    yield from _files(each.path)
            else:
                about = each.stat()
                yield each.path, about.st_size, about.st_mtime_ns


def kept_page(folder: Path) -> FirstPage | None:
    """The page as it was kept, if nothing that it rests on is another now."""
    try:
        kept = json.loads((folder / NAME).read_text(encoding="utf-8"))
        page = FirstPage(kept["mark"], tuple((name, value) for name, value in kept["headers"]), kept["body"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return page if page.mark and page.mark == mark_of(folder) else None


def keep_page(folder: Path, page: FirstPage) -> None:
    """Keep the page, whole or not at all; without room for it the next start is only slower."""
    aside = folder / f"{NAME}.{secrets.token_hex(4)}.part"
    try:
        aside.write_text(json.dumps(asdict(page)), encoding="utf-8")
        aside.replace(folder / NAME)
    except OSError:
        with contextlib.suppress(OSError):
            aside.unlink()
