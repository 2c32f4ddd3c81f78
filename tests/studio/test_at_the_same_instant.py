"""What two people do at the same instant comes one after the other, on both kinds of database."""

import time
from concurrent.futures import ThreadPoolExecutor

from sqlmodel import select

from service.records.db import Database
from service.records.tables import Cloth, Commission, Design, Garment
from service.studio.commissions import call_commission_off
from service.studio.making import MakingAsk, make_garment
from tests.building import a_garment
from tests.counting import number, person
from tests.serving import OWNER, START

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
    with database.reading() as db:
        assert db.get_one(Commission, commission).state == "called off"
        assert db.exec(select(Garment.state)).all() == ["called off", "called off"]
