"""Cloth to buy: the blocks as they lie on the cloth, to scale, selvedges at the sides."""

from service.drawing.svg import Picture, box, drawn, lettering, mark, said, titled
from service.reckoning.layout import ClothAsk, ClothPlan, PlacedBlock
from service.reckoning.shapes import Rect

PX, ROOM_PX = 340.0, 24.0
LETTERS_PX = 11.0
LETTER_WIDE = 0.6  # of the size of the lettering


def layout_drawing(ask: ClothAsk, plan: ClothPlan, prefix: str = "layout") -> str:
    """Return the layout as SVG; the cloth's width runs across, its length down from the cut end."""
    unit = ask.cloth_width_mm / (PX - 2 * ROOM_PX)
    letters = LETTERS_PX * unit
    cloth = Rect(0, 0, ask.cloth_width_mm, plan.length_mm)
    body = (
        box("d-piece", cloth)
        + _selvedges(ask, plan)
        + "".join(_block(one, unit, letters) for one in plan.placements)
        + lettering("d-text", (0, -8 * unit), f"{said(ask.cloth_width_mm)} mm wide")
        + lettering("d-text", (0, plan.length_mm + 16 * unit), f"{said(plan.length_mm)} mm long")
    )
    blocks = f"{len(plan.placements)} {'block' if len(plan.placements) == 1 else 'blocks'}"
    text = f"{blocks} on {said(ask.cloth_width_mm)} by {said(plan.length_mm)} mm of cloth."
    view = Rect(-ROOM_PX * unit, -ROOM_PX * unit, cloth.right + ROOM_PX * unit, cloth.bottom + ROOM_PX * unit)
    picture = Picture(view, "The blocks on the cloth, to scale", text, prefix, "panel", unit, letters)
    return drawn(picture, body)


def _selvedges(ask: ClothAsk, plan: ClothPlan) -> str:
    if not ask.selvedge_mm:
        return ""
    right = ask.cloth_width_mm - ask.selvedge_mm
    sides = (Rect(0, 0, ask.selvedge_mm, plan.length_mm), Rect(right, 0, ask.cloth_width_mm, plan.length_mm))
    return "".join(box("d-gap", side) for side in sides)


def _block(one: PlacedBlock, unit: float, letters: float) -> str:
    size = f"{said(one.width_mm)} × {said(one.height_mm)} mm"
    name = f"{one.name} (spare)" if one.spare else one.name
    rect = mark(
        "rect",
        "d-open",
        titled(f"{name}, {size}"),
        x=one.x_mm,
        y=one.y_mm,
        width=one.width_mm,
        height=one.height_mm,
        stroke_dasharray=f"{4 * unit:.3f} {3 * unit:.3f}" if one.spare else None,
    )
    middle = (one.x_mm + one.width_mm / 2, one.y_mm + one.height_mm / 2)
    fits = one.height_mm > 1.4 * letters
    words = _shortened(name, one.width_mm / (LETTER_WIDE * letters)) if fits else ""
    label = lettering("d-text", (middle[0], middle[1] + 4 * unit), words, text_anchor="middle") if words else ""
    if label and one.height_mm > 4 * letters and len(size) * LETTER_WIDE * letters < one.width_mm:
        label += lettering("d-quiet", (middle[0], middle[1] + 18 * unit), size, text_anchor="middle")
    return rect + label


def _shortened(words: str, most: float) -> str:
    """The words, cut short to so many letters; nothing where not even three would stand."""
    if len(words) <= most:
        return words
    return f"{words[: int(most) - 1].rstrip()}…" if most >= 4 else ""
