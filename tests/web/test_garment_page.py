"""The page of one garment: its drawing, what is left, its log, giving, and its states."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import httpx2
import pytest
from sqlmodel import col, select

from service.records.queries.drawn import drawn_of, drawn_rows
from service.records.queries.garments import parts_of
from service.records.tables import Cloth, ClothReading, Event, Garment, Panel, Section, Tally
from service.studio.log import take_back
from service.studio.recount import Recount, recount_section
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER, Live
from tests.web.test_settings_pages import GOOD


@pytest.fixture
def gown(live: Live) -> int:
    """A day gown whose front is worked up to the knots of its hem, 41 of them tied; its front is Wren's."""
    with live.database.writing() as db:
        garment_id, owner = number(a_garment(db)), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "hem_knot")
        count(db, owner, step(db, garment_id, "hem_knot"), 41, minutes=Decimal(23))
        front = db.exec(select(Panel).where(Panel.garment_id == garment_id, Panel.key == "front")).one()
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER), frozenset({number(front)})), START)
        return garment_id


def _panels(live: Live, garment_id: int) -> dict[str, Panel]:
    with live.database.reading() as db:
        rows = db.exec(select(Panel).where(Panel.garment_id == garment_id)).all()
        db.expunge_all()
    return {row.key: row for row in rows}


def _state(live: Live, garment_id: int) -> str:
    with live.database.reading() as db:
        return db.get_one(Garment, garment_id).state


def test_the_drawing_leads_to_every_section_the_page_writes_of(owner: httpx2.Client, gown: int) -> None:
    page = owner.get(f"/garments/{gown}").text
    led_to = set(re.findall(rf'href="/garments/{gown}#(section-\d+)"', page))
    written = set(re.findall(r'<tr role="row" id="(section-\d+)"', page))
    assert led_to == written
    assert len(written) > 10


def test_what_is_drawn_of_parts_at_hand_is_what_is_read_for_a_drawing(live: Live, gown: int) -> None:
    with live.database.reading() as db:
        assert drawn_of(parts_of(db, gown)) == drawn_rows(db, [gown])[gown]


def test_a_page_that_was_looked_at_tells_of_whatever_was_written_since(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, gown: int
) -> None:
    before = owner.get(f"/garments/{gown}").text
    assert owner.get(f"/garments/{gown}").text == before
    assert "What becomes of it" not in stitcher.get(f"/garments/{gown}").text
    with live.database.writing() as db:
        count(db, person(db, OWNER), step(db, gown, "hem_knot"), 13)
        garment = db.get_one(Garment, gown)
        garment.name = "Gown of another name"
    for page in (owner.get(f"/garments/{gown}").text, stitcher.get(f"/garments/{gown}").text):
        assert "<h1>Gown of another name</h1>" in page
        assert "54 of " in page.partition("knot the hem edge</a>")[2]
    assert owner.post("/settings", data=GOOD).status_code == 303
    assert "Block " in before
    assert "in wide" in owner.get(f"/garments/{gown}").text


