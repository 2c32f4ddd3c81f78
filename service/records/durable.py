"""Whether a commit is on the disk before it is answered: how the database is set."""

from sqlalchemy import text

from service.records.db import Database

ON_POSTGRESQL = ("synchronous_commit", "fsync", "full_page_writes")
SQLITE_FULL = "2"


def forgetful(database: Database) -> tuple[str, ...]:
    """The settings by which a power cut could take back what was answered; none is as it should be."""
    with database.writer.connect() as connection:
        if database.is_sqlite:
            level = str(connection.execute(text("PRAGMA synchronous")).scalar_one())
            return () if level == SQLITE_FULL else (f"synchronous = {level}",)
        shown = {name: str(connection.execute(text(f"SHOW {name}")).scalar_one()) for name in ON_POSTGRESQL}
    return tuple(f"{name} = off" for name, value in shown.items() if value == "off")


def told(setting: str) -> str:
    """What a setting means, in a sentence.

    >>> told("fsync = off")
    'The database is set to forget what it has answered when the power goes (fsync = off). Set it on.'
    """
    return f"The database is set to forget what it has answered when the power goes ({setting}). Set it on."
