"""Everything that a running service needs, loaded and ready: the database, its photos, the routes, the backups."""

import logging
import secrets
from collections.abc import Callable
from contextlib import ExitStack
from datetime import UTC, datetime

from fastapi import FastAPI
from sqlmodel import select

from service.app import create_app
from service.errors import Conflict
from service.records.db import Database, migrate, open_database
from service.records.durable import forgetful, told
from service.records.folder import DATABASE_NAME
from service.records.photo_store import open_store
from service.records.snapshot import earlier_revision, is_newest
from service.records.tables import Studio
from service.settings import Settings
from service.studio.backup import back_up
from service.studio.backup_rounds import FOLDER_NAME, BackupPlan, Rounds
from service.studio.photos import sweep

STOP_WITHIN_S = 10


def ready_database(settings: Settings) -> Database:
    """The database with all its tables, made or brought up to date first."""
    if not settings.database_url:
        _keep_earlier(settings)
    if settings.database_url or not is_newest(settings.data / DATABASE_NAME):
        migrate(settings.url)
    database = open_database(settings.url)
    for setting in forgetful(database):
        if setting.startswith("synchronous"):
            database.close()
            raise Conflict(f"{told(setting)} Nothing is served before.")
        logging.getLogger(__name__).warning(told(setting))
    return database


def _keep_earlier(settings: Settings) -> None:
    """Before the tables of an earlier release are changed, back them up under a name that nothing removes."""
    earlier = earlier_revision(settings.data / DATABASE_NAME)
    if not earlier:
        return
    folder, at = settings.data / FOLDER_NAME, datetime.now(UTC)
    folder.mkdir(exist_ok=True)
    database = open_database(settings.url)
    store = open_store(settings.photos, settings.data)
    try:
        back_up(database, store, folder / f"of-release-{earlier}-{at:%Y%m%dT%H%M%SZ}.zip", at)
    finally:
        database.close()


def load(
    database: Database, settings: Settings, host: str, wait: Callable[[float], bool], beside: ExitStack
) -> FastAPI:
    """The service on this database; backups go round until `wait` says that it stops, and `beside` sees them end."""
    code = first_run_code(database)
    store = open_store(settings.photos, settings.data)
    sweep(database, store, datetime.now(UTC))
    hosts = (host, *settings.extra_hosts)
    app = create_app(
        database, photos=store, folder=settings.data, hosts=hosts, https=settings.https, first_run_code=code
    )
    app.state.backups = rounds = Rounds(database, store, plan_of(settings), lambda: datetime.now(UTC))
    beside.callback(rounds.start(wait).join, STOP_WITHIN_S)
    if code:
        print(f"The studio is still empty. From another machine the first page asks for this code: {code}", flush=True)  # noqa: T201
    return app


def plan_of(settings: Settings) -> BackupPlan:
    """Where the service keeps its own backups, and how many."""
    folder = settings.data / FOLDER_NAME
    return BackupPlan(folder, settings.backup_hours, settings.backup_days, settings.backup_weeks)


def first_run_code(database: Database) -> str:
    """A fresh one-time code while the studio has no owner, else nothing."""
    with database.reading() as db:
        empty = db.exec(select(Studio)).first() is None
    return secrets.token_hex(4) if empty else ""