def test_each_step_says_what_is_done_and_left(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.reading() as db:
        knots, cut = step(db, gown, "hem_knot"), step(db, gown, "cut_block")
        quantity = knots.quantity_tenths // 10
        links = {name: f'<a href="/steps/{row.id}">' for name, row in (("knots", knots), ("cut", cut))}
    page = owner.get(f"/garments/{gown}").text
    assert f"41 of {quantity} knots, " in page.partition(links["knots"] + "knot the hem edge</a>")[2][:200]
    assert "done" in page.partition(links["cut"] + "cut the block</a>")[2][:60]
    assert (
        links["knots"].replace("<a ", '<a class="act" ').replace('">', '/table">') + "Go on: knot the hem edge, Hem"
        in page
    )
    assert re.search(r"likely \d+ to \d+ h left, \d+ % done", page)
    assert re.search(r"By the guesses \d+½? h left of \d+½? h", page)


def test_the_log_stands_by_day_with_who_counted_what(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.writing() as db:
        who = person(db, OWNER)
        wrong = count(db, who, step(db, gown, "hem_knot"), 7)
        tally = db.exec(select(Tally).where(Tally.step_id == wrong.id, Tally.counted_tenths == 70)).one()
        take_back(db, who, number(tally), "a key", START)
    page = owner.get(f"/garments/{gown}").text
    log = page.partition('<h2 id="log"')[2]
    assert "<h3>1 September 2026</h3>" in log
    counter = log.index("takes back 7 knots of 1 Sep 26")
    assert counter < log.index("<s>7 knots</s>, taken back later") < log.index("41 knots")
    assert log.count("7 knots") == 2
    assert "Ottilie Brook" in log
    assert ">23 min<" in log


@pytest.mark.parametrize("before", ["abc", "0", "1.5", "99999999999", ""])
def test_a_mistyped_address_is_told_plainly(owner: httpx2.Client, gown: int, before: str) -> None:
    answer = owner.get(f"/garments/{gown}", params={"before": before})
    assert answer.status_code == 404
    assert "That address is mistyped." in answer.text
    assert "Input should" not in answer.text


def test_the_depth_of_a_band_is_written_in_mm(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.reading() as db:
        band = db.exec(select(Section).where(Section.garment_id == gown, Section.key == "front.ladder")).one()
        said = f"{band.withdrawn_threads} threads withdrawn ({round((band.width_um or 0) / 1000, 1):g} mm)"
    assert said in owner.get(f"/garments/{gown}").text


def test_recounts_and_givings_stand_in_the_log_by_day(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.writing() as db:
        band = db.exec(select(Section).where(Section.garment_id == gown, Section.key == "front.ladder")).one()
        before, bundles, name = band.standing_threads, band.bundles, band.name
        assert before is not None
        recount = Recount("counted twice", standing_threads=before + 4)
        recount_section(db, person(db, OWNER), number(band), recount, START + timedelta(days=1))
    log = owner.get(f"/garments/{gown}").text.partition('<h2 id="log"')[2]
    recounted, given = log.index("<h3>2 September 2026</h3>"), log.index("<h3>1 September 2026</h3>")
    newest = log[recounted:given]
    assert f">{name}</a>" in newest
    assert f"counted again, {before} → {before + 4} standing threads, {bundles} → " in newest
    assert "counted twice" in newest
    assert "Ottilie Brook" in newest
    assert "given from the shelf to Wren" in log[given:]


def test_a_page_further_back_tells_each_change_once(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.writing() as db:
        who = person(db, OWNER)
        for at in range(60):
            count(db, who, step(db, gown, "hem_knot"), 1, at=START + timedelta(days=3, minutes=at))
    first = owner.get(f"/garments/{gown}").text
    further = re.search(rf'href="(/garments/{gown}\?before=\d+)#log"', first)
    assert further
    assert "given from the shelf" not in first
    assert owner.get(further[1]).text.count("given from the shelf") == 1


def test_an_overrule_says_that_the_order_was_passed_over(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.writing() as db:
        tally = db.exec(select(Tally).where(Tally.garment_id == gown, Tally.counted_tenths == 410)).one()
        tally.overruled, tally.reason = True, "the thread ran out"
        db.add(tally)
    assert "the order of work was passed over: the thread ran out" in owner.get(f"/garments/{gown}").text


def test_older_entries_are_found_further_back(owner: httpx2.Client, live: Live, gown: int) -> None:
    with live.database.writing() as db:
        for _ in range(60):
            count(db, person(db, OWNER), step(db, gown, "hem_knot"), 1)
    page = owner.get(f"/garments/{gown}").text
    link = re.search(rf'href="/garments/{gown}\?before=(\d+)#log"', page)
    assert link
    older = owner.get(f"/garments/{gown}", params={"before": link[1]}).text
    entry = r'<th scope="row" role="rowheader"><a href="/steps/\d+">'
    with live.database.reading() as db:
        kept = len(db.exec(select(Tally.id).where(Tally.garment_id == gown)).all())
    assert len(re.findall(entry, page.partition('id="log"')[2])) == 50
    assert len(re.findall(entry, older.partition('id="log"')[2])) == kept - 50
    assert "Further back" not in older


def test_what_the_cloth_gave_is_said(owner: httpx2.Client, live: Live, gown: int) -> None:
    page = owner.get(f"/garments/{gown}").text
    cloth = page.partition("<h2>Cloth</h2>")[2].partition("<h2")[0]
    assert "Fine linen" in cloth
    assert "Front, Back" in cloth
    assert "0.68 m" in cloth


def test_a_cloth_that_counts_otherwise_now_is_a_finding(owner: httpx2.Client, live: Live, gown: int) -> None:
    assert "Planned on" not in owner.get(f"/garments/{gown}").text
    with live.database.writing() as db:
        cloth = db.exec(select(Cloth).where(Cloth.name == "Fine linen")).first()
        for reading in db.exec(select(ClothReading).where(ClothReading.cloth_id == number(cloth))):
            reading.threads += 8
            db.add(reading)
    assert "Planned on 20 × 19 threads per cm (warp × weft)" in owner.get(f"/garments/{gown}").text


def test_panels_offered_stay_where_they_are_until_they_are_taken(owner: httpx2.Client, live: Live, gown: int) -> None:
    panels = _panels(live, gown)
    with live.database.reading() as db:
        to = stitcher_id(db, SECOND)
    data = {
        "panels": str(panels["back"].id),
        "to": str(to),
        "needles_out": "1",
        "pins_out": "0",
        "notes": "with the tin",
    }
    assert owner.post(f"/garments/{gown}/give", data=data).headers["location"].startswith("/handovers/")
    assert {key: row.holder_id for key, row in _panels(live, gown).items()} == {
        key: row.holder_id for key, row in panels.items()
    }
    assert re.search(
        r"offered</span></span> to Ida Thorne: <a href=\"/handovers/\d+\">Back</a>", owner.get(f"/garments/{gown}").text
    )
    again = owner.post(f"/garments/{gown}/give", data=data)
    assert again.status_code == 422
    assert "Back is offered to Ida Thorne already." in again.text


def test_a_stitcher_gives_on_only_what_is_hers(stitcher: httpx2.Client, live: Live, gown: int) -> None:
    panels = _panels(live, gown)
    with live.database.reading() as db:
        to = str(stitcher_id(db, SECOND))
    page = stitcher.get(f"/garments/{gown}/give").text
    assert f'name="panels" value="{panels["front"].id}"' in page
    assert f'name="panels" value="{panels["back"].id}"' not in page
    counted = {"to": to, "needles_out": "0", "pins_out": "0"}
    answer = stitcher.post(f"/garments/{gown}/give", data={"panels": str(panels["back"].id), **counted})
    assert answer.status_code == 403
    answer = stitcher.post(f"/garments/{gown}/give", data={"panels": str(panels["front"].id), **counted})
    assert answer.headers["location"].startswith("/handovers/")


def test_a_stitcher_sees_no_client_no_commission_and_no_states(stitcher: httpx2.Client, gown: int) -> None:
    page = stitcher.get(f"/garments/{gown}").text
    assert "Go on: knot the hem edge" in page
    for hidden in ("Hester", "Christening of Ivy", "/commissions", "What becomes of it", "call-off"):
        assert hidden not in page


def test_nothing_is_seen_of_a_garment_in_other_hands(second: httpx2.Client, live: Live, gown: int) -> None:
    assert second.get(f"/garments/{gown}").status_code == 404
    assert second.post(f"/garments/{gown}/give", data={"to": "shelf"}).status_code == 404
    assert second.post(f"/garments/{gown}/finish").status_code == 403
    assert _state(live, gown) == "in work"


def test_a_garment_is_finished_only_when_nothing_is_left(owner: httpx2.Client, live: Live, gown: int) -> None:
    assert "See to its finishing" not in owner.get(f"/garments/{gown}").text
    refused = owner.post(f"/garments/{gown}/finish", data={"reason": "in a hurry"})
    assert refused.status_code == 422
    assert "There is work left on this garment." in refused.text
    with live.database.writing() as db:
        work_on(db, person(db, OWNER), gown, lambda _row: False)
    head, _, rest = owner.get(f"/garments/{gown}").text.partition('<figure class="drawing">')
    assert f'href="/garments/{gown}/finishing">See to its finishing</a>' in head
    assert "See to its finishing" not in rest
    assert f'<a href="/garments/{gown}/finishing">call it finished</a>' in owner.get("/").text
    assert owner.post(f"/garments/{gown}/finish", data={"reason": "seen to by the second stitcher"}).status_code == 303
    assert _state(live, gown) == "finished"
    assert f'href="/garments/{gown}/care-card">Care card</a>' in owner.get(f"/garments/{gown}").text
    delivered = owner.post(
        f"/garments/{gown}/deliver", data={"day": datetime.now(UTC).date().isoformat(), "by": "Wren Hallam"}
    )
    assert delivered.status_code == 303
    page = owner.get(f"/garments/{gown}").text
    assert "delivered" in page
    assert "Give into other hands" not in page
    assert "on the shelf" not in page
    assert "What becomes of it" not in page


def test_calling_off_and_taking_up_again_want_a_reason(owner: httpx2.Client, live: Live, gown: int) -> None:
    assert "Enter the reason." in owner.post(f"/garments/{gown}/call-off", data={"reason": " "}).text
    assert _state(live, gown) == "in work"
    assert owner.post(f"/garments/{gown}/call-off", data={"reason": "the day is off"}).status_code == 303
    assert _state(live, gown) == "called off"
    refused = owner.post(f"/garments/{gown}/call-off", data={"reason": "again"})
    assert (refused.status_code, "This garment is called off already." in refused.text) == (422, True)
    assert owner.post(f"/garments/{gown}/take-up", data={"reason": "the day is on"}).status_code == 303
    assert _state(live, gown) == "in work"
    with live.database.reading() as db:
        told = select(Event.action, Event.reason).where(Event.object_kind == "garment", Event.reason != "")
        kept = db.exec(told.order_by(col(Event.id))).all()
    assert kept == [("called off", "the day is off"), ("taken up again", "the day is on")]


def test_an_unknown_garment_is_not_found(owner: httpx2.Client) -> None:
    for path in ("/garments/999", "/garments/0", "/garments/x", "/garments/99999999999"):
        assert owner.get(path).status_code == 404
    assert owner.post("/garments/999/give", data={"to": "shelf"}).status_code == 404
    assert owner.post("/garments/999/finish").status_code == 404


def test_days_are_those_of_the_studio(owner: httpx2.Client, live: Live, gown: int) -> None:
    late = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
    with live.database.writing() as db:
        count(db, person(db, OWNER), step(db, gown, "hem_knot"), 1, late)
    assert "<h3>2 July 2026</h3>" in owner.get(f"/garments/{gown}").text
