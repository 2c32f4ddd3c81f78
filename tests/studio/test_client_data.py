"""One client's data: exported whole, erased everywhere, kept long enough, and erased again after an older backup."""

import json
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from sqlalchemy import String, Text, text
from sqlmodel import SQLModel, select
from sqlmodel.sql.sqltypes import AutoString

from service.cli import main
from service.errors import Conflict, Unreadable
from service.records.db import Database, Writing, open_database, sqlite_url
from service.records.photo_store import FolderStore
from service.records.tables import (
    ChildMeasure,
    Client,
    Commission,
    Erasure,
    Event,
    Garment,
    KeptResult,
    Payment,
    Photo,
    Tally,
)
from service.studio import client_data
from service.studio.backup import back_up
from service.studio.personal import STAYS, WIPES
from service.studio.pictures import name_of
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import count, number, person, step
from tests.serving import OWNER, START

SECRETS = ("Hester", "Clemence", "hester@example.org", "01 234", "shy of the camera", "2026-11-01", "allergic to wool")


def test_every_column_of_text_is_either_erased_or_known_to_name_nobody() -> None:
    erased = {(wipe.table, column) for wipe in WIPES for column in (*wipe.becomes, *wipe.said)}
    gone = {wipe.table for wipe in WIPES if wipe.goes}
    kept = {(table, column) for table, columns in STAYS.items() for column in columns}
    found = {
        (table.name, column.name)
        for table in SQLModel.metadata.sorted_tables
        for column in table.columns
        if isinstance(column.type, String | Text | AutoString) and table.name not in gone
    }
    assert found - erased - kept == set(), "say in studio/personal.py whether these are erased with a client"
    assert kept - found == set()


def _a_client_with_everything(db: Writing, store: FolderStore) -> int:
    garment_id = number(a_garment(db, "bib"))
    garment = db.get_one(Garment, garment_id)
    commission = db.get_one(Commission, garment.commission_id)
    garment.name, commission.state, commission.notes = "Clemence's bib", "closed", "allergic to wool"
    commission.child_born = date(2026, 11, 1)
    owner = person(db, OWNER)
    count(db, owner, step(db, garment_id, "cut_block"), 1, minutes=Decimal(7))
    db.add_all([garment, commission])
    db.add(ChildMeasure(commission_id=number(commission), what="length", value_um=560_000, on=date(2026, 11, 2)))
    db.add(KeptResult(garment_id=garment_id, route="fit", asked='{"born": "2026-11-01"}', answer="{}", at=START))
    db.add(
        Payment(
            commission_id=number(commission),
            on=date(2026, 9, 2),
            amount_minor=12_000,
            currency="GBP",
            how="by cheque",
            note="from Hester's mother",
            recorded_at=START,
        )
    )
    digest = "ab" * 32
    for size in ("small", "middle", "large"):
        store.keep(name_of(digest, size), b"picture")
    db.add(
        Photo(
            garment_id=garment_id,
            sha256=digest,
            size_bytes=7,
            width=1,
            height=1,
            caption="Clemence, shy of the camera",
            account_id=owner.id,
            at=START,
        )
    )
    event = Event(at=START, action="called off", object_kind="commission", object_id=number(commission))
    event.reason = "Hester changed her mind"
    db.add(event)
    db.flush()
    return commission.client_id


def _owner(database: Database) -> int:
    with database.reading() as db:
        return person(db, OWNER).id


def _all_text(db: Any) -> str:
    rows = [db.execute(text(f'select * from "{name}"')).all() for name in SQLModel.metadata.tables]
    return repr(rows)


def test_erasing_leaves_hours_and_sums_and_nobody_s_name(database: Database, tmp_path: Path) -> None:
    store = FolderStore(tmp_path / "photos")
    with database.writing() as db:
        client_id = _a_client_with_everything(db, store)
        before = db.exec(select(Tally.counted_tenths, Tally.seconds)).all()
        assert all(word in _all_text(db) for word in SECRETS if word != "2026-11-01")
    client_data.erase_for_good(database, store, client_id, _owner(database), START)
    with database.reading() as db:
        left = _all_text(db)
        assert [word for word in SECRETS if word in left] == []
        assert db.exec(select(Tally.counted_tenths, Tally.seconds)).all() == before
        assert db.exec(select(Payment.amount_minor)).one() == 12_000
        assert db.exec(select(Client.name)).one() == f"Erased client {client_id}"
        assert db.exec(select(Commission)).one().child_born is None
        assert client_data.erased_numbers(db) == [client_id]
        assert prove(db).faults == ()
    assert list(store.names()) == []


