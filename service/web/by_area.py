"""The way to a route: only those are tried whose addresses begin with the same part, in the order in which they stand.

Else a request tries hundreds of addresses one by one. What follows when none fits, or only another method, is left to
the framework, and so is an address whose first part no route has.
"""

from copy import copy

from fastapi import APIRouter
from starlette.routing import BaseRoute
from starlette.types import Receive, Scope, Send


class ByArea:
    """Stands before a router that has all its routes."""

    def __init__(self, router: APIRouter) -> None:
        self._router, self._all = router, router.middleware_stack
        self._areas = {area: _only(router, area) for route in router.routes if (area := _area_of(route)) is not None}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as the router does."""
        is_page = scope["type"] == "http" and not scope.get("root_path")
        area = self._areas.get(_first_part(scope["path"])) if is_page else None
        if area is None:
            await self._all(scope, receive, send)
        else:
            scope["router"] = self._router
            await area.app(scope, receive, send)


def _only(router: APIRouter, area: str) -> APIRouter:
    """The router with the routes that an address of this area may lead to."""
    one = copy(router)
    one.routes = [route for route in router.routes if _area_of(route) in {area, None}]
    return one


def _area_of(route: BaseRoute) -> str | None:
    """The first part of a route's addresses; nothing where it can be any."""
    path: str = getattr(route, "path", "")
    return None if not path or "{" in _first_part(path) else _first_part(path)


def _first_part(path: str) -> str:
    return path[1:].partition("/")[0]
