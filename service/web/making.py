"""Pages of making a garment: a design on chosen cloths, section by section, before anything is promised."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, get_args

from fastapi import APIRouter, Query
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import NotFound, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.bands import LeftOverWay
from service.reckoning.design_text import read_design
from service.reckoning.designs import Design
from service.reckoning.plans import BundleChoice, DepthChoice, SectionChoice
from service.reckoning.sizes import size_range, size_words
from service.records import tables
from service.records.db import Reading, Writing
from service.records.queries.cloth import readings_that_count
from service.records.tables import Cloth, Commission, Studio
from service.studio import child
from service.studio.cloth import CountsNow, counts_from
from service.studio.making import Drafted, MakingAsk, draft, make_garment
from service.web.deps import Desk, Id, Now, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.making_pages import making_of
from service.web.words import count_number, per

router = APIRouter(include_in_schema=False)
BLOCKS = ("plan", "asked")


@dataclass(frozen=True, slots=True)
class ShelfCloth:
    """A cloth to choose from, with its counts."""

    cloth: Cloth
    counts: CountsNow


@router.get("/designs/{design_id}/make")
def show_commissions_to_make_for(
    desk: OwnerDesk, db: Reads, design_id: Id, size: Annotated[str, Query(pattern=r"\d{0,3}")] = ""
) -> Response:
    design = _design_row(db, design_id)
    commissions = db.exec(
        select(Commission)
        .where(col(Commission.state).in_(("asked", "quoted", "agreed")))
        .order_by(col(Commission.wanted_on), col(Commission.id))
        .limit(200)
    ).all()
    return desk.page("garments/make_for.html", "designs", design=design, commissions=commissions, size=size)


@router.get("/commissions/{commission_id}/make")
def show_making(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    form = Form(dict(desk.request.query_params))
    pressed = "hx-target" not in desk.request.headers and any(name.startswith("cloth.") for name in form.values)
    if pressed and _chosen(db, form) is None:
        _tell_what_is_missing(db, form)
    return _making_page(desk, db, commission_id, form)


@router.post("/commissions/{commission_id}/make")
def make(desk: OwnerDesk, form: Typed, db: Writes, at: Now, commission_id: Id) -> Response:
    _commission(db, commission_id)
    chosen = _chosen(db, form)
    if chosen is None or form.wrong:
        _tell_what_is_missing(db, form)
        return _making_page(desk, db, commission_id, form, 422)
    design_id, design, cloths = chosen
    name = form.text("name", called="the garment's name", needed=False)
    drafted = _drafted(db, design_id, design, cloths, form)
    if drafted is not None and drafted.plan.waits:
        form.fault("", "Some sections wait for a choice. Choose for each one marked below, then make it.")
    if drafted is None or form.wrong:
        return _making_page(desk, db, commission_id, form, 422)
    ask = MakingAsk(commission_id, design_id, cloths, _choices(form, design), name, size_of(form, design))
    garment = make_garment(db, ask, at)
    return desk.go(f"/garments/{garment.id}")


def _tell_what_is_missing(db: Reading | Writing, form: Form) -> None:
    """Note what is to be chosen before anything can be made."""
    design = _read(db, form)
    if design is None:
        form.fault("design", "Choose a design.")
        return
    for cloth in design.cloths:
        if not form.raw(f"cloth.{cloth.role}"):
            form.fault(f"cloth.{cloth.role}", f"Choose a cloth for the {cloth.role}.")


def _making_page(desk: Desk, db: Reading | Writing, commission_id: int, form: Form, status: int = 200) -> Response:
    commission = _commission(db, commission_id)
    current = select(tables.Design).where(tables.Design.state == "current").order_by(col(tables.Design.name))
    designs = list(db.exec(current).all())
    design_row = _design_named(db, form)
    if design_row is not None and design_row not in designs:
        designs.append(design_row)  # an older drawing is made on purpose
    chosen = _chosen(db, form)
    drafted = None
    if chosen is not None and not any(field.startswith(("design", "cloth.")) for field in form.errors):
        design_id, design, cloths = chosen
        drafted = _drafted(db, design_id, design, cloths, form)
    shelf = shelf_of(db)
    asked_for = desk.request.headers.get("hx-target", "")
    assert desk.studio
    making = None
    read = _read(db, form)
    if drafted is not None:
        making = making_of(drafted, {item.cloth.id: item.cloth for item in shelf}, desk.studio.length_unit)
    return desk.page(
        "garments/make.html",
        "commissions",
        status=422 if form.wrong and status == 200 else status,
        block=asked_for if asked_for in BLOCKS else BLOCKS[0],
        form=form,
        commission=commission,
        designs=designs,
        design=design_row,
        shelf=shelf,
        making=making,
        sizes=_size_options(read),
        size_hint=_size_hint(db, commission, read),
        **cloth_fields(desk.studio, form, shelf, read),
    )


def _read(db: Reading | Writing, form: Form) -> Design | None:
    row = _design_named(db, form)
    return None if row is None else read_design(row.document)


def _size_options(design: Design | None) -> list[tuple[str, str]]:
    """The sizes a design can be made in; none when it says none."""
    sizes = None if design is None else size_range(design.size)
    if design is None or sizes is None:
        return []
    others = (size_cm for size_cm in sizes.sizes_cm if size_cm != sizes.own_cm)
    return [("", f"as drawn up: {design.size}"), *((str(size_cm), size_words(sizes, size_cm)) for size_cm in others)]


def _size_hint(db: Reading | Writing, commission: Commission, design: Design | None) -> str:
    """The size that the commission's child is reckoned to need on the day, where it can be."""
    sizes = None if design is None else size_range(design.size)
    if sizes is None or sizes.by != "height" or commission.id is None:
        return ""
    try:
        found = child.fit_of(commission, child.measures_of(db, commission.id)).size
    except Wrong:
        return ""
    roomy = f", or {found.likely_high} to have room" if found.likely_high > found.middle else ""
    return f"Reckoned for the day: size {found.middle}{roomy}."


