"""Every route of the service, area by area."""

from fastapi import FastAPI

from service.web import api_reckon_counts, clients, house, making, sign_in

AREAS = (house, sign_in, clients, making, api_reckon_counts)


def include(app: FastAPI) -> None:
    """Add every area's routes."""
    for area in AREAS:
        app.include_router(area.router)
