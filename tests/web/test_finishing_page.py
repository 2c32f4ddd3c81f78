"""The finishing page: what is seen to, by whom; finishing waits for it; delivery has a day and a name."""

from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from sqlmodel import col, select

from service.records.tables import Cloth, Event, FinishingCheck, Garment, Panel, Step, Supply, SupplyUse
from service.studio.cloth_lengths import Moved, move_cloth
from service.studio.finishing import OVERRULED
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import number, person, work_on
from tests.serving import OWNER, Live

LIST = ("needles", "fragments", "marks", "pressed", "closures", "loose ends", "photos")


@pytest.fixture
def gown(live: Live) -> int:
    """A day gown with nothing left to do."""
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "day_gown"))
        work_on(db, person(db, OWNER), garment_id, lambda _row: False)
        return garment_id


def _see_to(owner: httpx2.Client, gown: int, what: str, note: str = "") -> httpx2.Response:
    return owner.post(f"/garments/{gown}/finishing", data={"what": what, "note": note})


def test_a_garment_is_finished_when_its_whole_list_is_seen_to(owner: httpx2.Client, live: Live, gown: int) -> None:
    early = owner.post(f"/garments/{gown}/finish")
    assert early.status_code == 422
    assert (
        "Not seen to yet: needles and pins counted in; every piece of a broken needle or pin found; marking and starch "
        "washed out; pressed from the wrong side; buttons and loops tugged; loose ends fastened off; measured against its "
        "size; photographed front and back. See to it, or say why it may go without."
    ) in early.text
    unsaid = _see_to(owner, gown, "measured")
    assert unsaid.status_code == 422
    assert "Say what was measured, and how it came out." in unsaid.text
    unseen = _see_to(owner, gown, "photos")
    assert "No photo is kept with it yet: add one, or say why there is none." in unseen.text
    for what in LIST:
        assert _see_to(owner, gown, what, "the album has it" if what == "photos" else "").status_code == 303
    assert _see_to(owner, gown, "measured", "length 48.2 cm, wanted 48").status_code == 303
    page = owner.get(f"/garments/{gown}/finishing").text
    assert "8 of 8 seen to." in page
    assert "length 48.2 cm, wanted 48" in page
    assert "Ottilie Brook" in page
    assert owner.post(f"/garments/{gown}/finish").status_code == 303
    with live.database.reading() as db:
        assert db.exec(select(Garment.state)).one() == "finished"
        assert db.exec(select(Event).where(Event.action == OVERRULED)).all() == []
    assert _see_to(owner, gown, "marks").status_code == 409


def test_what_is_found_undone_again_waits_and_the_log_of_it_stays(owner: httpx2.Client, live: Live, gown: int) -> None:
    _see_to(owner, gown, "pressed")
    owner.post(f"/garments/{gown}/finishing", data={"what": "pressed", "undone": "yes"})
    assert "0 of 8 seen to." in owner.get(f"/garments/{gown}/finishing").text
    with live.database.reading() as db:
        assert [row.done for row in db.exec(select(FinishingCheck).order_by(col(FinishingCheck.id)))] == [True, False]


def test_the_owner_may_pass_over_the_list_with_a_reason_that_is_kept(
    owner: httpx2.Client, live: Live, gown: int
) -> None:
    assert owner.post(f"/garments/{gown}/finish", data={"reason": "a toile, never worn"}).status_code == 303
    with live.database.reading() as db:
        kept = db.exec(select(Event).where(Event.action == OVERRULED)).one()
        assert (kept.reason, kept.before.split(", ")[0]) == ("a toile, never worn", "needles")
    history = owner.get(f"/garments/{gown}/history").text
    assert "called finished without: needles and pins counted in; every piece of" in history
    assert "fragments" not in history


def test_a_delivery_has_its_day_and_a_name(owner: httpx2.Client, live: Live, gown: int) -> None:
    owner.post(f"/garments/{gown}/finish", data={"reason": "a toile"})
    today = datetime.now(UTC).date()
    late = owner.post(f"/garments/{gown}/deliver", data={"day": str(today + timedelta(3)), "by": "Wren"})
    assert "That day is still to come." in late.text
    early = owner.post(f"/garments/{gown}/deliver", data={"day": "2020-01-01", "by": "Wren"})
    assert "That is before the garment was finished." in early.text
    nobody = owner.post(f"/garments/{gown}/deliver", data={"day": str(today), "by": ""})
    assert "Enter by whom it was delivered." in nobody.text
    assert owner.post(f"/garments/{gown}/deliver", data={"day": str(today), "by": "Wren Hallam"}).status_code == 303
    with live.database.reading() as db:
        assert db.exec(select(Event.reason).where(Event.action == "delivered")).one() == "Wren Hallam"


