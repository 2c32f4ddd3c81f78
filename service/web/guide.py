"""The guide: one commission walked from the first talk to the delivery, and the arithmetic worked by hand."""

from functools import cache
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from service.web.deps import SignedInDesk
from service.web.worked_for_a_day import for_a_day
from service.web.worked_on_cloth import on_cloth

router = APIRouter(include_in_schema=False, prefix="/guide")


@router.get("")
def show_guide(desk: SignedInDesk) -> Response:
    return desk.page("guide/guide.html", "guide")


@router.get("/commission")
def show_commission(desk: SignedInDesk) -> Response:
    return desk.page("guide/commission.html", "guide")


@router.get("/arithmetic")
def show_arithmetic(desk: SignedInDesk) -> Response:
    return desk.page("guide/arithmetic.html", "guide", **worked())


@cache
def worked() -> dict[str, Any]:
    """Every example: the questions never change, so the reckoner is asked once while the service runs."""
    return on_cloth() | for_a_day()
