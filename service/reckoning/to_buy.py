"""The cloth that one planned garment takes: its blocks with their tucks, and the bias of its bindings, laid out."""

from service.reckoning.bias_block import Binding, bias_block
from service.reckoning.blocks import Block
from service.reckoning.layout import ClothAsk, ClothPlan, plan_cloth
from service.reckoning.plans import GarmentPlan


def cloth_to_buy(
    plan: GarmentPlan, role: str, cloth_width_mm: float, shrink_percent: tuple[float, float] = (0, 0)
) -> ClothPlan | None:
    """Return how a garment's blocks and bias in one role lie on a cloth so wide; None where nothing is cut of it.

    `shrink_percent` is what the cloth loses along the warp and along the weft. Raises Wrong when a block is wider than
    the cloth.
    """
    blocks = [
        Block(panel.name, panel.cut_width_mm, panel.cut_height_mm) for panel in plan.panels if panel.cloth == role
    ]
    bindings = [
        Binding(section.after.length_mm, section.design.finished_width_mm, section.design.binding_seam_mm)
        for section in plan.sections
        if section.kind == "binding" and section.after.length_mm and section.design.finished_width_mm
        if (section.design.cloth or plan.panel(section.panels[0]).cloth) == role
    ]
    bias = bias_block(bindings, cloth_width_mm)
    if bias is not None:
        blocks.append(bias)
    return plan_cloth(ClothAsk(tuple(blocks), cloth_width_mm, 0, *shrink_percent)) if blocks else None
