"""Every address leads where it led when all routes were tried one after the other."""

import asyncio
from collections.abc import Awaitable, Callable, Iterator
from typing import Any

from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse, Response
from fastapi.routing import APIRoute

from service.web import routes
from service.web.by_area import ByArea

Answer = tuple[int, list[tuple[bytes, bytes]], bytes]
METHODS = ("GET", "HEAD", "POST")
ODD = (
    "",
    "/",
    "//",
    "///",
    "/garments//",
    "//garments/1",
    "/nothing",
    "/openapi.json",
    "/1",
    "/.",
    "/garments%2F1",
    "garments",
)


def _says(number: int) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        return JSONResponse([number, request.path_params])

    return answer


def _all_routes() -> list[APIRoute]:
    app = FastAPI(openapi_url=None)
    routes.include(app)
    return [route for route in app.router.routes if isinstance(route, APIRoute)]


def _numbered(*more: str) -> FastAPI:
    """A service of the same routes in the same order, each of which answers its number."""
    app = FastAPI()
    for number, route in enumerate(_all_routes()):
        app.router.add_api_route(route.path, _says(number), methods=sorted(route.methods or ()))
    for path in more:
        app.router.add_api_route(path, _says(-len(path)), methods=["GET"])
    return app


def _addresses() -> Iterator[str]:
    for path in dict.fromkeys(route.path for route in _all_routes()):
        address = "/".join("7" if part.startswith("{") else part for part in path.split("/"))
        yield from (address, f"{address}/", f"{address}/none")
    yield from ODD


async def _ask(app: FastAPI, method: str, path: str) -> Answer:
    said: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        said.append(message)

    scope = {
        "type": "http",
        "method": method,
        "path": path,
        "root_path": "",
        "scheme": "http",
        "query_string": b"",
        "headers": [(b"host", b"127.0.0.1")],
        "server": ("127.0.0.1", 80),
        "http_version": "1.1",
    }
    await app(scope, receive, send)
    # a set of methods has no order of its own
    headers = [(name, b", ".join(sorted(value.split(b", ")))) for name, value in said[0]["headers"]]
    return said[0]["status"], headers, b"".join(message.get("body", b"") for message in said[1:])


async def _all_answers(app: FastAPI) -> dict[tuple[str, str], Answer]:
    return {(method, path): await _ask(app, method, path) for path in _addresses() for method in METHODS}


def _answers(app: FastAPI) -> dict[tuple[str, str], Answer]:
    return asyncio.run(_all_answers(app))


def _by_area(app: FastAPI) -> FastAPI:
    app.router.middleware_stack = ByArea(app.router)
    return app


def test_every_address_leads_where_all_routes_tried_in_turn_lead() -> None:
    plain = _answers(_numbered())
    assert {status for status, _, _ in plain.values()} == {200, 307, 404, 405}
    assert _answers(_by_area(_numbered())) == plain


def test_a_route_whose_first_part_can_be_any_keeps_its_place_among_the_others() -> None:
    more = ("/{anything}", "/{area}/{page}/none", "/garments/{rest:path}")
    plain = _answers(_numbered(*more))
    assert _answers(_by_area(_numbered(*more))) == plain != _answers(_numbered())


def test_the_service_goes_this_way() -> None:
    app = FastAPI()
    routes.include(app)
    assert isinstance(app.router.middleware_stack, ByArea)
