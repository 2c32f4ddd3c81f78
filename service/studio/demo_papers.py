"""What the demo's papers say: the maker, fibres by percent, and the risks considered for the pieces delivered."""

from datetime import datetime

from sqlmodel import col, select

from service.records.db import Writing
from service.records.tables import Cloth, Garment
from service.studio.demo_records import Stock
from service.studio.fibres import WHOLE_BP, FibreShare, state_fibres
from service.studio.maker import change_maker
from service.studio.risks import consider_risk

RISKS = (
    (
        "A button at the back comes off and is swallowed.",
        "Each sewn on with its own shank and a backing of linen, then pulled hard by two people; none moved.",
    ),
    (
        "The gown is longer than the child and trips whoever carries it.",
        "Told at the handing over, and written on the care card.",
    ),
)


def fill_papers(db: Writing, stock: Stock, at: datetime) -> None:
    """Write down who the maker is, what the cloths are made of, and the risks of the first gown."""
    owner = stock.workers["edda"].person
    change_maker(db, "Wensley Mere, England", "The Old Reading Room\nWensley Mere", "workroom@demo.example")
    for number in stock.cloths.values():
        fibre = db.get_one(Cloth, number).fibre.partition(" ")[0]
        state_fibres(db, owner, number, [FibreShare(fibre, WHOLE_BP)], at)
    first = db.exec(select(Garment).where(Garment.state == "delivered").order_by(col(Garment.id))).first()
    if first is not None and first.id is not None and first.finished_at is not None:
        for told in RISKS:
            consider_risk(db, owner, first.id, told, first.finished_at)
