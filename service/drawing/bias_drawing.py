"""Bias: the cloth with its strips as they are cut, and two strip ends laid for their join, with the ears."""

from service.drawing.pen import Pen
from service.drawing.svg import Picture, box, drawn, lettering, mark, path, said, short
from service.reckoning.bias import BiasPlan
from service.reckoning.piecing import Join, Quad
from service.reckoning.shapes import Point, Rect
from service.reckoning.strips import Strip

PX, ROOM_PX = 340.0, 26.0
LONGEST_SHAPE = 6.0  # the cloth's longer side in shorter sides; what lies beyond is not drawn
MOST_DRAWN, MOST_NUMBERED = 400, 40
LETTERS_PX = 11.0


def bias_drawing(plan: BiasPlan, prefix: str = "bias") -> str:
    """Return the cloth to scale with its strips as SVG; those the edge takes are filled and numbered."""
    cloth = plan.cloth
    reach = LONGEST_SHAPE * min(cloth.width, cloth.height)
    shown = Rect(0, 0, min(cloth.width, reach), min(cloth.height, reach))
    strips = [strip for strip in plan.strips[:MOST_DRAWN] if _lies_in(strip, shown)]
    unit = max(shown.width / (PX - 2 * ROOM_PX), shown.height / (1.5 * PX))
    taken = {piece.strip for piece in plan.pieces}
    body = (
        box("d-piece", shown)
        + "".join(_strip(strip, is_taken=strip.number in taken) for strip in strips)
        + _numbers([strip for strip in strips if strip.number in taken], unit)
        + _sides(plan, shown, unit)
    )
    number = "1 strip" if len(plan.strips) == 1 else f"{len(plan.strips)} strips"
    cut, width, height = (said(length) for length in (plan.cut_width_mm, cloth.width, cloth.height))
    text = (
        f"{number} {cut} mm wide across {width} by {height} mm of cloth; {len(strips)} of them are drawn."
        if len(strips) < len(plan.strips)
        else f"{number} {cut} mm wide across {width} by {height} mm of cloth."
    )
    view = Rect(-ROOM_PX * unit, -ROOM_PX * unit, shown.right + ROOM_PX * unit, shown.bottom + ROOM_PX * unit)
    picture = Picture(view, "The cloth with its bias strips, to scale", text, prefix, "close", unit, LETTERS_PX * unit)
    return drawn(picture, body)


def join_drawing(join: Join, prefix: str = "join") -> str:
    """Return two strip ends laid right sides together for their join, as SVG to scale."""
    points = [*join.under, *join.upper]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    top, bottom = -max(y for _, y in points), -min(y for _, y in points)
    unit = (right - left) / (PX - 2 * ROOM_PX)
    view = Rect(left - ROOM_PX * unit, top - 2 * ROOM_PX * unit, right + ROOM_PX * unit, bottom + ROOM_PX * unit)
    stitching = Pen(places=2)
    stitching.run([_turned(point) for point in join.stitching])
    middle = sum(x for x, _ in join.stitching) / 2
    ear = f"ear {short(join.ear_mm, 2)} mm" if join.ear_mm else "no seam allowance"
    body = (
        _quad("d-piece", join.under)
        + _quad("d-open", join.upper, fill_opacity=0.6)
        + "".join(_quad("d-hem", triangle) for triangle in join.ears)
        + path("d-done", stitching.d, stroke_width=2 * unit, stroke_dasharray=f"{5 * unit:.3f} {3 * unit:.3f}")
        + lettering("d-text", (middle, top - 1.1 * ROOM_PX * unit), f"{ear}, square to the seam", text_anchor="middle")
        + lettering("d-quiet", (middle, bottom), "dashes: the stitching", text_anchor="middle")
    )
    text = (
        f"Each ear stands {short(join.ear_mm, 2)} mm beyond the stitching line; "
        f"the tips lie {short(join.tips_apart_mm, 2)} mm apart along the raw ends."
    )
    picture = Picture(view, "Two strips laid for their join", text, prefix, "close", unit, LETTERS_PX * unit)
    return drawn(picture, body)


def _lies_in(strip: Strip, shown: Rect) -> bool:
    slack = 1e-6
    return all(x <= shown.right + slack and y <= shown.bottom + slack for x, y in strip.outline)


def _strip(strip: Strip, *, is_taken: bool) -> str:
    pen = Pen(places=2)
    pen.run(strip.outline, closed=True)
    return (path("d-hem", pen.d) if is_taken else "") + path("d-edge", pen.d)


def _numbers(strips: list[Strip], unit: float) -> str:
    if len(strips) > MOST_NUMBERED:
        return ""
    return "".join(
        lettering("d-text", (_middle(strip)[0], _middle(strip)[1] + 4 * unit), f"{strip.number}", text_anchor="middle")
        for strip in strips
    )


def _middle(strip: Strip) -> Point:
    return sum(x for x, _ in strip.outline) / 4, sum(y for _, y in strip.outline) / 4


def _sides(plan: BiasPlan, shown: Rect, unit: float) -> str:
    """The two sides of the cloth in words; the warp runs down."""
    cloth = plan.cloth
    across = f"{said(cloth.width)} mm across" + ("" if cloth.width == shown.width else ", in part")
    down = f"{said(cloth.height)} mm along the warp" + ("" if cloth.height == shown.height else ", in part")
    return lettering("d-text", (0, -8 * unit), across) + lettering("d-text", (0, shown.bottom + 16 * unit), down)


def _turned(point: Point) -> Point:
    """A point of the join, where up is above zero, on the drawing, where down is."""
    return point[0], -point[1]


def _quad(ink: str, corners: Quad | tuple[Point, Point, Point], **more: float) -> str:
    written = " ".join(f"{x:.3f},{y:.3f}" for x, y in map(_turned, corners))
    return mark("polygon", ink, points=written, **more)
