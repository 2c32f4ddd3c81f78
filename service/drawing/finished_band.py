"""A band as it will look when every knot is tied: its last bundles to scale, and the threads that make no bundle.

What is left over stands at the end of the band, so that is the end drawn.
"""

from service.drawing.bands import Stretch, Weave, draw_thread
from service.drawing.pen import Pen
from service.drawing.rows import Tied, rows_of, tied_by_fraction
from service.drawing.svg import Picture, box, drawn, lettering, path, said
from service.reckoning.bands import BandPlan
from service.reckoning.shapes import Rect

WIDTH = 360.0  # px on a phone
SIDE = 12.0
CLOTH = 26.0  # of plain cloth above and below
WORDS = 20.0
THREADS_SHOWN = 52
MOST_THREADS_A_BUNDLE = 60
LEAST_PX, MOST_PX = 10.0, 200.0  # how wide a band may be drawn
HEMMED = {"hem_band", "tuck_band"}


def finished_band(plan: BandPlan, prefix: str = "band") -> str:
    """Return the end of a band drawn to scale, its knots tied and its left-over threads standing loose.

    Returns nothing where there is nothing to draw: no bundle, no width, or bundles too large to be told apart.
    """
    if not plan.bundles or not plan.withdraw_threads or max(plan.bundle_sizes) > MOST_THREADS_A_BUNDLE:
        return ""
    sizes, hidden = _last_bundles(plan)
    seen = sum(sizes[hidden:]) + plan.left_over_threads
    pitch = min(WIDTH - 2 * SIDE, 9.0 * seen) / seen
    true_px = plan.width_mm * pitch * plan.ask.standing_threads_per_cm / 10
    height = min(MOST_PX, max(LEAST_PX, true_px))
    before = sum(sizes[:hidden])
    start = (SIDE if hidden == 0 else 0.0) - before * pitch
    lie = Stretch("across", start, (before + seen) * pitch, WORDS + CLOTH, height)
    rows = rows_of(plan.ask.kind, sizes, pair_rows=plan.ask.pair_rows, closed_round=plan.ask.closed_round)
    weave = Weave(lie, pitch)
    view = Rect(0, 0, WIDTH, WORDS + 2 * CLOTH + height)
    title = f"The end of the band, {'' if height == true_px else 'its width not '}to scale"
    body = (
        lettering("d-quiet", (0, 12), title)
        + _cloth(plan, weave)
        + _threads(plan, weave, tied_by_fraction(rows, 1.0), sum(sizes))
        + _left_over(plan, weave)
    )
    return drawn(Picture(view, title, _told(plan), prefix, "close", 1.2), body)


def _last_bundles(plan: BandPlan) -> tuple[tuple[int, ...], int]:
    """The bundles drawn and how many of them lie out of sight, so that pairs and turns fall as in the whole band."""
    sizes = plan.bundle_sizes
    shown, threads = 0, plan.left_over_threads
    while shown < len(sizes) and (shown < 2 or threads + sizes[-shown - 1] <= THREADS_SHOWN):
        shown += 1
        threads += sizes[-shown]
    if shown == len(sizes):
        return sizes, 0
    hidden = 2 + (len(sizes) - shown) % 2
    return sizes[-shown - hidden :], min(hidden, len(sizes) - shown)


def _cloth(plan: BandPlan, weave: Weave) -> str:
    lie = weave.lie
    begin = max(0.0, lie.start)
    end = WIDTH if plan.ask.closed_round else min(WIDTH, lie.start + lie.length)
    edges = Pen()
    for y in (lie.top, lie.bottom):
        edges.run(((begin, y), (end, y)))
    below = Rect(0, lie.bottom, WIDTH, lie.bottom + CLOTH)
    return (
        box("d-cloth", Rect(0, WORDS, WIDTH, below.bottom))
        + (box("d-hem", below) if plan.ask.kind in HEMMED else "")
        + path("d-weave", _woven(weave, Rect(0, WORDS, WIDTH, below.bottom)), stroke_width=0.8)
        + box("d-gap", Rect(begin, lie.top, end, lie.bottom))
        + path("d-edge", edges.d)
    )


def _woven(weave: Weave, area: Rect) -> str:
    """The threads of plain cloth all over; the band lies over it."""
    threads = Pen()
    along = weave.lie.start % weave.pitch + weave.pitch / 2
    while along < area.right:
        threads.run(((along, area.top), (along, area.bottom)))
        along += weave.pitch
    across = area.top + 4
    while across < area.bottom:
        threads.run(((area.left, across), (area.right, across)))
        across += 5
    return threads.d


def _threads(plan: BandPlan, weave: Weave, state: tuple[Tied, ...], bundled: int) -> str:
    tied, loose, knots = Pen(), Pen(), Pen()
    for thread in range(bundled):
        if -4 < weave.along(thread + 1) < WIDTH + 4:
            draw_thread(tied, weave.way(thread, state))
    for thread in range(bundled, bundled + plan.left_over_threads):
        loose.run(((weave.along(thread + 0.5), weave.lie.top), (weave.along(thread + 0.5), weave.lie.bottom)))
    for row in (one.row for one in state):
        for knot in range(row.knots):
            x, y = weave.along((row.edges[knot] + row.edges[knot + 1]) / 2), weave.lie.depth(row.depth(knot))
            half = max(1.6, 0.11 * weave.pitch * (row.edges[knot + 1] - row.edges[knot]))
            if -half < x < WIDTH + half:
                knots.run(((x - half, y), (x + half, y)))
    return (
        path("d-done", tied.d)
        + path("d-pencil" if plan.ask.into_seam else "d-here", loose.d, stroke_width=1.6)
        + path("d-knot", knots.d, stroke_width=2.6)
    )


def _left_over(plan: BandPlan, weave: Weave) -> str:
    """A bracket under the threads that make no bundle, and what becomes of them."""
    if not plan.left_over_threads:
        return ""
    end, below = weave.lie.start + weave.lie.length, weave.lie.bottom + 4
    begin = end - plan.left_over_threads * weave.pitch
    bracket = Pen()
    bracket.run(((begin, below), (begin, below + 4), (end, below + 4), (end, below)))
    line, ink, place = (
        ("d-pencil", "d-quiet", "in the seam") if plan.ask.into_seam else ("d-here", "d-here-text", "left over")
    )
    words = f"{plan.left_over_threads} {place}"
    return path(line, bracket.d) + lettering(ink, (end, below + 17), words, text_anchor="end")


def _told(plan: BandPlan) -> str:
    left = f", {plan.left_over_threads} threads left over" if plan.left_over_threads else ""
    return f"{plan.bundles} bundles, {plan.knots} knots, {said(plan.width_mm)} mm wide{left}."
