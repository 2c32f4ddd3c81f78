"""One block to cut, whoever says it: the step, the marking sheet, the shelf, the reckoner and the quote.

Cut = washed / (1 - shrinkage), by the form of AATCC 135 and ISO 5077 (change is on the length before washing), worked
by hand: 520 mm that shrink 3 % are cut 520 / 0.97 = 536.08 mm; W4.7 in tests/published works the same for a metre.
"""

import re
from html import unescape

import httpx2
import pytest
from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Cloth, ClothUse, Garment, Panel, Step, Tally
from service.studio.log import take_back
from service.studio.proofs import prove
from service.studio.quote_materials import materials_of
from tests.building import a_garment
from tests.counting import count, number, person, step
from tests.serving import OWNER, START, Live

WASHED_UM, TO_CUT_UM = (400_000, 520_000), (400_000, 536_082)


@pytest.fixture
def square(live: Live) -> int:
    """A garment of one panel, its block 400 × 520 mm as washed, on a cloth that shrinks 3 % along the warp."""
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "handkerchief"))
        panel = _panel(db, garment_id)
        panel.cut_width_um, panel.cut_height_um = WASHED_UM
        cloth = db.get_one(Cloth, panel.cloth_id)
        cloth.shrink_warp_bp, cloth.shrink_weft_bp, cloth.price_minor_per_m = 300, 0, 100_000  # 1,000.00 a metre
        db.add(panel)
        db.add(cloth)
        return garment_id


def _panel(db: Writing, garment_id: int) -> Panel:
    return db.exec(select(Panel).where(Panel.garment_id == garment_id)).one()


def _words(answer: httpx2.Response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", answer.text)))


def test_the_block_is_cut_larger_by_what_the_wash_takes_everywhere(
    owner: httpx2.Client, live: Live, square: int
) -> None:
    with live.database.writing() as db:
        cut = step(db, square, "cut_block")
        (cloth,) = [line for line in materials_of(db, [db.get_one(Garment, square)], 8_000_000) if line.kind == "cloth"]
        assert "0.536 m still needed" in cloth.source
        cut_id = number(cut)
    page = _words(owner.get(f"/steps/{cut_id}"))
    assert "Block to cut 40 cm across × 53.6 cm along the warp (400 × 536 mm)" in page
    assert "After washing 40 cm across × 52 cm along the warp (400 × 520 mm)" in page
    sheet = _words(owner.get(f"/garments/{square}/marking-sheet"))
    assert "Cut the block 400 mm wide, 536 mm along the warp." in sheet
    assert "Washed, before its tucks, it is 400 mm wide, 520 mm along the warp: so it is marked." in sheet
    assert "What the cloth shrinks along the weft is not known, and nothing is added for it" in sheet
    reckoned = _words(owner.get(f"/reckoner/cloth?garment={square}"))
    assert "buy" in reckoned.lower()
    with live.database.writing() as db:
        before = db.get_one(Cloth, _panel(db, square).cloth_id).on_hand_um
        count(db, person(db, OWNER), db.get_one(Step, cut_id), 1)
        assert db.get_one(Cloth, _panel(db, square).cloth_id).on_hand_um == before - TO_CUT_UM[1]
        (cloth,) = [line for line in materials_of(db, [db.get_one(Garment, square)], 8_000_000) if line.kind == "cloth"]
        assert "0.536 m cut" in cloth.source
    with live.database.reading() as db:
        assert prove(db).faults == ()


def test_a_wrong_entry_gives_back_what_it_took_though_the_cloth_was_washed_since(live: Live, square: int) -> None:
    with live.database.writing() as db:
        owner, cut = person(db, OWNER), step(db, square, "cut_block")
        cloth = db.get_one(Cloth, _panel(db, square).cloth_id)
        before = cloth.on_hand_um
        count(db, owner, cut, 1, key="wrong")
        cloth.shrink_warp_bp = 0
        db.add(cloth)
        take_back(db, owner, _tally(db), "back", START)
        assert db.get_one(Cloth, number(cloth)).on_hand_um == before
        assert [use.change_um for use in db.exec(select(ClothUse).where(ClothUse.garment_id == square))] == [
            -TO_CUT_UM[1],
            TO_CUT_UM[1],
        ]
    with live.database.reading() as db:
        assert prove(db).faults == ()


def _tally(db: Writing) -> int:
    return number(db.exec(select(Tally).where(Tally.key == "wrong")).one())
