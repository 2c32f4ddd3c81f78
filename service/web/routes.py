"""Every route of the service, area by area."""

from fastapi import FastAPI

from service.web import api_log, api_reckon_counts, api_standing, clients, commissions, house, making, sign_in

PAGES = (house, sign_in, clients, commissions, making)
SCRIPTS = (api_reckon_counts.router, commissions.api, api_log.router, api_standing.router)


def include(app: FastAPI) -> None:
    """Add every area's routes."""
    for area in PAGES:
        app.include_router(area.router)
    for router in SCRIPTS:
        app.include_router(router)