def test_a_block_beside_another_is_cut_once_the_length_they_share_is_given_back(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "day_gown"))
        front, back = db.exec(
            select(Step.id).where(Step.garment_id == garment_id, Step.operation == "cut_block").order_by(col(Step.id))
        ).all()
        panel = db.exec(select(Panel).where(Panel.garment_id == garment_id)).first()
        assert panel
        cloth = db.get_one(Cloth, panel.cloth_id)
        move_cloth(
            db,
            person(db, OWNER),
            number(cloth),
            Moved("cut", cloth.on_hand_um - panel.cut_height_um),
            datetime.now(UTC),
        )
        shared = {"cloth": str(number(cloth)), "length": str(panel.cut_height_um / 1_000_000)}
    assert _cut(owner, front).status_code == 303
    refused = _cut(owner, back)
    assert (refused.status_code, "give that length back first" in refused.text) == (422, True)
    assert "One that lay beside another took none" in owner.get(f"/garments/{garment_id}/finishing").text
    assert owner.post(f"/garments/{garment_id}/give-back", data=shared).status_code == 303
    assert _cut(owner, back).status_code == 303
    with live.database.reading() as db:
        assert db.get_one(Cloth, int(shared["cloth"])).on_hand_um == 0
        assert prove(db).faults == ()


def _cut(owner: httpx2.Client, step_id: int | None) -> httpx2.Response:
    return owner.post(f"/steps/{step_id}/count", data={"key": f"cut {step_id} {datetime.now(UTC)}", "quick": "end"})


def test_what_is_left_over_goes_back_to_the_shelf_and_the_sums_hold(
    owner: httpx2.Client, live: Live, gown: int
) -> None:
    with live.database.writing() as db:
        supply = Supply(
            name="Pearl thread", kind="thread", unit="skein", on_hand_thousandths=3000, created_at=datetime.now(UTC)
        )
        db.add(supply)
        db.flush()
        supply_id = number(supply)
        db.add(SupplyUse(supply_id=supply_id, kind="bought", change_thousandths=3000, at=datetime.now(UTC)))
        before = {cloth.id: cloth.on_hand_um for cloth in db.exec(select(Cloth))}
    cloth_id = min(filter(None, before))
    wrong = owner.post(f"/garments/{gown}/give-back", data={"cloth": "999", "length": "0.2"})
    assert wrong.status_code == 422
    assert owner.post(f"/garments/{gown}/give-back", data={"cloth": str(cloth_id), "length": "0.2"}).status_code == 303
    asked = {"supply": str(supply_id), "amount": "1.5", "kind": "used"}
    assert owner.post(f"/garments/{gown}/supplies", data=asked).status_code == 303
    more = owner.post(f"/garments/{gown}/supplies", data=asked | {"amount": "9"})
    assert "Only 1.5 are on hand." in more.text
    page = owner.get(f"/garments/{gown}/finishing").text
    assert "1.5 skein" in page
    with live.database.reading() as db:
        assert db.get_one(Cloth, cloth_id).on_hand_um == before[cloth_id] + 200_000
        assert db.get_one(Supply, supply_id).on_hand_thousandths == 1500
        assert db.exec(select(SupplyUse.garment_id).where(SupplyUse.kind == "cut")).one() == gown
        assert prove(db).faults == ()


def test_only_what_the_garment_has_is_on_its_list(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        cloth = number(a_garment(db, "handkerchief"))
    page = owner.get(f"/garments/{cloth}/finishing").text
    assert "button, loop" not in page
    assert "work left" in page
    assert owner.post(f"/garments/{cloth}/finishing", data={"what": "nonsense"}).status_code == 404


def test_a_stitcher_sees_no_list_of_a_garment_in_other_hands(second: httpx2.Client, gown: int) -> None:
    assert second.get(f"/garments/{gown}/finishing").status_code == 404
    assert second.post(f"/garments/{gown}/finishing", data={"what": "pressed"}).status_code == 404
    assert second.post(f"/garments/{gown}/give-back", data={}).status_code == 403
