"""The service put together: middleware, routes, answers to refusals, start and stop."""

import asyncio
import gc
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter
from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as NoTurn
from starlette.exceptions import HTTPException
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.middleware.gzip import GZipMiddleware

from service.errors import NoRoom, Refusal, SignInNeeded, Unreadable
from service.reckoning.asked import Wrong
from service.records.db import Database, is_out_of_room
from service.records.photo_store import PhotoStore, folder_beside, store_beside
from service.studio.foresight import Foresight
from service.studio.rates import Learning
from service.studio.turns import Turns
from service.web import routes
from service.web.again import ProofNeeded, ask_again, second_step_first, sign_in_first
from service.web.deps import FirstRunNeeded, SecondStepNeeded
from service.web.guard import SHRINKS_FROM, SHRINKS_HOW, Guard
from service.web.last_seen import WRITTEN_EVERY_S, LastSeen
from service.web.openapi import Described
from service.web.problems import plain_answer, plain_fault, refuse, wants_json
from service.web.render import environment
from service.web.straight import Straight
from service.web.undo import Offers

NO_ROOM = "The disk that the studio's book lies on is full or cannot be written just now. Nothing was changed."
BAD_JSON = "The body cannot be read as JSON in UTF-8."
MOST_BODY_BYTES = 2_000_000


@asynccontextmanager
async def lifespan(app: FastAPI) -> AsyncIterator[None]:
    """Settle the memory once everything is loaded, and close the database at the end."""
    gc.collect()
    gc.freeze()
    gc.enable()
    gc.set_threshold(50_000, 20, 100)
    # The templates' environment is made while nobody asks, so that the first page does not wait for it.
    ready = asyncio.create_task(asyncio.to_thread(environment))
    noting = asyncio.create_task(_write_last_seen(app))
    yield
    ready.cancel()
    noting.cancel()
    app.state.turns.close()
    app.state.seen.write(app.state.database)
    app.state.database.close()


async def _write_last_seen(app: FastAPI) -> None:
    """Write down every minute which browsers were used."""
    while True:
        await asyncio.sleep(WRITTEN_EVERY_S)
        await asyncio.to_thread(app.state.seen.write, app.state.database)


def create_app(
    database: Database,
    *,
    photos: PhotoStore | None = None,
    folder: Path | None = None,
    hosts: Iterable[str] = (),
    https: bool = False,
    first_run_code: str = "",
) -> FastAPI:
    """The service on this database, its photos and data folder beside it if none are given.

    `first_run_code` opens the first page to another machine.
    """
    app = Described(
        title="Stopline",
        description="The commission book of a small heirloom sewing studio.",
        version="1",
        docs_url=None,
        redoc_url=None,
        # Nobody measures from outside; asked for at every request, whether somebody does would cost a little each time.
        telemetry={"tracing": False, "metrics": False, "logs": False},
        lifespan=lifespan,
    )
    app.state.database = database
    app.state.folder = folder or folder_beside(database.url)
    app.state.photos = photos or store_beside(database.url)
    app.state.backups = None
    app.state.first_run_code = first_run_code
    app.state.https = https
    app.state.seen = LastSeen()
    app.state.turns = Turns(database)
    app.state.offers = Offers()
    app.state.tries = MovingWindowRateLimiter(MemoryStorage())
    app.state.learning = Learning()
    app.state.foresight = Foresight(app.state.learning)
    routes.include(app)
    _answer_refusals(app)
    # Within the guard, so that its refusals are strict and in words too.
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=MOST_BODY_BYTES)
    app.add_middleware(GZipMiddleware, minimum_size=SHRINKS_FROM, compresslevel=SHRINKS_HOW)
    # What it cannot keep at once goes on through all the layers within it.
    app.add_middleware(Straight)
    app.add_middleware(Guard, hosts=tuple(hosts), https=https, answer=plain_answer)
    return app


def _answer_refusals(app: FastAPI) -> None:
    app.add_exception_handler(Refusal, _refusal)
    app.add_exception_handler(SignInNeeded, _sign_in_needed)
    app.add_exception_handler(SecondStepNeeded, second_step_first)
    app.add_exception_handler(ProofNeeded, ask_again)
    app.add_exception_handler(Wrong, _wrong)
    app.add_exception_handler(FirstRunNeeded, _first_run)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(NoTurn, _no_turn)
    app.add_exception_handler(OperationalError, _no_turn)


def _refusal(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refusal)
    faults = error.faults if isinstance(error, Unreadable) else None
    return refuse(request, error.status, error.title, error.sentence, faults)


async def _sign_in_needed(request: Request, error: Exception) -> Response:
    if wants_json(request.url.path):
        return _refusal(request, error)
    return await sign_in_first(request)


def _wrong(request: Request, error: Exception) -> Response:
    assert isinstance(error, Wrong)
    return refuse(request, 422, Unreadable.title, f"{error.field} {error.sentence}", {error.field: error.sentence})


def _first_run(request: Request, _error: Exception) -> Response:
    if wants_json(request.url.path):
        return refuse(request, 401, SignInNeeded.title, "This studio has no owner yet: open it in a browser first.")
    return RedirectResponse("/first-run", 303)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == HTTPStatus.BAD_REQUEST and wants_json(request.url.path):
        return refuse(request, 422, Unreadable.title, BAD_JSON, {"body": BAD_JSON})
    sentences = {404: "There is no such page.", 405: "That cannot be done at this address."}
    sentence = sentences.get(error.status_code, str(error.detail))
    answer = refuse(request, error.status_code, HTTPStatus(error.status_code).phrase, sentence)
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


def _invalid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults: dict[str, str] = {}
    for fault in error.errors():
        where = ".".join(str(part) for part in fault["loc"] if part not in {"body", "query", "path"})
        faults.setdefault(where or "body", plain_fault(fault))
    if not wants_json(request.url.path) and any(fault["loc"][0] == "path" for fault in error.errors()):
        return refuse(request, 404, "Not found", "There is no such page.")
    if not wants_json(request.url.path) and any(fault["loc"][0] == "query" for fault in error.errors()):
        return refuse(request, 404, "Not found", "That address is mistyped.")
    detail = "; ".join(f"{field}: {text}" for field, text in faults.items())
    return refuse(request, 422, Unreadable.title, detail, faults)


def _no_turn(request: Request, error: Exception) -> Response:
    if is_out_of_room(error):
        return refuse(request, NoRoom.status, NoRoom.title, NO_ROOM)
    return refuse(request, 503, "Busy", "The studio's book is busy or cannot be written just now. Nothing was changed.")
