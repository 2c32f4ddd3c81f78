"""The close-up of a band for the step being worked, whatever its operation."""

from service.drawing.close_up import knots_close_up
from service.drawing.length_close_up import length_close_up
from service.drawing.rows import rows_of
from service.drawing.shown import ShownBand
from service.drawing.thread_close_up import passes_of, threads_close_up
from service.reckoning.asked import not_below


def band_close_up(band: ShownBand, operation: str, done: float, quantity: float, prefix: str = "close") -> str:
    """Return the band as SVG at the place reached in a step: `done` of `quantity`, in the operation's own unit.

    Work beyond what the band was planned for is drawn as complete. Raises Wrong for an operation that this band
    does not have.
    """
    so_far = not_below("done", done)
    if operation.endswith("_knot"):
        rows = rows_of(band.kind, band.sizes, pair_rows=band.pair_rows, closed_round=band.closed_round)
        knots = sum(row.knots for row in rows if row.operation == operation)
        return knots_close_up(band, operation, min(int(so_far), knots), prefix)
    if operation in {"clip", "withdraw"}:
        threads = band.withdraw_threads * len(passes_of(band, operation))
        return threads_close_up(band, operation, min(int(so_far), threads), prefix)
    return length_close_up(band, operation, so_far, quantity, prefix)
