"""The demo studio's commissions and garments, each as far as its file says."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlmodel import col, select

from service.reckoning.plans import SectionChoice, SectionPlan
from service.records.db import Writing
from service.records.tables import ChildMeasure, Commission, Garment, Panel, Section, Step, Tally
from service.studio import standing
from service.studio.demo_finishing import see_to_all
from service.studio.demo_log import Stretch, work_on
from service.studio.demo_records import Stock, read
from service.studio.handovers import Offer, pass_on
from service.studio.lines import lines_of
from service.studio.log import TallyAsk, add_tally, take_back
from service.studio.making import MakingAsk, draft, make_garment
from service.studio.recount import Recount, recount_section

HOUR = timedelta(hours=1)


def fill_work(db: Writing, stock: Stock, at: datetime) -> None:
    """Write down every commission of the demo, make its garments and work on them."""
    for said in read("garments.toml")["commissions"]:
        commission = _commission(db, stock, said, at)
        for piece in said.get("garments", ()):
            _garment(db, stock, commission, piece, at)
    db.flush()


def _commission(db: Writing, stock: Stock, said: Mapping[str, Any], at: datetime) -> Commission:
    child, today = said.get("child", {}), at.date()
    born = child.get("born", child.get("due"))
    first = min((piece["made"] for piece in said.get("garments", ())), default=-3)
    commission = Commission(
        client_id=stock.clients[said["client"]],
        title=said["title"],
        occasion=said["occasion"],
        wanted_on=today + timedelta(days=said["wanted"]),
        state="agreed",
        child_sex=child.get("sex"),
        child_born=None if born is None else today + timedelta(days=born),
        born_is_due="due" in child,
        notes=said.get("notes", ""),
        created_at=at + timedelta(days=first - 5),
    )
    db.add(commission)
    db.flush()
    assert commission.id is not None
    for taken in child.get("measured", ()):
        reading = ChildMeasure(commission_id=commission.id, what=taken["what"], on=today + timedelta(days=taken["on"]))
        reading.value_um = round(taken["cm"] * 10_000)
        db.add(reading)
    commission.state = said["state"] if said["state"] != "called off" else "agreed"
    return commission


def _garment(db: Writing, stock: Stock, commission: Commission, said: Mapping[str, Any], at: datetime) -> None:
    made = at + timedelta(days=said["made"])
    ending, commission.state = commission.state, "agreed"
    design, cloths = stock.designs[said["design"]], {role: stock.cloths[key] for role, key in said["cloths"].items()}
    plan = draft(db, design, cloths, {}).plan
    choices = {section.key: _answer(section) for section in plan.sections if section.waits and not section.mirror_of}
    assert commission.id is not None
    garment = make_garment(db, MakingAsk(commission.id, design, cloths, choices, said.get("name", "")), made)
    commission.state = ending
    assert garment.id is not None
    owner = stock.workers["edda"].person
    for stretch in said.get("work", ()):
        worker = stock.workers[stretch["by"]]
        note = "" if stretch is said["work"][0] else "to go on with"
        ended = at + timedelta(days=stretch["ended"])
        pass_on(db, owner, worker.person, Offer(garment.id, worker.person.stitcher_id, notes=note), made)
        made = work_on(db, garment, Stretch(worker, stretch["until"], ended, said.get("stop", {})))
    for act in said.get("acts", ()):
        _ACTS[act](db, stock, garment, at)
    _end(db, stock, garment, said, at)


def _answer(section: SectionPlan) -> SectionChoice:
    """What the owner of the demo chose where a section waited: the first way open, else as it comes out."""
    ways = section.left_over_choices
    return SectionChoice(left_over=ways[0].way if ways else None, accepted=not ways)


def _end(db: Writing, stock: Stock, garment: Garment, said: Mapping[str, Any], at: datetime) -> None:
    owner = stock.workers["edda"].person
    assert garment.id is not None
    if (hands := said.get("hands")) is not None and stock.workers[hands].person.stitcher_id != _holder(db, garment):
        to = stock.workers[hands].person
        pass_on(db, owner, to, Offer(garment.id, to.stitcher_id), at - HOUR)
    if hands is None and said.get("work"):
        pass_on(db, owner, owner, Offer(garment.id, None, notes="resting"), at - HOUR)
    if said["state"] in {"finished", "delivered"}:
        see_to_all(db, owner, garment.id, at + timedelta(days=said.get("finished", said.get("delivered", 0))))
        standing.finish(db, garment.id, owner.id, at + timedelta(days=said.get("finished", said.get("delivered", 0))))
    if said["state"] == "delivered":
        standing.deliver(db, garment.id, owner.id, at + timedelta(days=said["delivered"]))
    if said["state"] == "called off":
        standing.call_off(db, garment.id, said["reason"], owner.id, at + timedelta(days=said["called_off"]))
        commission = db.get_one(Commission, garment.commission_id)
        commission.state = "called off"
        db.add(commission)


def _holder(db: Writing, garment: Garment) -> int | None:
    db.flush()
    return db.exec(select(Panel.holder_id).where(Panel.garment_id == garment.id)).first()


def _slip(db: Writing, stock: Stock, garment: Garment, at: datetime) -> None:
    """A number typed twice, and taken back."""
    step, person = _in_hand(db, garment), stock.workers["edda"].person
    when = at - 2 * HOUR
    add_tally(db, person, step, TallyAsk(f"slip-{garment.id}", Decimal(30), minutes=Decimal(12)), when)
    wrong = db.exec(select(Tally).where(Tally.key == f"slip-{garment.id}")).one()
    assert wrong.id is not None
    take_back(db, person, wrong.id, f"slip-back-{garment.id}", when + timedelta(minutes=1))


def _unpick(db: Writing, stock: Stock, garment: Garment, at: datetime) -> None:
    """Some knots that sat too loosely, unpicked."""
    ask = TallyAsk(f"unpick-{garment.id}", Decimal(6), kind="unpick", minutes=Decimal(9), reason="too loose a row")
    add_tally(db, stock.workers["edda"].person, _in_hand(db, garment), ask, at - HOUR)


def _recount(db: Writing, stock: Stock, garment: Garment, at: datetime) -> None:
    """The cloth had fewer threads than planned."""
    band = db.exec(
        select(Section)
        .where(Section.garment_id == garment.id, col(Section.bundles) > 0, Section.mirror_of == "")
        .order_by(col(Section.position).desc())
    ).first()
    assert band is not None
    assert band.id is not None
    assert band.standing_threads is not None
    bundle = band.bundle_threads or 4
    told = Recount("counted again at the table", standing_threads=band.standing_threads - 2 * bundle)
    recount_section(db, stock.workers["edda"].person, band.id, told, at - HOUR)


def _overrule(db: Writing, stock: Stock, garment: Garment, at: datetime) -> None:
    """The owner clipped a little before the edge stitching was whole, and wrote down why."""
    assert garment.id is not None
    clip = next(line for line in lines_of(db, garment.id) if line.state.operation == "clip" and not line.state.begun)
    ask = TallyAsk(
        f"overrule-{garment.id}",
        Decimal(1),
        overrule="One thread clipped early at the middle, to see how this cloth draws.",
    )
    add_tally(db, stock.workers["edda"].person, clip.id, ask, at - HOUR)


def _in_hand(db: Writing, garment: Garment) -> int:
    """The knot step that is begun and not finished."""
    step = db.exec(
        select(Step.id)
        .where(
            Step.garment_id == garment.id,
            Step.unit == "knot",
            col(Step.done_tenths) > 0,
            col(Step.done_tenths) < col(Step.quantity_tenths),
        )
        .order_by(col(Step.position))
    ).first()
    assert step is not None
    return step


_ACTS = {"slip": _slip, "unpick": _unpick, "recount": _recount, "overrule": _overrule}
