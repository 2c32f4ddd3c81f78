"""What every service answers: whether it is well, and its own files."""

from functools import cache

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from sqlmodel import text

from service.errors import NotFound
from service.records.db import Database, sqlite_facts
from service.web.render import HTMX_NAME, JOINED, STATIC, htmx_bytes, joined_bytes

router = APIRouter(include_in_schema=False)
YEAR = "public, max-age=31536000, immutable"


@router.get("/health")
def show_health(request: Request) -> Response:
    database = request.app.state.database
    with database.reading() as db:
        db.connection().execute(text("select 1"))
    return JSONResponse({"status": "ok", **_facts(database)})


@cache
def _facts(database: Database) -> dict[str, str]:
    return sqlite_facts(database)


@router.get(f"/static/{HTMX_NAME}")
def show_htmx() -> Response:
    return Response(htmx_bytes(), media_type="text/javascript", headers={"Cache-Control": YEAR})


@router.get("/static/{name}")
def show_static(name: str, request: Request) -> Response:
    lasting = YEAR if request.url.query else "no-cache"
    if name in JOINED:
        return Response(joined_bytes(name), media_type="text/javascript", headers={"Cache-Control": lasting})
    path = STATIC / name
    if path.parent != STATIC or not path.is_file():
        raise NotFound("There is no such file.")
    return FileResponse(path, headers={"Cache-Control": lasting})
