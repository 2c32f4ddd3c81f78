"""A client's data: what is kept, all of it as a file to take away, its erasure, and how long it is kept."""

import tempfile
from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response
from starlette.background import BackgroundTask

from service.errors import Conflict, Unreadable
from service.records.db import Reading, Writing
from service.studio import client_data
from service.studio.clients import client_with
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.photos import Base, Store

router = APIRouter(include_in_schema=False)


@router.get("/clients/{client_id}/data")
def show_data(desk: OwnerDesk, db: Reads, client_id: Id) -> Response:
    return _page(desk, db, client_id, Form())


@router.get("/clients/{client_id}/data.zip", dependencies=[OWNER_AFTER_PROOF])
def take_data(_owner: Owner, db: Reads, store: Store, client_id: Id) -> Response:
    client_with(db, client_id)
    with tempfile.NamedTemporaryFile(prefix="client-", suffix=".zip", delete=False) as file:
        path = Path(file.name)
    try:
        client_data.write_export(db, store, client_id, path)
    except BaseException:
        path.unlink()
        raise
    named = {"Content-Disposition": f'attachment; filename="client-{client_id}.zip"', "Cache-Control": "no-store"}
    return FileResponse(path, media_type="application/zip", headers=named, background=BackgroundTask(path.unlink))


@router.post("/clients/{client_id}/erase", dependencies=[OWNER_AFTER_PROOF])
def erase(desk: OwnerDesk, owner: Owner, form: Typed, database: Base, store: Store, at: Now, client_id: Id) -> Response:
    with database.reading() as db:
        name = client_with(db, client_id).name
        if form.raw("name") != name:
            form.fault("name", "Write the client's name exactly as it stands above.")
        if not form.ticked("sure"):
            form.fault("sure", "Say that you are sure: nothing brings it back.")
        if form.wrong:
            return _page(desk, db, client_id, form, 422)
    try:
        client_data.erase_for_good(database, store, client_id, owner.id, at)
    except Conflict as refused:
        form.fault("", refused.sentence)
        with database.reading() as db:
            return _page(desk, db, client_id, form, 409)
    client_data.remember(desk.request.app.state.folder, [client_id])
    return desk.go(f"/clients/{client_id}/data")


@router.get("/settings/keeping")
def show_keeping(desk: OwnerDesk, db: Reads) -> Response:
    return _keeping(desk, db, Form({"client_days": str(client_data.days_kept(db))}))


@router.post("/settings/keeping")
def change_keeping(desk: OwnerDesk, form: Typed, db: Writes) -> Response:
    days = form.whole("client_days", called="the days", least=1, most=36_500)
    if not form.wrong and days is not None:
        try:
            client_data.keep_for(db, days)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
    if form.wrong:
        return _keeping(desk, db, form, 422)
    return desk.go("/settings/keeping")


def _page(desk: Desk, db: Reading | Writing, client_id: int, form: Form, status: int = 200) -> Response:
    everything = client_data.everything_of(db, client_id)
    return desk.page(
        "people/client_data.html",
        "people",
        status=status,
        form=form,
        client=client_with(db, client_id),
        kept=[
            (word.replace("_", " ").capitalize(), len(rows)) for word, rows in everything.items() if word != "client"
        ],
        is_erased=client_id in client_data.erased_numbers(db),
    )


def _keeping(desk: Desk, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    proposed = client_data.kept_long_enough(db, desk.today)
    return desk.page("settings/keeping.html", "settings", status=status, form=form, proposed=proposed)