def size_of(form: Form, design: Design) -> int | None:
    """The size chosen, None for the one it is drawn up in; a fault at the field for one it cannot be had in."""
    typed, sizes = form.raw("size"), size_range(design.size)
    if not typed:
        return None
    if sizes is None or typed not in {str(size_cm) for size_cm in sizes.sizes_cm}:
        form.fault("size", "Choose one of the sizes that this design can be had in.")
        return None
    return None if int(typed) == sizes.own_cm else int(typed)


def cloth_fields(studio: Studio, form: Form, shelf: list[ShelfCloth], design: Design | None) -> dict[str, Any]:
    """What a page needs to ask for the cloths of a design."""
    options = [(item.cloth.id, _with_counts(item, studio.count_unit)) for item in shelf]
    return {
        "roles": () if design is None else design.cloths,
        "panels": () if design is None else design.panels,
        "cloth_options": [("", "Choose a cloth"), *options],
        "other_options": [("", "the same as above"), *options],
        "panel_cloths": design is not None and any(form.raw(f"cloth.{panel.key}") for panel in design.panels),
    }


def _with_counts(item: ShelfCloth, unit: str) -> str:
    warp, weft = item.counts.warp, item.counts.weft
    if warp is None or weft is None:
        return f"{item.cloth.name} (not counted yet)"
    return f"{item.cloth.name} ({count_number(warp.threads_per_cm, unit)} × {per(weft.threads_per_cm, unit)})"


def _chosen(db: Reading | Writing, form: Form) -> tuple[int, Design, dict[str, int]] | None:
    """The design and cloths chosen so far; None until there is a cloth for every role."""
    row = _design_named(db, form)
    if row is None or row.id is None:
        return None
    design = read_design(row.document)
    cloths: dict[str, int] = {}
    for name in (*(cloth.role for cloth in design.cloths), *(panel.key for panel in design.panels)):
        chosen = form.number_of(f"cloth.{name}", called="a cloth from the shelf", needed=False)
        if chosen is not None:
            if db.get(Cloth, chosen) is None:
                form.fault(f"cloth.{name}", "Choose a cloth from the shelf.")
            cloths[name] = chosen
    if any(cloth.role not in cloths for cloth in design.cloths):
        return None
    return row.id, design, cloths


def _choices(form: Form, design: Design) -> dict[str, SectionChoice]:
    """The choices made so far, by section; words that are no choice fall back to the usual one."""
    made: dict[str, SectionChoice] = {}
    for section in design.every_section:
        depth: DepthChoice = "keep_threads" if form.raw(f"depth.{section.key}") == "keep_threads" else "keep_width"
        bundle: BundleChoice = "keep_width" if form.raw(f"bundle.{section.key}") == "keep_width" else "keep_threads"
        ways: dict[str, LeftOverWay] = {way: way for way in get_args(LeftOverWay)}
        made[section.key] = SectionChoice(
            depth, bundle, ways.get(form.raw(f"left.{section.key}")), form.ticked(f"accept.{section.key}")
        )
    return {key: choice for key, choice in made.items() if choice != SectionChoice()}


def _drafted(
    db: Reading | Writing, design_id: int, design: Design, cloths: Mapping[str, int], form: Form
) -> Drafted | None:
    size_cm = size_of(form, design)
    try:
        return draft(db, design_id, cloths, _choices(form, design), size_cm)
    except Unreadable as refused:
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
    except Wrong as wrong:
        form.fault(wrong.field.replace("cloths.", "cloth."), wrong.sentence)
    return None


def _design_named(db: Reading | Writing, form: Form) -> tables.Design | None:
    if not form.raw("design"):
        return None
    design_id = form.number_of("design", called="a design")
    row = None if design_id is None else db.get(tables.Design, design_id)
    if row is None:
        form.fault("design", "Choose a design.")
    return row


def shelf_of(db: Reading | Writing) -> list[ShelfCloth]:
    """The cloths to choose from."""
    cloths = db.exec(select(Cloth).where(col(Cloth.put_away).is_(False)).order_by(col(Cloth.name)).limit(200)).all()
    read = readings_that_count(db, [cloth.id for cloth in cloths if cloth.id is not None])
    return [ShelfCloth(cloth, counts_from(read.get(cloth.id or 0, []))) for cloth in cloths]


def _commission(db: Reading | Writing, commission_id: int) -> Commission:
    commission = db.get(Commission, commission_id)
    if commission is None:
        raise NotFound("There is no such commission.")
    return commission


def _design_row(db: Reading, design_id: int) -> tables.Design:
    design = db.get(tables.Design, design_id)
    if design is None:
        raise NotFound("There is no such design.")
    return design
