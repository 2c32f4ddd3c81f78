"""A backup of the demo studio, put back on an empty machine and compared, and fifty spoilt ones refused.

    python -m tests.faults.backups

The time is that of putting back alone, with all proofs; a spoilt one has one bit changed, or its end cut off.
"""

import random
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from service.errors import Conflict
from service.records.db import migrate, open_database, sqlite_url
from service.records.photo_store import open_store
from service.records.rows import Digest, digests
from service.studio.backup import back_up
from service.studio.demo import fill_or_refresh
from service.studio.restoring import restore
from tests.serving import PASSWORD

SPOILT = 50
MOST_S = 300


@dataclass(frozen=True)
class Figures:
    """What a run came to."""

    tables: int
    photos: int
    differing: tuple[str, ...]
    took_s: float
    spoilt: int
    refused: int
    touched: bool

    @property
    def is_whole(self) -> bool:
        """Whether what was put back is what was backed up, in time."""
        return not self.differing and self.tables > 0 and self.photos > 0 and self.took_s <= MOST_S

    @property
    def refuses(self) -> bool:
        """Whether every spoilt one was refused before anything was touched."""
        return self.refused == self.spoilt and not self.touched

    def lines(self) -> tuple[str, str]:
        """The figures in two lines."""
        differing = f"{len(self.differing)} differ (0), {self.took_s:.1f} s ({MOST_S})"
        return (
            f"backup put back: {self.tables} tables and {self.photos} picture files, {differing}: {word(self.is_whole)}",
            f"spoilt backups: {self.refused} of {self.spoilt} refused, touched: {self.touched}: {word(self.refuses)}",
        )


def word(passed: object) -> str:
    """How a figure is told."""
    return "pass" if passed else "MISS"


def run(place: Path, chance: random.Random) -> Figures:
    """Back the demo studio up, put it back elsewhere, then spoil the backup again and again."""
    old, new, never = (place / name for name in ("old", "new", "never"))
    old.mkdir()
    migrate(sqlite_url(old))
    database = open_database(sqlite_url(old))
    at = datetime.now(UTC)
    fill_or_refresh(database, PASSWORD, 0, at, open_store("", old))
    backup = back_up(database, open_store("", old), place / "studio.zip", at).path
    database.close()
    began = time.monotonic()
    restore(backup, sqlite_url(new), new, open_store("", new))
    took = time.monotonic() - began
    tables, pictures = _tables(old), _pictures(old)
    there = {**_tables(new), **_pictures(new)}
    here = {**tables, **pictures}
    differing = tuple(name for name in here.keys() | there.keys() if here.get(name) != there.get(name))
    refused = _refused(backup, never, chance)
    return Figures(len(tables), len(pictures), differing, took, SPOILT + 1, refused, never.exists())


def _tables(folder: Path) -> dict[str, Digest | bytes]:
    database = open_database(sqlite_url(folder))
    with database.reading() as db:
        found: dict[str, Digest | bytes] = {**digests(db.connection())}
    database.close()
    return found


def _pictures(folder: Path) -> dict[str, Digest | bytes]:
    store = open_store("", folder)
    return {name: store.read(name) for name, _ in store.names()}


def _refused(backup: Path, never: Path, chance: random.Random) -> int:
    whole, spoilt, refused = backup.read_bytes(), backup.with_name("spoilt.zip"), 0
    changed = [chance.randrange(len(whole)) for _ in range(SPOILT)]
    kinds = [whole[:at] + bytes([whole[at] ^ (1 << chance.randrange(8))]) + whole[at + 1 :] for at in changed]
    for content in (*kinds, whole[: len(whole) // 2]):
        spoilt.write_bytes(content)
        try:
            restore(spoilt, sqlite_url(never), never, open_store("", never))
        except Conflict:
            refused += 1
    return refused


def main() -> int:
    """Do it once and print both lines."""
    with tempfile.TemporaryDirectory() as folder:
        figures = run(Path(folder), random.Random())
    print("\n".join(figures.lines()))
    return 0 if figures.is_whole and figures.refuses else 1


if __name__ == "__main__":
    sys.exit(main())
