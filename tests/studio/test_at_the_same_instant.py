"""What two people do at the same instant comes one after the other, on both kinds of database."""

import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing

from sqlmodel import select

from service.records.db import Database
from service.records.tables import Cloth, Commission, Design, Garment, Supply
from service.studio.commissions import call_commission_off
from service.studio.making import MakingAsk, make_garment
from service.studio.proofs import prove
from service.studio.supplies import Moved, move_supply
from tests.building import a_garment
from tests.counting import number, person
from tests.quoting import a_supply
from tests.serving import OWNER, START, Live

A_MOMENT_S = 0.3


def test_a_garment_made_while_its_commission_is_called_off_is_called_off_with_it(database: Database) -> None:
    with database.writing() as db:
        commission = a_garment(db, "bib").commission_id

    def call_off() -> None:
        with database.writing() as db:
            call_commission_off(db, commission, "she moves away", person(db, OWNER).id, START)

    with ThreadPoolExecutor(1) as pool:
        with database.writing() as db:
            design, cloth = (number(db.exec(select(table)).one()) for table in (Design, Cloth))
            make_garment(db, MakingAsk(commission, design, dict.fromkeys(("bib", "binding"), cloth)), START)
            called_off = pool.submit(call_off)
            time.sleep(A_MOMENT_S)
        called_off.result()
    with database.reading() as reading:
        assert reading.get_one(Commission, commission).state == "called off"
        assert reading.exec(select(Garment.state)).all() == ["called off", "called off"]


def test_what_two_take_off_the_shelf_at_once_is_gone_twice(live_on_each: Live) -> None:
    """Both wait for a supply that is held, so that both have looked at it before either has taken anything."""
    database = live_on_each.database
    with database.writing() as db:
        supply = number(a_supply(db))
        move_supply(db, supply, Moved("bought", 10_000, ""), person(db, OWNER).id, START)
    with ExitStack() as open_here, ThreadPoolExecutor(4) as pool:
        owners = [open_here.enter_context(closing(live_on_each.signed_in(OWNER))) for _ in range(4)]
        with database.writing() as db:
            db.exec(select(Supply).with_for_update()).one()
            taken = [
                pool.submit(owner.post, f"/supplies/{supply}/move", data={"kind": "cut", "amount": "2"})
                for owner in owners
            ]
            time.sleep(A_MOMENT_S)
        assert [answer.result().status_code for answer in taken] == [303] * 4
    with database.reading() as reading:
        assert reading.get_one(Supply, supply).on_hand_thousandths == 2_000
        assert prove(reading).faults == ()
