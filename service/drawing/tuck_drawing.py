"""Tucks: the flat block with its lines, and the panel edge on when they are made, to one scale about the centre."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, path, said
from service.reckoning.shapes import Rect
from service.reckoning.tucks import Line, TucksAsk, TucksPlan

WIDTH, SIDE = 340.0, 12.0
FLAT_TOP, FLAT_HEIGHT = 34.0, 92.0
EDGE_ON = 190.0
HIGHEST_LEAF = 32.0
KEY = 212.0
MOST_NUMBERED = 14
DASHES = {"fold": "5 3", "knotted": None, "band_edge": "1.5 2"}
INKS = {"fold": "d-done", "knotted": "d-thread", "band_edge": "d-pencil"}
WORDS = {"fold": "fold", "knotted": "knotted line", "band_edge": "edge of the drawn strip"}


def tuck_drawing(ask: TucksAsk, plan: TucksPlan, prefix: str = "tucks") -> str:
    """Return the drawing as SVG: lines on the block above, the tucks pressed outwards below."""
    scale = (WIDTH - 2 * SIDE) / plan.block_width_mm
    middle = WIDTH / 2
    flat = Rect(SIDE, FLAT_TOP, WIDTH - SIDE, FLAT_TOP + FLAT_HEIGHT)
    lines = [(line.line, line.tuck, middle + line.from_centre_mm * scale) for line in plan.lines]
    body = (
        lettering("d-text", (SIDE, 14), f"The flat block, {said(plan.block_width_mm)} mm")
        + box("d-piece", flat)
        + _strips(lines)
        + "".join(_drawn(kind, lines) for kind in ("band_edge", "knotted", "fold"))
        + _centre(middle)
        + _numbers(ask, lines)
        + lettering("d-text", (SIDE, 148), f"With the tucks made, edge on: {said(ask.finished_width_mm)} mm")
        + _edge_on(ask, plan, scale)
        + _key("band_edge" in {line.line for line in plan.lines})
    )
    text = f"{_tucks(ask)}, {said(plan.take_up_mm)} mm taken up; the block is {said(plan.block_width_mm)} mm wide."
    view = Rect(0, 0, WIDTH, KEY + 24)
    return drawn(Picture(view, "Tucks on the flat block and made", text, prefix, "close", 1.2, 11), body)


def _tucks(ask: TucksAsk) -> str:
    return f"{ask.tucks} {'tuck' if ask.tucks == 1 else 'tucks'}"


def _strips(lines: list[tuple[Line, int, float]]) -> str:
    """The drawn strips, from each knotted line to the band's edge beside it."""
    edges = [x for line, _, x in lines if line == "band_edge"]
    knotted = [x for line, _, x in lines if line == "knotted"]
    return "".join(
        box("d-gap", Rect(min(one, other), FLAT_TOP, max(one, other), FLAT_TOP + FLAT_HEIGHT))
        for one, other in zip(edges, knotted if edges else [], strict=True)
    )


def _drawn(kind: Line, lines: list[tuple[Line, int, float]]) -> str:
    pen = Pen(places=2)
    for line, _, x in lines:
        if line == kind:
            pen.run(((x, FLAT_TOP), (x, FLAT_TOP + FLAT_HEIGHT)))
    return path(INKS[kind], pen.d, stroke_dasharray=DASHES[kind])


def _centre(middle: float) -> str:
    pen = Pen()
    pen.run(((middle, FLAT_TOP - 8), (middle, FLAT_TOP)))
    pen.run(((middle, FLAT_TOP + FLAT_HEIGHT), (middle, FLAT_TOP + FLAT_HEIGHT + 8)))
    return path("d-working", pen.d)


def _numbers(ask: TucksAsk, lines: list[tuple[Line, int, float]]) -> str:
    """The tucks' numbers over their folds, with the centre thread's mark kept clear."""
    if ask.tucks > MOST_NUMBERED:
        return ""
    return "".join(
        lettering("d-quiet", (x + (7 if abs(x - WIDTH / 2) < 6 else 0), FLAT_TOP - 4), str(tuck), text_anchor="middle")
        for line, tuck, x in lines
        if line == "fold"
    )


def _edge_on(ask: TucksAsk, plan: TucksPlan, scale: float) -> str:
    """The cloth seen from its end: each tuck a leaf of two layers, pressed away from the centre."""
    deep = ask.depth_mm + (ask.band_width_mm if ask.opening_inside else 0)
    leaf = min(deep * scale, HIGHEST_LEAF / 0.5)
    pen = Pen(places=2)
    half = ask.finished_width_mm * scale / 2
    points = [(WIDTH / 2 - half, EDGE_ON)]
    for tuck in range(ask.tucks):
        from_centre = (tuck - (ask.tucks - 1) / 2) * plan.spacing_mm * scale
        x = WIDTH / 2 + from_centre
        tip = (x + (-0.87 if from_centre < 0 else 0.87) * leaf, EDGE_ON - 0.5 * leaf)
        points += [(x - 0.5, EDGE_ON), tip, (x + 0.5, EDGE_ON)]
    pen.run((*points, (WIDTH / 2 + half, EDGE_ON)))
    return path("d-working", pen.d)


def _key(has_band: bool) -> str:
    kinds: tuple[Line, ...] = ("fold", "knotted", "band_edge") if has_band else ("fold", "knotted")
    key, left = "", SIDE
    for kind in kinds:
        pen = Pen()
        pen.run(((left, KEY), (left + 20, KEY)))
        key += path(INKS[kind], pen.d, stroke_dasharray=DASHES[kind])
        key += lettering("d-quiet", (left + 24, KEY + 4), WORDS[kind])
        left += 40 + 5.5 * len(WORDS[kind])
    return key
