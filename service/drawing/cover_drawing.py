"""Cover: a scrap of plain weave, threads as thick against their spacing as the cover factor says, to scale."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, mark, path, short
from service.reckoning.shapes import Rect
from service.reckoning.yarn import Cover

WIDTH, SIDE, TOP = 340.0, 80.0, 8.0
SCRAP = 180.0
THREADS = 12  # warp threads across the scrap
MOST_WEFT = 40
TOUCHING = 28.0  # the cover factor at which round threads of cotton touch


def cover_drawing(warp_per_cm: float, weft_per_cm: float, cover: Cover, prefix: str = "cover") -> str:
    """Return the scrap as SVG, twelve warp threads wide; threads thicker than their spacing are drawn touching."""
    side_mm = 10 * THREADS / warp_per_cm
    weft = max(1, min(MOST_WEFT, round(side_mm * weft_per_cm / 10)))
    across, down = SCRAP / THREADS, SCRAP / THREADS * warp_per_cm / weft_per_cm
    scrap = Rect(SIDE, TOP, SIDE + SCRAP, TOP + down * weft)
    warp_px, weft_px = (gap * min(1.0, k / TOUCHING) for gap, k in ((across, cover.warp), (down, cover.weft)))
    over, under = Pen(places=2), Pen(places=2)
    for pick in range(weft):
        y = TOP + (pick + 0.5) * down
        under.run(((scrap.left, y), (scrap.right, y)))
    for end in range(THREADS):
        x = SIDE + (end + 0.5) * across
        for pick in range(end % 2, weft, 2):
            over.run(((x, TOP + pick * down), (x, TOP + (pick + 1) * down)))
    body = (
        box("d-gap", scrap)
        + _warp_behind(scrap, across, warp_px)
        + path("d-edge", under.d, stroke_width=weft_px)
        + path("d-done", over.d, stroke_width=warp_px)
        + lettering("d-quiet", (SIDE, scrap.bottom + 14), f"{short(side_mm, 1)} mm of it; warp runs down")
    )
    text = f"{THREADS} warp threads and {weft} weft threads on {short(side_mm, 1)} mm."
    view = Rect(0, 0, WIDTH, scrap.bottom + 22)
    return drawn(Picture(view, "A scrap of the cloth in plain weave", text, prefix, "close", 1, 11), body)


def _warp_behind(scrap: Rect, across: float, warp_px: float) -> str:
    pen = Pen(places=2)
    for end in range(THREADS):
        x = scrap.left + (end + 0.5) * across
        pen.run(((x, scrap.top), (x, scrap.bottom)))
    return mark("path", "d-done", d=pen.d, stroke_width=warp_px)
