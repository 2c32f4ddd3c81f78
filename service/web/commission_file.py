"""The file of a commission: materials, makers, risks considered and cautions of every garment; the owner's alone."""

from collections.abc import Iterator, Sequence
from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from service.languages.spoken import said
from service.papers.paper import Ledger, Paper, Part
from service.reckoning.cautions import REMINDER, cautions_for
from service.records.db import Reading, Writing
from service.records.queries.garments import parts_of
from service.records.queries.papers import (
    Material,
    cloths_cut,
    garments_in_file,
    panel_cloths,
    supplies_used,
    who_worked,
)
from service.records.tables import Cloth, Garment, Panel, Studio
from service.studio import clients, commissions
from service.studio.fibres import FibreShare, fibres_of, fibres_told
from service.studio.maker import maker_of
from service.studio.risks import consider_risk, risks_of, set_risk_aside
from service.studio.worn import worn_of
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.paper_pages import print_paper
from service.web.papers import number_of
from service.web.words import cloth_length, day, day_at_home, per, thousandths

router = APIRouter(include_in_schema=False)
YEARS_KEPT = 10
KEPT = (
    "Keep this file for ten years from the day the last piece was delivered where the rules ask for it, as Regulation "
    "(EU) 2023/988 does of the papers of a product; check local rules."
)


