"""What a route may ask for: a reading or writing session, the person signed in, the time, the desk to answer from."""

from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import Depends, Path, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from sqlalchemy import select
from sqlmodel import SQLModel

from service.errors import NotAllowed, SignInNeeded
from service.languages.spoken import asked_in, measure_in, speak
from service.records.db import Database, Reading, Writing
from service.records.tables import Studio
from service.records.trail import BY
from service.records.unchanged import while_unchanged
from service.studio.sign_in import Browser, Caller, Person, browser_of, person_of_token
from service.web import manner
from service.web.render import render
from service.web.undo import Undo

PLAIN_COOKIE = "stopline"
SECURE_COOKIE = "__Host-stopline"
SECOND_STEP = "/account/second-step"


class SecondStepNeeded(SignInNeeded):
    """The studio asks for a second step, and hers is not set yet: its page is to be shown instead."""


class FirstRunNeeded(Exception):
    """The studio is still empty: the first page is to be shown instead."""


# What waits for nothing is asynchronous here: a plain function would be carried into a thread of its own and back.


async def the_database(request: Request) -> Database:
    """The database of this service."""
    return database_of(request)


def database_of(request: Request) -> Database:
    """The same, for what has the request already."""
    database: Database = request.app.state.database
    return database


async def reading(request: Request) -> AsyncIterator[Reading]:
    """One snapshot to read from. It opens with the first question that the route asks, and closes without waiting."""
    with database_of(request).reading() as session:
        yield session


def writing(request: Request) -> Iterator[Writing]:
    """The writer's turn; returning commits before the answer leaves, raising rolls back.

    A form that is only wanted back as it was typed changes nothing, whatever its route does.
    """
    with database_of(request).writing() as session:
        yield session
        session.info[BY] = getattr(request.state, BY, None)
        if getattr(request.state, "is_looked_over", False):
            session.rollback()


async def the_time() -> datetime:
    """Now, in UTC."""
    return datetime.now(UTC)


# The scope makes the exit run when the route returns, so that nothing is answered before it is committed.
Reads = Annotated[Reading, Depends(reading, scope="function")]
Writes = Annotated[Writing, Depends(writing, scope="function")]
Now = Annotated[datetime, Depends(the_time)]


@dataclass(frozen=True, slots=True)
class Visit:
    """Who asks, in which studio, and by which signed-in browser; a script with a token has none."""

    person: Person | None
    studio: Studio | None
    browser: Browser | None = None


def is_https(request: Request) -> bool:
    """Whether the browser speaks https with us, or with the proxy before us."""
    return bool(request.app.state.https or request.scope.get("scheme") == "https")


def whole_address(request: Request, path: str) -> str:
    """The address at which others reach a path of ours; the host is one that the service is known under."""
    base = request.base_url.replace(scheme="https") if is_https(request) else request.base_url
    return f"{base}{path.removeprefix('/')}"


def secret_of(request: Request) -> str:
    """The secret of the browser's session, if it sent one; over https only from the cookie that https alone can set."""
    return request.cookies.get(SECURE_COOKIE if is_https(request) else PLAIN_COOKIE) or ""


_SETTINGS = select(*SQLModel.metadata.tables["studio"].c)


@while_unchanged
def _studio(db: Reading) -> Studio | None:
    row = db.connection().execute(_SETTINGS).mappings().first()
    return None if row is None else Studio(**row)  # no record of this session: many requests read it from now on


def caller_in(request: Request) -> Caller | None:
    """What says who asks: the token that a script sends, else the secret of a browser's session."""
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    # A token is for scripts: no page opens to it, and so neither money nor accounts nor export.
    if scheme.lower() == "bearer" and request.scope["path"].startswith("/api/"):
        return Caller(token.strip(), is_script=True)
    secret = secret_of(request)
    return Caller(secret, is_script=False) if secret else None


def visit(request: Request) -> Visit:
    """Look up the person behind the cookie or token, and the studio's settings."""
    caller = caller_in(request)
    with database_of(request).reading() as db:
        studio = _studio(db)
        if studio is None:
            speak(asked_in(request.headers.get("accept-language", "")))
        else:
            manner.write_as(studio.numbers)
            if not request.url.path.startswith("/api/"):  # scripts are answered in the key
                speak(studio.language)
                measure_in(studio.length_unit, studio.count_unit)
        if caller is not None and caller.is_script:
            return Visit(person_of_token(db, caller.secret), studio)
        at = datetime.now(UTC)
        browser = browser_of(db, caller.secret, at) if caller else None
        if browser is not None:
            request.app.state.seen.note(browser, at)
        return Visit(browser.person if browser else None, studio, browser)