def test_a_client_with_an_open_commission_is_not_erased(database: Database, tmp_path: Path) -> None:
    store = FolderStore(tmp_path / "photos")
    with database.writing() as db:
        client_id = _a_client_with_everything(db, store)
        commission = db.exec(select(Commission)).one()
        commission.state = "agreed"
        db.add(commission)
    with pytest.raises(Conflict, match="still open"):
        client_data.erase_for_good(database, store, client_id, _owner(database), START)
    with database.reading() as db:
        assert db.exec(select(Client.name)).one() == "Hester Vane"
        assert len(list(store.names())) == 3


def test_the_export_holds_everything_of_the_client_and_her_photos(database: Database, tmp_path: Path) -> None:
    store = FolderStore(tmp_path / "photos")
    with database.writing() as db:
        client_id = _a_client_with_everything(db, store)
    with database.reading() as db:
        client_data.write_export(db, store, client_id, tmp_path / "client.zip")
    with ZipFile(tmp_path / "client.zip") as pack:
        said = json.loads(pack.read("data.json"))
        assert pack.read(said["photos"][0]["file"]) == b"picture"
    assert said["client"]["name"] == "Hester Vane"
    assert [row["value_um"] for row in said["child_measures"]] == [560_000]
    assert said["payments"][0]["amount_minor"] == 12_000
    assert said["garments"][0]["name"] == "Clemence's bib"
    assert "hour_rate" not in json.dumps(said)
    assert "Ottilie" not in json.dumps(said)


def test_an_older_backup_cannot_bring_an_erased_client_back(database: Database, tmp_path: Path) -> None:
    store = FolderStore(tmp_path / "photos")
    with database.writing() as db:
        client_id = _a_client_with_everything(db, store)
    client_data.remember(tmp_path, [client_id, 999])
    client_data.remember(tmp_path, [client_id])
    assert client_data.remembered(tmp_path) == [client_id, 999]
    assert client_data.erase_again(database, store, client_data.remembered(tmp_path), START) == 1
    assert client_data.erase_again(database, store, client_data.remembered(tmp_path), START) == 0
    with database.reading() as db:
        assert "Hester" not in _all_text(db)
        assert db.exec(select(Erasure.client_id)).one() == client_id


def test_whose_data_was_kept_long_enough_is_proposed(database: Database, tmp_path: Path) -> None:
    with database.writing() as db:
        client_id = _a_client_with_everything(db, FolderStore(tmp_path / "photos"))
        wanted = db.exec(select(Commission)).one().wanted_on
        client_data.keep_for(db, 100)
        with pytest.raises(Unreadable, match="between 1 and"):
            client_data.keep_for(db, 0)
    with database.reading() as db:
        assert client_data.kept_long_enough(db, wanted + timedelta(days=100)) == []
        found = client_data.kept_long_enough(db, wanted + timedelta(days=101))
        assert [(one.client_id, one.name, one.last) for one in found] == [(client_id, "Hester Vane", wanted)]


def test_putting_an_older_backup_back_erases_again_whom_it_brings_back(
    sqlite_database: Database, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with sqlite_database.writing() as db:
        client_id = _a_client_with_everything(db, FolderStore(tmp_path / "photos"))
    back_up(sqlite_database, FolderStore(tmp_path / "photos"), tmp_path / "older.backup", START)
    empty = tmp_path / "empty"
    empty.mkdir()
    client_data.remember(empty, [client_id])
    assert main(["restore", str(tmp_path / "older.backup"), "--data", str(empty)]) == 0
    assert "Erased again, as it was erased since: the data of 1 client." in capsys.readouterr().out
    restored = open_database(sqlite_url(empty))
    with restored.reading() as db:
        assert [word for word in SECRETS if word in _all_text(db)] == []
        assert prove(db).faults == ()
    restored.close()
