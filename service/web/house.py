"""What every service answers: whether it is well, and its own files."""

import gzip
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
from service.web.render import HTMX_NAME, JOINED, STATIC, htmx_bytes, own_bytes

router = APIRouter(include_in_schema=False)
YEAR = "public, max-age=31536000, immutable"
TEXTS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


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
def show_htmx(request: Request) -> Response:
    return _sent(request, HTMX_NAME, KEY, YEAR)


@router.get("/static/{name}")
def show_static(name: str, request: Request) -> Response:
    lasting = YEAR if request.url.query else "no-cache"
    script, language = _script(name)
    if script in JOINED or (language != KEY and _is_ours(script)):
        return _sent(request, script, language, lasting)
    if not _is_ours(name):
        raise NotFound("There is no such file.")
    if request.url.query and name.endswith(tuple(TEXTS)):
        return _sent(request, name, KEY, lasting)
    return FileResponse(STATIC / name, headers={"Cache-Control": lasting})


def _sent(request: Request, name: str, language: str, lasting: str) -> Response:
    """A text of ours, packed where the browser can unpack it."""
    headers = {"Cache-Control": lasting, "Vary": "Accept-Encoding"}
    kind = TEXTS[name[name.rindex(".") :]]
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return Response(_written(name, language), media_type=kind, headers=headers)
    return Response(_packed(name, language), media_type=kind, headers={**headers, "Content-Encoding": "gzip"})


@cache
def _written(name: str, language: str) -> bytes:
    return htmx_bytes() if name == HTMX_NAME else own_bytes(name, language)


@cache
def _packed(name: str, language: str) -> bytes:
    """The same packed as small as can be, once: at every request that took longer than the request itself."""
    return gzip.compress(_written(name, language), 9, mtime=0)


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
