"""What every service answers: whether it is well, and its own files."""

from datetime import datetime
from functools import cache

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from sqlmodel import text

from service.errors import NotFound
from service.languages.spoken import KEY, LANGUAGES
from service.records.db import Database, sqlite_facts
from service.studio.backup_rounds import Rounds, newest_backup
from service.web.deps import Now
from service.web.render import HTMX_NAME, JOINED, STATIC, htmx_bytes, script_bytes

router = APIRouter(include_in_schema=False)
YEAR = "public, max-age=31536000, immutable"


@router.get("/health")
def show_health(request: Request, at: Now) -> Response:
    database = request.app.state.database
    with database.reading() as db:
        db.connection().execute(text("select 1"))
    age = backup_age_s(request.app.state.backups, at)
    return JSONResponse({"status": "ok", **_facts(database), "backup_age_s": age})


def backup_age_s(rounds: Rounds | None, at: datetime) -> int | None:
    """How many seconds ago the newest backup was made that this service keeps; nothing if there is none."""
    newest = newest_backup(rounds.plan.folder, at) if rounds else None
    return int((at - newest.made_at).total_seconds()) if newest else None


@cache
def _facts(database: Database) -> dict[str, str]:
    return sqlite_facts(database)


@router.get(f"/static/{HTMX_NAME}")
def show_htmx() -> Response:
    return Response(htmx_bytes(), media_type="text/javascript", headers={"Cache-Control": YEAR})


@router.get("/static/{name}")
def show_static(name: str, request: Request) -> Response:
    lasting = YEAR if request.url.query else "no-cache"
    script, language = _script(name)
    if script in JOINED or (language != KEY and _is_ours(script)):
        written = script_bytes(script, language)
        return Response(written, media_type="text/javascript", headers={"Cache-Control": lasting})
    if not _is_ours(name):
        raise NotFound("There is no such file.")
    return FileResponse(STATIC / name, headers={"Cache-Control": lasting})


def _script(name: str) -> tuple[str, str]:
    """A script and the language it is asked in.

    >>> _script("table.de.js"), _script("table.js"), _script("table.xx.js")
    (('table.js', 'de'), ('table.js', 'en'), ('table.xx.js', 'en'))
    """
    bare, _, language = name.removesuffix(".js").rpartition(".")
    is_asked = name.endswith(".js") and bare and language in LANGUAGES and language != KEY
    return (f"{bare}.js", language) if is_asked else (name, KEY)


def _is_ours(name: str) -> bool:
    path = STATIC / name
    return path.parent == STATIC and path.is_file()
