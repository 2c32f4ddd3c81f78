"""Materials of a quote: cloth, thread and supplies for its garments at the shelf's prices, each with its source."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from sqlmodel import col, func, select

from service.reckoning.asked import Wrong
from service.reckoning.bias_block import Binding, bias_block
from service.reckoning.blocks import Block
from service.reckoning.by_length import UM_PER, cost_minor
from service.reckoning.design_text import design_on_record
from service.reckoning.designs import SectionDesign
from service.reckoning.layout import ClothAsk, plan_cloth
from service.reckoning.lengths import CountUnit
from service.reckoning.mirrors import sections_drawn_up
from service.reckoning.money import half_up
from service.reckoning.shrink import to_cut_um
from service.reckoning.thread import LONGEST_NEEDLEFUL_MM, ThreadAsk, Worked, plan_thread
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts, parts_of
from service.records.tables import Cloth, ClothUse, Garment, Panel, QuoteGarment, Step, Supply, SupplyUse
from service.studio.cloth import shrink_percents
from service.studio.studio_settings import length_unit_of
from service.studio.thread_used import learned_by_thread, ratio_of
from service.studio.thread_work import thread_work

UM_PER_M = 1_000_000
SEWN_ON = ("closure", "lace")
UNITS = {"m": "m", "piece": "", "skein": "skeins"}


@dataclass(frozen=True, slots=True)
class Figured:
    """One line as it was figured: what of, where its figure comes from, what it comes to."""

    key: str
    kind: str
    words: str
    source: str
    amount_minor: int


@dataclass(frozen=True)
class Piece:
    """A garment with its parts and its sections as drawn up."""

    garment: Garment
    parts: Parts

    @cached_property
    def drawn(self) -> dict[str, SectionDesign]:
        """Its sections as drawn up, by key."""
        return sections_drawn_up(design_on_record(self.garment.document))

    def bindings(self, roles: set[str], *, elsewhere: bool = False) -> list[Binding]:
        """The edges bound in bias of cloth in one of these roles, or in none of them."""
        return [
            Binding(section.length_um / 1000, drawn.finished_width_mm, drawn.binding_seam_mm)
            for section in self.parts.sections
            if section.kind == "binding" and section.length_um
            for drawn in [self.drawn.get(section.key)]
            if drawn is not None and drawn.finished_width_mm and (drawn.cloth in roles) != elsewhere
        ]


def materials_of(db: Reading | Writing, garments: Sequence[Garment], skein_um: int) -> list[Figured]:
    """The lines of what these garments are made of."""
    pieces = [Piece(garment, parts_of(db, garment.id)) for garment in garments if garment.id is not None]
    return [*_cloth_lines(db, pieces), *_thread_lines(db, pieces, skein_um), *_supply_lines(db, garments)]


def supply_line(supply: Supply, amount_thousandths: int, key: str, unit: CountUnit) -> Figured:
    """So much of a supply at the shelf's price, in yards where the studio measures in inches."""
    amount = f"{amount_thousandths / 1000:g} {UNITS[supply.unit]}".strip()
    price = _priced(supply.price_minor, Fraction(amount_thousandths, 1000))
    if supply.unit == "m":
        length_um = amount_thousandths * 1000
        amount = f"{length_um / UM_PER[unit]:.3g} yd" if unit == "in" else amount
        price = half_up(cost_minor(supply.price_minor or 0, length_um, unit))
    return Figured(key, "supply", f"{supply.name}, {amount}", _from_shelf(supply.price_minor, amount), price)


def sewn_on(db: Reading | Writing, quote_id: int) -> dict[str, int]:
    """Lace (in cm) and closures that the garments of a quote are sewn with, in tenths; no plan says of which kind."""
    amounts = (
        select(col(Step.operation), func.sum(Step.quantity_tenths))
        .join(QuoteGarment, col(QuoteGarment.garment_id) == Step.garment_id)
        .where(QuoteGarment.quote_id == quote_id, col(Step.operation).in_(SEWN_ON))
        .group_by(col(Step.operation))
        .order_by(col(Step.operation))
    )
    return {name: int(tenths) for name, tenths in db.exec(amounts) if tenths}


def _priced(price_minor: int | None, amount: Fraction) -> int:
    return half_up(Fraction(price_minor or 0) * amount)


def _from_shelf(price_minor: int | None, how_much: str) -> str:
    if price_minor is None:
        return f"{how_much}; no price on the shelf: enter what it costs"
    return f"{how_much} at the shelf's price"


def _cloth_lines(db: Reading | Writing, pieces: Sequence[Piece]) -> Iterator[Figured]:
    panels: dict[int, list[tuple[Piece, Panel]]] = defaultdict(list)
    for piece in pieces:
        for panel in piece.parts.panels:
            panels[panel.cloth_id].append((piece, panel))
    for cloth_id, cut_from in panels.items():
        yield _cloth_line(db, db.get_one(Cloth, cloth_id), cut_from)
    for piece in pieces:
        if piece.bindings({panel.cloth_role for panel in piece.parts.panels}, elsewhere=True):
            source = "its cloth is named apart from the panels’, so its length is not reckoned: enter what it costs"
            words = f"Bias for the bindings of {piece.garment.name}"
            yield Figured(f"bias:{piece.garment.id}", "cloth", words, source, 0)


