"""How a refusal is answered: a page for people, RFC 9457 problem details under /api."""

import json
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from sqlalchemy.exc import SQLAlchemyError

from service.web.deps import Visit, visit
from service.web.render import render

NOBODY = Visit(None, None)
PROBLEM = "application/problem+json"
SENT_AGAIN = {503, 507}
BOUNDS = {"less_than_equal": "at most", "less_than": "below", "greater_than_equal": "at least", "greater_than": "above"}
NEXT_STEPS = {
    401: "Sign in and try again.",
    403: "If you think it should be yours to do, ask the owner of the studio.",
    404: "It may have been called off, or the address may be mistyped. Go back, or start from the work table.",
    405: "Go back and use the buttons on the page.",
    409: "Go back, look at how things stand now, and try again.",
    413: "Send less at once.",
    415: "Choose a JPEG, PNG or WebP picture instead.",
    422: "Go back and correct it; what you typed is still there.",
    429: "Wait a little, then try again.",
    500: "Try again in a moment. If it happens again, tell whoever looks after the service.",
    503: "Try again in a moment.",
    507: "Tell whoever looks after the service.",
}


def wants_json(path: str) -> bool:
    """Whether the caller is a script rather than a page."""
    return path.startswith("/api/") or path in {"/api", "/openapi.json"}


def problem(status: int, title: str, detail: str, faults: dict[str, str] | None = None) -> JSONResponse:
    """Problem details; `errors` names each field at fault."""
    body: dict[str, Any] = {"type": "about:blank", "title": title, "status": status, "detail": detail}
    if faults:
        body["errors"] = [{"field": field, "detail": sentence} for field, sentence in faults.items()]
    return JSONResponse(body, status, media_type=PROBLEM)


def plain_fault(fault: Any) -> str:
    """What is wrong with one field of a body that was sent, in a sentence that calls it by its name.

    >>> plain_fault({"type": "less_than_equal", "loc": ("counts", 0, "minutes"), "ctx": {"le": 14400}})
    'Minutes must be at most 14,400.'
    >>> plain_fault({"type": "float_type", "loc": ("threads_per_cm",), "msg": "Input should be a valid number"})
    'Threads per cm should be a valid number.'
    """
    called = str(fault["loc"][-1]).replace("_", " ").capitalize()
    if (words := BOUNDS.get(fault["type"])) is not None:
        return f"{called} must be {words} {next(iter(fault['ctx'].values())):,.15g}."
    ours = str(fault.get("ctx", {}).get("error", ""))  # what a check of our own says
    sentence = ours[:1].upper() + ours[1:] or str(fault["msg"]).replace("Input", called, 1)
    return sentence if sentence.endswith(".") else f"{sentence}."


def fault_context(path: str, status: int, sentence: str, seen: Visit) -> dict[str, Any]:
    """What the page of a refusal shows."""
    next_step = NEXT_STEPS.get(status, "Go back and try again.")
    shown: dict[str, Any] = {"status": status, "sentence": sentence, "next_step": next_step, "path": path}
    return {"person": seen.person, "studio": seen.studio, "area": "", "notice": "", "wrong": True, **shown}


def refuse(request: Request, status: int, title: str, sentence: str, faults: dict[str, str] | None = None) -> Response:
    """The answer to a refused request, as page or as problem details."""
    if wants_json(request.url.path):
        return problem(status, title, sentence, faults)
    context = fault_context(request.url.path, status, sentence, _seen(request))
    context |= {"typed": _typed(request, status), "back": _back(request)}
    return HTMLResponse(render("fault.html", context), status)


def _typed(request: Request, status: int) -> list[tuple[str, str]]:
    """What was typed and could not be written for now, to be sent again; a form with a password is typed anew."""
    typed: list[tuple[str, str]] = getattr(request.state, "typed", []) if status in SENT_AGAIN else []
    return [] if any("password" in name for name, _ in typed) else typed


def _back(request: Request) -> str:
    """The page of ours that the request came from; nothing for another one, or when it is this very page."""
    before = urlsplit(request.headers.get("referer", ""))
    if before.netloc != request.headers.get("host") or not before.path.startswith("/") or before.path.startswith("//"):
        return ""
    address = f"{before.path}?{before.query}" if before.query else before.path
    return "" if request.method == "GET" and before.path == request.url.path else address


def _seen(request: Request) -> Visit:
    """Who asks, so that the page keeps its ways; nobody when even that cannot be read."""
    try:
        return visit(request)
    except SQLAlchemyError:
        return NOBODY


def plain_answer(scope: dict[str, Any], status: int, sentence: str) -> tuple[str, bytes]:
    """Media type and body of an answer given before any route is reached."""
    if wants_json(scope["path"]):
        body = {"type": "about:blank", "title": HTTPStatus(status).phrase, "status": status, "detail": sentence}
        return PROBLEM, json.dumps(body).encode()
    page = render("fault.html", fault_context(scope["path"], status, sentence, NOBODY))
    return "text/html; charset=utf-8", page.encode()
