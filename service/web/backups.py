"""Backups as the owner sees them: how old the last is, what is kept, one made now; and the whole studio to take out."""

import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO, Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response, StreamingResponse

from service.errors import Conflict
from service.studio.backup_rounds import BackupPlan, Rounds, kept_backups, newest_backup
from service.studio.export import write_export
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Now, Owner, OwnerDesk
from service.web.photos import Base, Store

router = APIRouter(include_in_schema=False, prefix="/settings")
NOT_HERE = "This service makes no backups itself: use the command backup FILE beside it."
BLOCK = 1 << 20


def the_rounds(request: Request) -> Rounds | None:
    """What makes the backups of this service, if it makes any."""
    rounds: Rounds | None = request.app.state.backups
    return rounds


MakesBackups = Annotated[Rounds | None, Depends(the_rounds)]


@router.get("/backups")
def show_backups(desk: OwnerDesk, rounds: MakesBackups, at: Now) -> Response:
    return desk.page(
        "settings/backups.html",
        "settings",
        plan=rounds.plan if rounds else None,
        fault=rounds.fault if rounds else "",
        kept=kept_backups(rounds.plan.folder) if rounds else [],
        age=age_shown(rounds, at),
        late=rounds is not None and is_late(rounds.plan, at),
        not_here=NOT_HERE,
    )


@router.post("/backups")
def make_backup(desk: OwnerDesk, rounds: MakesBackups) -> Response:
    if rounds is None:
        raise Conflict(NOT_HERE)
    rounds.make()
    return desk.go("/settings/backups")


@router.get("/everything.zip", dependencies=[OWNER_AFTER_PROOF])
def take_everything(_owner: Owner, database: Base, store: Store, at: Now) -> Response:
    with tempfile.TemporaryDirectory(prefix="everything-") as folder:
        path = Path(folder) / "studio.zip"
        made = write_export(database, store, path, at)
        file = path.open("rb")  # stays readable without its name, so that nothing is left behind
    named = f'attachment; filename="studio-{at:%Y-%m-%d}.zip"'
    headers = {"Content-Disposition": named, "Content-Length": str(made.bytes), "Cache-Control": "no-store"}
    return StreamingResponse(_blocks(file), media_type="application/zip", headers=headers)


def age_shown(rounds: Rounds | None, at: datetime) -> str:
    """How long ago the last backup was made, in words."""
    newest = newest_backup(rounds.plan.folder, at) if rounds else None
    return ago(at - newest.made_at) if newest else "none yet"


def is_late(plan: BackupPlan, at: datetime) -> bool:
    """Whether the last backup is older than two of the spaces between them."""
    newest = newest_backup(plan.folder, at)
    return newest is not None and 0 < plan.hours * 2 < (at - newest.made_at) / timedelta(hours=1)


def ago(age: timedelta) -> str:
    """An age in the largest unit that says it well.

    >>> ago(timedelta(seconds=59)), ago(timedelta(minutes=61)), ago(timedelta(hours=25)), ago(timedelta(days=3))
    ('under a minute ago', '61 minutes ago', '25 hours ago', '3 days ago')
    """
    minutes = int(age / timedelta(minutes=1))
    if minutes < 1:
        return "under a minute ago"
    if minutes < 120:
        return f"{minutes} {'minute' if minutes == 1 else 'minutes'} ago"
    return f"{minutes // 60} hours ago" if minutes < 48 * 60 else f"{minutes // 1440} days ago"


def _blocks(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while some := file.read(BLOCK):
            yield some
