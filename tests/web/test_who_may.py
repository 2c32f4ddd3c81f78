"""Who sees what: every route asked by everybody, against a table; no answer tells what is not for her."""

import httpx2

from service.app import create_app
from service.records.db import Database
from service.web.guard import HEADERS, POLICY
from tests.serving import Live
from tests.web.asking import (
    EVERYBODY,
    NOT_ASKED,
    ROWS,
    SAFE,
    Route,
    ask_everybody,
    make_ready,
    routes_of,
    row_of,
    written_rows,
)
from tests.web.planted import leaks, plant

ALSO = [
    ("GET", address)
    for address in ("/find?q=ivy", "/find?q=e", "/find?q=note", "/designs?q=a", "/no/such", "/api/no-such")
]
"""What is looked for, and what is not there: the answers tell no more than any other."""
HELP = f"Say in {ROWS.name} what {', '.join(EVERYBODY)} get there, and look whether each should"


def test_every_route_has_its_row_and_every_row_its_route(sqlite_database: Database) -> None:
    routes, rows = set(routes_of(create_app(sqlite_database))), written_rows()
    assert [f"{method} {path}" for method, path in routes - set(rows)] == [], HELP
    assert sorted(set(rows) - routes) == [], f"These rows of {ROWS.name} have no route any more"
    assert [row for row, cells in rows.items() if len(cells) != len(EVERYBODY)] == []


def test_everybody_is_answered_as_the_table_says_and_told_nothing_that_is_not_hers(filled: Live) -> None:
    assert filled.app
    with filled.database.writing() as db:
        here, secrets = make_ready(db), plant(db)
    found: dict[Route, dict[str, str]] = {}
    faults: list[str] = []
    routes = routes_of(filled.app)
    for answer in ask_everybody(filled, here, [*ALSO, *routes]):
        found.setdefault((answer.method, answer.path), {})[answer.who] = answer.cell
        faults += leaks(answer, secrets)
        faults += _lax(answer.answer)
    rows = {
        route: tuple(cells.get(who, NOT_ASKED) for who in EVERYBODY)
        for route, cells in found.items()
        if route in routes
    }
    written = written_rows()
    differing = [row_of(route, cells) for route, cells in rows.items() if written.get(route) != cells]
    assert differing == [], "\n".join([f"Answered otherwise than {ROWS.name} says. {HELP}:", *differing])
    assert faults == []


def _lax(answer: httpx2.Response) -> list[str]:
    """Where an answer is less strict than every answer must be."""
    headers, where = answer.headers, f"{answer.request.method} {answer.request.url.path}"
    faults = [] if answer.status_code < httpx2.codes.INTERNAL_SERVER_ERROR else [f"{where}: {answer.status_code}"]
    faults += [f"{where}: no {name.decode()}" for name, _ in HEADERS if name.decode() not in headers]
    policy = headers.get("content-security-policy", "")
    if "unsafe" in policy or (policy != POLICY and not policy.startswith("default-src 'none'")):
        faults.append(f"{where}: {policy}")
    if answer.request.url.path.startswith("/api/") and answer.status_code >= httpx2.codes.BAD_REQUEST:
        faults += [] if headers["content-type"] == "application/problem+json" else [f"{where}: no problem details"]
    if "cache-control" not in headers or (
        "text/html" in headers.get("content-type", "") and "no-store" not in headers["cache-control"]
    ):
        faults.append(f"{where}: may be kept")
    if answer.request.method == "POST" and answer.is_success and "text/html" in headers.get("content-type", ""):
        faults.append(f"{where}: answered by a page, which Back would ask to send again")
    return faults


def test_no_foreign_page_writes_anywhere(live: Live) -> None:
    assert live.app
    with live.visitor() as visitor:
        answered = {
            (method, path): visitor.request(method, path, headers={"Sec-Fetch-Site": "cross-site"}).status_code
            for method, path in routes_of(live.app)
            if method not in SAFE
        }
    assert len(answered) > 100
    assert {route: status for route, status in answered.items() if status != httpx2.codes.FORBIDDEN} == {}
