"""One design in its sizes on chosen cloths: each planned, with the cloth it takes; one kept as a design of its own."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

from sqlmodel import select

from service.errors import Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_faults import faults_of
from service.reckoning.design_text import read_design
from service.reckoning.designs import ClothCounts, Design
from service.reckoning.guesses import STATED
from service.reckoning.plans import GarmentPlan
from service.reckoning.sizes import SizeRange, size_range, sized
from service.reckoning.to_buy import cloth_to_buy
from service.records import tables
from service.records.db import Reading, Writing
from service.studio.design_parts import free_key
from service.studio.designs import add_design, design_with
from service.studio.guesses import guesses_of

USUAL_WIDTH_MM = 1400.0  # of a cloth nobody has measured yet: common practice, no source


@dataclass(frozen=True, slots=True)
class OnCloth:
    """The cloth chosen for one role: its counts, its width, what it shrinks along warp and weft in percent."""

    counts: ClothCounts
    width_mm: float = USUAL_WIDTH_MM
    shrink_percent: tuple[float, float] = (0, 0)


@dataclass(frozen=True, slots=True)
class Length:
    """The cloth to buy in one role: its length in mm, or why it cannot be laid out."""

    role: str
    buy_mm: int | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class InSize:
    """A design in one size, planned, with the cloth it takes."""

    size_cm: int
    design: Design
    plan: GarmentPlan
    to_buy: tuple[Length, ...]


@dataclass(frozen=True, slots=True)
class Undrawn:
    """A size in which the design cannot be drawn by rule, and why."""

    size_cm: int
    why: str


@dataclass(frozen=True, slots=True)
class EverySize:
    """What a design is sized by, each of its sizes, and those in which it cannot be drawn."""

    sizes: SizeRange
    drawn: tuple[InSize, ...]
    undrawn: tuple[Undrawn, ...]


def in_size(design: Design, size_cm: int | None) -> Design:
    """A design in that size, its own where none is named; refused at its field when it cannot be had in it."""
    if size_cm is None:
        return design
    try:
        found = sized(design, size_cm)
    except Wrong as wrong:
        raise Unreadable({"size": f"In this size it cannot be drawn: {wrong.field} {wrong.sentence}."}) from wrong
    if faults := faults_of(found):
        told = f"{faults[0].field} {faults[0].sentence}"
        raise Unreadable({"size": f"In this size it cannot be drawn by rule: {told}. Copy the design and redraw it."})
    return found


def in_every_size(db: Reading | Writing, row: tables.Design, cloths: Mapping[str, OnCloth]) -> EverySize | None:
    """A design in its sizes, on the cloths chosen or else on those it was drawn up for; None where it has but one."""
    design = read_design(row.document)
    sizes = size_range(design.size)
    if sizes is None:
        return None
    chosen = {role: OnCloth(counts) for role, counts in own_cloths(design).items()} | dict(cloths)
    guesses = tuple(guesses_of(db).items())
    every = [_planned(row.document, size_cm, tuple(chosen.items()), guesses) for size_cm in sizes.sizes_cm]
    return EverySize(
        sizes,
        tuple(one for one in every if isinstance(one, InSize)),
        tuple(one for one in every if isinstance(one, Undrawn)),
    )


@lru_cache(maxsize=64)
def _planned(
    document: str, size_cm: int, on: tuple[tuple[str, OnCloth], ...], guesses: tuple[tuple[str, float], ...]
) -> InSize | Undrawn:
    try:
        design = in_size(read_design(document), size_cm)
    except Unreadable as unreadable:
        return Undrawn(size_cm, unreadable.faults["size"])
    plan = plan_garment(design, {role: cloth.counts for role, cloth in on}, guesses=dict(guesses) or STATED)
    lengths = (_length(plan, role, cloth) for role, cloth in on)
    return InSize(size_cm, design, plan, tuple(length for length in lengths if length.buy_mm or length.why))


def _length(plan: GarmentPlan, role: str, cloth: OnCloth) -> Length:
    try:
        laid = cloth_to_buy(plan, role, cloth.width_mm, cloth.shrink_percent)
    except Wrong as wrong:
        return Length(role, None, wrong.sentence)
    return Length(role, laid.buy_mm if laid else None)


def keep_size(db: Writing, design_id: int, size_cm: int, at: datetime) -> tables.Design:
    """The design in that size, kept as a design of its own to be changed by hand."""
    design = in_size(read_design(design_with(db, design_id).document), size_cm)
    taken = set(db.exec(select(tables.Design.key)))
    key = free_key(f"{design.key} {size_cm}", taken, "design")
    return add_design(db, replace(design, key=key, name=f"{design.name}, {size_cm}"), at)
