"""Blocks of cloth to cut: a panel's pattern and all that is added to it before cutting."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of cloth to cut, in mm as wanted after shrinking; `copies` of it.

    `on_fold`: the width is half the block's, laid with its edge on a fold and opened out to twice the width.
    """

    name: str
    width_mm: float
    height_mm: float
    copies: int = 1
    on_fold: bool = False
