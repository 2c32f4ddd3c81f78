"""The help sheet of keys: what each does, and how they are turned off."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.web.deps import SignedInDesk

router = APIRouter(include_in_schema=False, prefix="/keys")


@router.get("")
def show_keys(desk: SignedInDesk) -> Response:
    return desk.page("keys.html", "keys")