def _cloth_line(db: Reading | Writing, cloth: Cloth, cut_from: Sequence[tuple[Piece, Panel]]) -> Figured:
    ids = [panel.id for _, panel in cut_from]
    used = select(col(ClothUse.panel_id), func.sum(ClothUse.change_um)).where(col(ClothUse.panel_id).in_(ids))
    cut = {number: -int(change) for number, change in db.exec(used.group_by(col(ClothUse.panel_id))) if change < 0}
    to_cut = [(piece, panel) for piece, panel in cut_from if panel.id not in cut]
    needed_um = _needed_um(cloth, to_cut)
    cut_m, needed_m = f"{sum(cut.values()) / UM_PER_M:.3f}", f"{needed_um / UM_PER_M:.3f}"
    if not to_cut:
        told = f"{cut_m} m cut"
    elif cut:
        told = f"{cut_m} m cut, {needed_m} m still needed, laid on {cloth.width_um / 10_000:g} cm"
    else:
        told = f"{needed_m} m still needed, laid on {cloth.width_um / 10_000:g} cm"
    length_um = sum(cut.values()) + needed_um
    amount = half_up(cost_minor(cloth.price_minor_per_m or 0, length_um, length_unit_of(db)))
    source = _from_shelf(cloth.price_minor_per_m, told)
    return Figured(f"cloth:{cloth.id}", "cloth", cloth.name, source, amount)


def _needed_um(cloth: Cloth, to_cut: Sequence[tuple[Piece, Panel]]) -> int:
    """The length that the blocks not cut yet and their bias take; block by block where they cannot be laid."""
    blocks = [
        Block(f"{piece.garment.name}, {panel.name}", panel.cut_width_um / 1000, panel.cut_height_um / 1000)
        for piece, panel in to_cut
    ]
    roles: dict[int | None, tuple[Piece, set[str]]] = {}
    for piece, panel in to_cut:
        roles.setdefault(piece.garment.id, (piece, set()))[1].add(panel.cloth_role)
    for piece, names in roles.values():
        if block := bias_block(piece.bindings(names), cloth.width_um / 1000):
            blocks.append(replace(block, name=f"{piece.garment.name}, bias"))
    if not blocks:
        return 0
    try:
        plan = plan_cloth(ClothAsk(tuple(blocks), cloth.width_um / 1000, 0, *shrink_percents(cloth)))
    except Wrong:
        return sum(to_cut_um(round(block.height_mm * 1000), cloth.shrink_warp_bp) for block in blocks)
    return round(plan.length_mm * 1000)


def _thread_lines(db: Reading | Writing, pieces: Sequence[Piece], skein_um: int) -> Iterator[Figured]:
    amounts: dict[str, dict[tuple[str, float | None], float]] = defaultdict(lambda: defaultdict(float))
    for piece in pieces:
        for thread, rows in thread_work(piece.parts.sections, piece.parts.steps, piece.drawn).items():
            for row, quantity in rows.items():
                amounts[thread][row] += quantity
    prices, known = _thread_prices(db), learned_by_thread(db)
    for thread, rows in amounts.items():
        work = tuple(Worked(name, quantity, width) for (name, width), quantity in rows.items())
        try:
            plan = plan_thread(ThreadAsk(work, skein_um / 1000, LONGEST_NEEDLEFUL_MM, ratio_of(known, thread)))
        except Wrong:
            continue
        words = thread or "Sewing thread that no design names"
        skeins = "1 skein" if plan.skeins == 1 else f"{plan.skeins} skeins"
        corrected = ", corrected by what was really used before" if known else ""
        told = f"{skeins}, {plan.working_thread_mm / 1000:.1f} m of working thread by the reckoner{corrected}"
        price = prices.get(thread.casefold())
        yield Figured(
            f"thread:{thread}"[:300], "thread", words, _from_shelf(price, told), _priced(price, Fraction(plan.skeins))
        )


def _thread_prices(db: Reading | Writing) -> dict[str, int | None]:
    """The price of a skein of every thread on the shelf, by its name."""
    found = select(Supply.name, Supply.price_minor).where(
        Supply.kind == "thread", Supply.unit == "skein", col(Supply.put_away).is_(False)
    )
    return {name.casefold(): price for name, price in db.exec(found.order_by(col(Supply.id)))}


def _supply_lines(db: Reading | Writing, garments: Sequence[Garment]) -> Iterator[Figured]:
    """Supplies written down as used for these garments; thread has lines of its own, by the reckoner."""
    ids = [garment.id for garment in garments]
    used = (
        select(col(SupplyUse.supply_id), func.sum(SupplyUse.change_thousandths))
        .join(Supply, col(Supply.id) == SupplyUse.supply_id)
        .where(col(SupplyUse.garment_id).in_(ids), Supply.kind != "thread")
        .group_by(col(SupplyUse.supply_id))
        .order_by(col(SupplyUse.supply_id))
    )
    for supply_id, change in db.exec(used):
        if change < 0:
            yield supply_line(db.get_one(Supply, supply_id), -int(change), f"supply:{supply_id}", length_unit_of(db))
