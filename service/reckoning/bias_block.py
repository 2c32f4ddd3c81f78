"""The block of cloth that the bias for several bindings is cut from."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.reckoning.asked import Wrong
from service.reckoning.bias import BiasAsk, plan_bias
from service.reckoning.blocks import Block
from service.reckoning.strips import ROOT_2

BESIDE_MM = 100.0


@dataclass(frozen=True, slots=True)
class Binding:
    """One edge to bind: its length, the finished width of the binding and its seam (the finished width if left out)."""

    edge_mm: float
    finished_width_mm: float
    seam_mm: float | None = None


def bias_block(bindings: Sequence[Binding], cloth_width_mm: float) -> Block | None:
    """Return a block that gives bias enough for all these edges, or None where there is none or it cannot be.

    As wide as gives strips of the longest edge's length, if the cloth is; all strips as wide as the widest binding's.

    >>> block = bias_block([Binding(300, 5)], 1400)
    >>> block.name, round(block.width_mm, 1)
    ('Bias', 312.1)
    """
    if not bindings:
        return None
    widest = max(bindings, key=lambda binding: binding.finished_width_mm)
    longest_mm = max(binding.edge_mm for binding in bindings)
    width_mm = min(cloth_width_mm, longest_mm / ROOT_2 + BESIDE_MM)
    edge_mm = sum(binding.edge_mm for binding in bindings)
    ask = BiasAsk(widest.finished_width_mm, "double", edge_mm, width_mm, binding_seam_mm=widest.seam_mm)
    try:
        return Block("Bias", width_mm, plan_bias(ask).cloth_height_mm)
    except Wrong:
        return None
