"""The reckoner's page for cloth to buy: blocks on the straight grain, laid as short as can be found."""

import re
from dataclasses import dataclass, replace

from service.drawing.layout_drawing import layout_drawing
from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.bias_block import Binding, bias_block
from service.reckoning.blocks import Block
from service.reckoning.findings import Finding
from service.reckoning.folded import plan_folded
from service.reckoning.layout import ClothAsk, ClothPlan, WidthPlan, compare_widths, plan_cloth
from service.records.tables import Cloth, Panel, Studio
from service.studio.cloth import shrinkage_known
from service.web.cloth_forms import percent_typed
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_making import (
    FINE_UNIT,
    Answer,
    Filling,
    Page,
    Source,
    as_typed,
    cloth_panels,
    filled_rows,
    mm_of,
    rows_of,
)
from service.web.words import cloth_length, measure, tidy

ROWS = ("name", "width", "height", "copies", "half")
TYPED = ("name", "width", "height", "copies")
MOST_ROWS = 60
MOST_SHRINK = 90
FIELDS = {
    "cloth_width_mm": "cloth_width",
    "selvedge_mm": "selvedge",
    "shrink_warp_percent": "shrink_warp",
    "shrink_weft_percent": "shrink_weft",
    "widths_mm": "other_widths",
    "blocks": "width-1",
}
PARTS = {"width_mm": "width", "height_mm": "height", "copies": "copies"}


@dataclass(frozen=True, slots=True)
class Compared:
    """The same blocks on other widths of cloth."""

    widths: tuple[WidthPlan, ...]


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    del studio
    return {}


def answer(form: Form, studio: Studio) -> Answer | None:
    """The length of cloth that the blocks take, and how they lie on it."""
    rows = filled_rows(form, TYPED, MOST_ROWS)
    ask, others = _ask(form, studio, rows), _other_widths(form, studio)
    if ask is None or form.wrong:
        return None
    try:
        plan = plan_folded(ask) if form.ticked("folded") else plan_cloth(ask)
        compared = Compared(compare_widths(ask, others) if others else ())
    except Wrong as wrong:
        put(form, wrong, {**FIELDS, **_fields_of(wrong.field, rows)})
        return None
    told = f"Buy {cloth_length(plan.buy_mm * 1000, studio.length_unit)}: the blocks take {_long(plan, studio)}."
    return Answer(told, _figures(plan, studio), _findings(form, plan), (), (layout_drawing(ask, plan),), compared)


def block_rows(form: Form) -> tuple[int, ...]:
    """The rows of blocks to show."""
    return rows_of(form, TYPED, MOST_ROWS)


def _ask(form: Form, studio: Studio, rows: list[int]) -> ClothAsk | None:
    unit = studio.length_unit
    width = mm_of(form, "cloth_width", unit, called="the width of the cloth")
    selvedge = mm_of(form, "selvedge", FINE_UNIT[unit], called="the selvedge", needed=False, above=False)
    warp, weft = (
        form.decimal(f"shrink_{system}", called=f"the shrinkage along the {system}", most=MOST_SHRINK, needed=False)
        for system in ("warp", "weft")
    )
    if not rows:
        form.fault("width-1", "Enter one block at least: its width and its height.")
    blocks = tuple(_block(form, unit, at) for at in rows)
    if form.wrong or width is None:
        return None
    return ClothAsk(blocks, width, selvedge or 0, float(warp or 0), float(weft or 0))


def _block(form: Form, unit: str, at: int) -> Block:
    width = mm_of(form, f"width-{at}", unit, called="the width of the block")
    height = mm_of(form, f"height-{at}", unit, called="the height of the block")
    copies = form.whole(f"copies-{at}", called="the copies", least=1, most=500, needed=False)
    name = form.text(f"name-{at}", called="the name", most=60, needed=False) or f"Block {at}"
    half = form.ticked("folded") and form.ticked(f"half-{at}")
    return Block(name, width or 1, height or 1, copies or 1, on_fold=half)


def _other_widths(form: Form, studio: Studio) -> tuple[float, ...]:
    """Up to three more widths, written one after another."""
    typed = re.split(r"[\s;]+|,\s+", form.raw("other_widths"))
    widths = [_width(form, text, studio) for text in typed if text]
    if len(widths) > 3:
        form.fault("other_widths", "Compare three more widths at most.")
    return tuple(width for width in widths if width)


def _width(form: Form, text: str, studio: Studio) -> float | None:
    alone = Form({"width": text})
    um = alone.length_um("width", studio.length_unit, called="each width")
    if alone.wrong:
        form.fault("other_widths", "Write each width as a number, like 110 140 150.")
    return None if um is None else um / 1000


