"""A studio taken out as CSV and JSON, brought into an empty one; everybody gets a new password, since none is in it."""

import io
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Table
from sqlmodel import col, select

from service.errors import Conflict
from service.records.db import Writing
from service.records.pack import Pack, opened
from service.records.photo_store import PhotoStore
from service.records.rows import Digest, Row, digest_of, every_table, write_every_table
from service.records.snapshot import newest_revision
from service.records.tables import Account
from service.studio.export import EXPORT, SECRET_TABLES, rows_of_csv
from service.studio.passwords import check_password
from service.studio.restoring import check_empty, fill, put_photos
from service.studio.sign_in import set_passwords


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What was brought in, and the password made up for everybody who is not an owner."""

    rows: int
    photos: int
    passwords: dict[str, str]


def bring_in(file: Path, url: str, store: PhotoStore, password: str) -> BroughtIn:
    """Bring a studio in; `password` is the owners' own from now on.

    Raises Conflict, before anything is touched, if the file is not whole, of another release, or the place not empty;
    Unreadable if the password is too short.
    """
    check_password(password)
    with opened(file) as pack:
        _check_kind(pack, file)
        check_empty(url)
        photos, made = put_photos(pack, store), dict[str, str]()
        written = fill(url, lambda there: _write(pack, there), lambda db: made.update(_passwords(db, password)))
        return BroughtIn(sum(table.rows for table in written.values()), photos, made)


def _check_kind(pack: Pack, file: Path) -> None:
    if pack.manifest["what"] != EXPORT:
        raise Conflict(f"{file} is {pack.manifest['what']}. Use restore for a backup.")
    if pack.manifest["revision"] != newest_revision():
        raise Conflict(f"{file} was taken out of another release. Bring it in there, and take a backup to this one.")


def _write(pack: Pack, there: Connection) -> dict[str, Digest]:
    write_every_table(there, {table.name: _rows(pack, table) for table in every_table()})
    listed = {name: Digest(about["rows"], about["sha256"]) for name, about in pack.manifest["tables"].items()}
    return {name: digest_of([]) for name in SECRET_TABLES} | listed


def _rows(pack: Pack, table: Table) -> Iterator[Row]:
    if table.name in SECRET_TABLES:
        return
    with pack.archive.open(f"csv/{table.name}.csv") as member:
        yield from rows_of_csv(table, io.TextIOWrapper(member, encoding="utf-8-sig", newline=""))


def _passwords(db: Writing, password: str) -> dict[str, str]:
    """Give the owners this password and everybody else one made up for each."""
    accounts = db.exec(select(Account).order_by(col(Account.id))).all()
    set_passwords(db, [account.email for account in accounts if account.role == "owner"], password)
    made = {account.email: secrets.token_urlsafe(9) for account in accounts if account.role != "owner"}
    for email, one in made.items():
        set_passwords(db, [email], one)
    return made