@router.get("/commissions/{commission_id}/file")
def show_file(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    return _page(desk, db, commission_id, Form())


@router.get("/commissions/{commission_id}/file.pdf")
def print_file(desk: OwnerDesk, db: Reads, commission_id: Id, paper: str = "a4") -> Response:
    return print_paper(_file(desk, db, commission_id), paper, f"file-{commission_id}")


@router.post("/garments/{garment_id}/risks")
def write_risk(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    risk = form.text("risk", called="the risk", most=1000)
    answer = form.text("answer", called="what was done about it", most=2000)
    commission_id = db.get_one(Garment, garment_id).commission_id if db.get(Garment, garment_id) else 0
    if form.wrong:
        form.values["garment"] = str(garment_id)
        return _page(desk, db, commission_id, form, 422)
    consider_risk(db, owner, garment_id, (risk, answer), at)
    return desk.go(f"/commissions/{commission_id}/file#garment-{garment_id}")


@router.post("/risks/{risk_id}/set-aside")
def set_aside(desk: OwnerDesk, db: Writes, at: Now, risk_id: Id) -> Response:
    garment = db.get_one(Garment, set_risk_aside(db, risk_id, at))
    return desk.go(f"/commissions/{garment.commission_id}/file#garment-{garment.id}")


def _page(desk: Desk, db: Reading | Writing, commission_id: int, form: Form, status: int = 200) -> Response:
    commission = commissions.commission_with(db, commission_id)
    garments = garments_in_file(db, commission_id)
    numbers = [garment.id or 0 for garment in garments]
    return desk.page(
        "papers/file.html",
        "commissions",
        status=status,
        paper=_file(desk, db, commission_id),
        commission=commission,
        garments=garments,
        risks=risks_of(db, numbers),
        suggested={garment.id: _not_considered(db, garment) for garment in garments},
        form=form,
    )


def _not_considered(db: Reading | Writing, garment: Garment) -> list[str]:
    """Cautions of the garment that nobody wrote down as considered yet."""
    written = {risk.risk for risk in risks_of(db, [garment.id or 0])[garment.id or 0]}
    return [text for text in _caution_texts(db, garment) if text not in written]


def _caution_texts(db: Reading | Writing, garment: Garment) -> list[str]:
    parts = parts_of(db, garment.id or 0)
    return [one.text for one in cautions_for(worn_of(db, garment, parts.panels, parts.sections, None))]


def _file(desk: Desk, db: Reading | Writing, commission_id: int) -> Paper:
    assert desk.studio
    commission = commissions.commission_with(db, commission_id)
    garments = garments_in_file(db, commission_id)
    numbers = [garment.id or 0 for garment in garments]
    cloths = panel_cloths(db, numbers)
    fibres = fibres_of(db, {cloth.id or 0 for each in cloths.values() for cloth in each})
    used = (*cloths_cut(db, numbers), *supplies_used(db, numbers))
    return Paper(
        title=f"File of {commission.title}",
        studio=desk.studio.name,
        told=KEPT,
        parts=(
            Part(
                "Who and for whom",
                facts=(
                    ("Maker", _maker(db, desk.studio)),
                    ("Client", clients.client_with(db, commission.client_id).name),
                    ("Wanted on", day(commission.wanted_on)),
                    ("Kept until", _kept_until(garments)),
                ),
            ),
            *(
                part
                for garment in garments
                for part in _garment_parts(db, desk.studio, garment, cloths[garment.id or 0], fibres, used)
            ),
        ),
        foot=REMINDER,
    )


def _maker(db: Reading | Writing, studio: Studio) -> str:
    maker = maker_of(db)
    postal = ", ".join(line.strip() for line in maker.postal_address.splitlines() if line.strip())
    return ", ".join(part for part in (studio.name, postal or maker.place, maker.electronic_address) if part)


def _kept_until(garments: list[Garment]) -> str:
    delivered = [garment.delivered_at.date() for garment in garments if garment.delivered_at]
    if not delivered:
        return "ten years from delivery; nothing is delivered yet"
    last = max(delivered)
    is_leap = (last.month, last.day) == (2, 29)
    return day(date(last.year + YEARS_KEPT, 3, 1) if is_leap else last.replace(year=last.year + YEARS_KEPT))


def _garment_parts(
    db: Reading | Writing,
    studio: Studio,
    garment: Garment,
    cloths: list[Cloth],
    fibres: dict[int, tuple[FibreShare, ...]],
    used: tuple[Material, ...],
) -> Iterator[Part]:
    panels = parts_of(db, garment.id or 0).panels
    yield Part(
        f"{number_of(garment)}: {garment.name}",
        facts=tuple(_garment_facts(db, studio, garment)),
        ledger=Ledger(
            ("Cloth", "Fibre", "Counted", "Weight"),
            tuple(_cloth_row(cloth, fibres[cloth.id or 0], panels, studio) for cloth in cloths),
            amounts=(3,),
        ),
    )
    taken = [material for material in used if material.garment_id == garment.id]
    if taken:
        rows = tuple((material.name, _amount(material, studio)) for material in taken)
        yield Part("Taken from the shelf", ledger=Ledger(("What", "How much"), rows, amounts=(1,)))
    risks = risks_of(db, [garment.id or 0])[garment.id or 0]
    if risks:
        told = tuple((one.risk, one.answer, f"{one.who}, {day_at_home(one.at, studio.time_zone)}") for one in risks)
        yield Part("Risks considered", ledger=Ledger(("Risk", "What was done", "By"), told))
    else:
        yield Part("Risks considered", text=("None is written down yet.",))


def _garment_facts(db: Reading | Writing, studio: Studio, garment: Garment) -> Iterator[tuple[str, str]]:
    if garment.size:
        yield "Size", garment.size
    yield "State", garment.state
    for word, moment in (("Finished", garment.finished_at), ("Delivered", garment.delivered_at)):
        if moment:
            yield word, day_at_home(moment, studio.time_zone)
    makers = [
        f"{one.name} ({day_at_home(one.first, studio.time_zone)} – {day_at_home(one.last, studio.time_zone)})"
        for one in who_worked(db, [garment.id or 0])
    ]
    if makers:
        yield "Worked by", "; ".join(makers)


def _cloth_row(
    cloth: Cloth, shares: tuple[FibreShare, ...], panels: Sequence[Panel], studio: Studio
) -> tuple[str, ...]:
    panel = next(panel for panel in panels if panel.cloth_id == cloth.id)
    counts = f"{per(panel.warp_per_cm, studio.count_unit)} warp, {per(panel.weft_per_cm, studio.count_unit)} weft"
    weight = f"{cloth.weight_mg_per_m2 / 1000:g} g/m²" if cloth.weight_mg_per_m2 else "not known"
    return cloth.name, fibres_told(shares, cloth), counts, weight


def _amount(material: Material, studio: Studio) -> str:
    if material.unit == "cloth":
        return cloth_length(material.amount, studio.length_unit)
    units = {"piece": "pieces", "skein": "skeins"}
    return f"{thousandths(material.amount)} {said(units.get(material.unit, material.unit))}"