@dataclass(frozen=True, slots=True)
class Desk:
    """Where a page is answered from: the request, who asks, and what every page shows."""

    request: Request
    person: Person | None
    studio: Studio | None
    context: dict[str, Any] = field(default_factory=dict)

    @property
    def wants_block(self) -> bool:
        """Whether the page asks for a part of itself."""
        headers = self.request.headers
        return headers.get("hx-request") == "true" and "hx-history-restore-request" not in headers

    @property
    def today(self) -> date:
        """Today where the studio is."""
        return datetime.now(ZoneInfo(self.studio.time_zone) if self.studio else UTC).date()

    def page(self, template: str, area: str, *, status: int = 200, block: str = "", **context: Any) -> Response:
        """A page; only `block` of it when the page asks for that part."""
        everything = {
            "person": self.person,
            "studio": self.studio,
            "area": area,
            "path": self.request.url.path,
            "notice": "",
            "wrong": status == 422,
            "undo": None,
            **context,
        }
        part = block if self.wants_block and self.request.headers.get("hx-target") == block else ""
        if self.person is not None and not part:
            everything["undo"] = self.request.app.state.offers.take(secret_of(self.request))
        return HTMLResponse(render(template, everything, part), status, headers={"Vary": "HX-Request, HX-Target"})

    def may_undo(self, words: str, action: str, **fields: str) -> None:
        """Offer on the next page to undo what was just done, by sending these fields there."""
        self.request.app.state.offers.offer(secret_of(self.request), Undo(words, action, fields))

    def go(self, path: str) -> Response:
        """On to another page, after a change."""
        return RedirectResponse(path, 303)


async def signed_in_person(request: Request, visit: Annotated[Visit, Depends(visit)]) -> Person:
    """Whoever is signed in; nobody is refused, nor anybody who must set her second step first."""
    if visit.studio is None:
        raise FirstRunNeeded
    if visit.person is None:
        raise SignInNeeded("Sign in first.")
    lacks_step = visit.browser is not None and not visit.browser.has_second_step
    if visit.studio.second_step_needed and lacks_step and not request.url.path.startswith(SECOND_STEP):
        raise SecondStepNeeded("The studio asks everybody for a second step. Set yours first, in a browser.")
    request.state.by = visit.person.id
    return visit.person


async def owner_person(person: Annotated[Person, Depends(signed_in_person)]) -> Person:
    """The owner; anybody else is refused."""
    if not person.is_owner:
        raise NotAllowed("Only the owner of the studio may see or do this.")
    return person


async def the_desk(request: Request, visit: Annotated[Visit, Depends(visit)]) -> Desk:
    """The desk of a page that anybody may see."""
    return Desk(request, visit.person, visit.studio)


async def owner_desk(
    request: Request, visit: Annotated[Visit, Depends(visit)], person: Annotated[Person, Depends(owner_person)]
) -> Desk:
    """The desk of a page for the owner alone."""
    return Desk(request, person, visit.studio)


async def signed_in_desk(
    request: Request, visit: Annotated[Visit, Depends(visit)], person: Annotated[Person, Depends(signed_in_person)]
) -> Desk:
    """The desk of a page for anybody signed in."""
    return Desk(request, person, visit.studio)


# Wider numbers than the database holds are no record of ours.
Id = Annotated[int, Path(ge=1, le=2_147_483_647)]
Beyond = Annotated[int | None, Query(ge=1, le=2_147_483_647)]
"""The last record of the page before, in the query: a list goes on beyond it."""

SignedIn = Annotated[Person, Depends(signed_in_person)]
Owner = Annotated[Person, Depends(owner_person)]
AnyDesk = Annotated[Desk, Depends(the_desk)]
OwnerDesk = Annotated[Desk, Depends(owner_desk)]
SignedInDesk = Annotated[Desk, Depends(signed_in_desk)]