def _fields_of(field: str, rows: list[int]) -> dict[str, str]:
    """The form's name for a field of a block as the reckoning names it."""
    found = re.fullmatch(r"blocks\.(\d+)\.(\w+)", field)
    return {field: f"{PARTS[found[2]]}-{rows[int(found[1])]}"} if found else {}


def _findings(form: Form, plan: ClothPlan) -> tuple[Finding, ...]:
    """What the plan found, and what was left empty: nothing is added for a shrinkage that is not known."""
    return (*_not_known(form), *_of_folding(form, plan))


def _not_known(form: Form) -> tuple[Finding, ...]:
    warp, weft = (not form.raw(f"shrink_{system}") for system in ("warp", "weft"))
    if not warp and not weft:
        return ()
    way = "warp" if warp else "weft"
    text = (
        "What the cloth shrinks is not known, so nothing is added for it. Wash a swatch before you buy or cut, or "
        "enter 0 where the whole length is washed already."
        if warp and weft
        else f"What the cloth shrinks along the {way} is not known, so nothing is added for it. Wash a swatch before "
        "you buy or cut, or enter 0 where the whole length is washed already."
    )
    return (Finding("shrinkage_not_known", text),)


def _of_folding(form: Form, plan: ClothPlan) -> tuple[Finding, ...]:
    if form.ticked("folded") or not any(form.ticked(f"half-{at}") for at in range(1, MOST_ROWS + 1)):
        return plan.findings
    text = "Half blocks are cut on a fold: tick that the cloth is folded. Here they are laid as whole blocks."
    return (Finding("not_folded", text), *plan.findings)


def _long(plan: ClothPlan, studio: Studio) -> str:
    return measure(plan.length_mm * 1000, studio.length_unit)


def _figures(plan: ClothPlan, studio: Studio) -> tuple[tuple[str, str], ...]:
    least = measure(plan.least_mm * 1000, studio.length_unit)
    return (
        ("To buy", cloth_length(plan.buy_mm * 1000, studio.length_unit)),
        ("Length as laid", _long(plan, studio)),
        ("No layout can be shorter than", least),
        ("Left between the blocks", f"{tidy(plan.waste_percent)} %"),
    )


def fill(source: Source) -> tuple[Filling, ...]:
    """The blocks of each cloth of the garment, the bias for its bindings with them."""
    return tuple(_filling(source, cloth, panels) for cloth, panels in cloth_panels(source))


def _filling(source: Source, cloth: Cloth, panels: list[Panel]) -> Filling:
    unit = source.studio.length_unit
    fields = {
        "cloth_width": as_typed(cloth.width_um / 1000, unit),
        "shrink_warp": percent_typed(shrinkage_known(cloth)[0]),
        "shrink_weft": percent_typed(shrinkage_known(cloth)[1]),
    }
    blocks = [Block(panel.name, panel.cut_width_um / 1000, panel.cut_height_um / 1000) for panel in panels]
    bias = _bias_block(source, cloth, {panel.cloth_role for panel in panels})
    for at, block in enumerate([*blocks, *bias][:MOST_ROWS], 1):
        fields |= {
            f"name-{at}": block.name,
            f"width-{at}": as_typed(block.width_mm, unit, 2),
            f"height-{at}": as_typed(block.height_mm, unit, 2),
            f"copies-{at}": "1",
        }
    note = "" if bias else _bindings_elsewhere(source)
    return Filling(f"{len(panels)} {'panel' if len(panels) == 1 else 'panels'} of {cloth.name}", fields, note)


def _bias_block(source: Source, cloth: Cloth, roles: set[str]) -> list[Block]:
    """A block for the bindings cut from this cloth, wide enough for strips as long as the longest edge if it can be."""
    bindings = [
        Binding((section.length_um or 0) / 1000, drawn.finished_width_mm, drawn.binding_seam_mm)
        for section in source.parts.sections
        if section.kind == "binding" and section.length_um
        for drawn in [source.drawn.get(section.key)]
        if drawn is not None and drawn.cloth in roles and drawn.finished_width_mm
    ]
    block = bias_block(bindings, cloth.width_um / 1000)
    return [] if block is None else [replace(block, name=said(block.name))]


def _bindings_elsewhere(source: Source) -> str:
    if not any(section.kind == "binding" for section in source.parts.sections):
        return ""
    return "Its bindings are cut from another cloth: ask for them under bias."


PAGE = Page(
    "cloth",
    frozenset({"cloth_width", "selvedge", "shrink_warp", "shrink_weft", "other_widths", "folded", *ROWS}),
    usual,
    answer,
    fill,
    {"block_rows": block_rows},
)
