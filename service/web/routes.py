"""Every route of the service, area by area."""

from fastapi import FastAPI

from service.web import (
    api_handovers,
    api_log,
    api_quotes,
    api_reckon_counts,
    api_reckon_hours,
    api_reckon_making,
    api_sent_in,
    api_standing,
    backups,
    books,
    books_accounts,
    books_files,
    calendar,
    charges,
    client_data,
    clients,
    cloth,
    cloth_acts,
    commission_file,
    commission_fit,
    commissions,
    design_changes,
    design_first,
    design_panels,
    design_sections,
    designs,
    diary,
    fibres,
    finding,
    finishing,
    garments,
    guesses,
    handing_over,
    handovers,
    history,
    house,
    making,
    marking_sheet,
    papers,
    payments,
    photos,
    promise,
    quote_paper,
    quotes,
    reckoner,
    reckoner_band,
    reckoner_counts,
    reckoner_hours,
    reckoner_keeping,
    rescue,
    settings,
    sign_in,
    steering,
    steps,
    stitchers,
    supplies,
    table,
    thread_used,
    trial,
    what_if,
    window,
    window_owner,
    work_slip,
    work_table,
)

PAGES = (
    *(photos, history),
    *(handing_over, handovers),
    *(house, sign_in, work_table, finding, settings, backups, stitchers, clients, commissions),
    *(charges, payments, quotes, quote_paper),
    *(what_if, calendar, diary),
    *(cloth, cloth_acts, supplies, making, reckoner, reckoner_band, reckoner_counts, reckoner_hours, garments, steps),
    *(steering, table),
    *(guesses, books, books_accounts, books_files, trial, promise),
    *(reckoner_keeping, commission_fit, marking_sheet, thread_used),
    *(papers, work_slip, commission_file, fibres, finishing, client_data),
    *(window, window_owner, rescue),
    *(design_first, designs, design_changes, design_panels, design_sections),
)
SCRIPTS = (
    api_handovers.router,
    api_quotes.router,
    *(api_reckon_counts.router, api_reckon_making.router, api_reckon_hours.router),
    *(commissions.api, api_log.router, api_sent_in.router, api_standing.router),
)


def include(app: FastAPI) -> None:
    """Add every area's routes."""
    for area in PAGES:
        app.include_router(area.router)
    for router in SCRIPTS:
        app.include_router(router)
