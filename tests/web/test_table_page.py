"""The page at the table by plain forms: the number reached, take back, needles, rest, light; steering a row."""

import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from html import unescape

import httpx2
import pytest
from sqlmodel import col, select

from service.errors import Conflict
from service.records.queries.needles import open_needles
from service.records.tables import Account, Event, Garment, NeedleCount, Section, Step, TableWish, Tally
from service.studio.log import take_back
from service.studio.nothing_open import check_nothing_open
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


@dataclass(frozen=True)
class Bib:
    """A bib worked up to the knots of its first ladder, all of it in Wren's hands."""

    id: int
    knots: int
    each: int
    mark: int
    panel_step: int


@pytest.fixture
def bib(live: Live) -> Bib:
    """The bib; `each` is the number of bundles that are knotted along one edge and then the other."""
    with live.database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        knots, cut = step(db, garment_id, "ladder_knot"), step(db, garment_id, "cut_out")
        mark = step(db, garment_id, "mark", nth=1)
        return Bib(garment_id, number(knots), knots.quantity_tenths // 20, number(mark), number(cut))


def _post(client: httpx2.Client, step_id: int, act: str = "", /, **said: str) -> httpx2.Response:
    return client.post(f"/steps/{step_id}/table{act}", data={"key": f"{act} {sorted(said.items())}", **said})


def _done(live: Live, step_id: int) -> float:
    with live.database.reading() as db:
        assert prove(db).faults == ()
        return db.get_one(Step, step_id).done_tenths / 10


def _data(page: str, name: str) -> str:
    found = re.search(rf'data-{name}="([^"]*)"', page)
    assert found
    return unescape(found[1])


def test_a_unit_is_written_small_where_a_word_would_begin_the_label(stitcher: httpx2.Client, bib: Bib) -> None:
    assert ">cm you reached" in stitcher.get(f"/steps/{bib.mark}/table").text
    assert ">Bundle you reached" in stitcher.get(f"/steps/{bib.knots}/table").text


def test_the_number_reached_is_counted_along_its_own_edge(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    assert _post(stitcher, bib.knots, reached="12", minutes="9").status_code == 303
    assert _done(live, bib.knots) == 12
    assert _post(stitcher, bib.knots, to="end").status_code == 303
    assert _done(live, bib.knots) == bib.each
    assert _post(stitcher, bib.knots, reached="3").status_code == 303
    assert _done(live, bib.knots) == bib.each + 3
    page = stitcher.get(f"/steps/{bib.knots}/table").text
    assert f"{bib.each - 3}</span></strong> bundles left of this pass" in page
    assert "Second edge, work turned" in page
    with live.database.reading() as db:
        assert db.exec(select(Tally.seconds).where(Tally.counted_tenths == 120)).one() == 540


UNREADABLE: list[tuple[dict[str, str], str]] = [
    ({"reached": "5"}, "The bundle you reached must be more than 10, which are done."),
    ({"reached": "9999"}, "which is the end."),
    ({"reached": "twelve"}, "as a number"),
    ({"reached": "12.5"}, "Count whole knots."),
    ({"reached": ""}, "Enter the bundle you reached."),
    ({"reached": "12", "minutes": "-1"}, "must be at least 0"),
    ({"to": "nan"}, "as a number"),
]


def test_a_number_that_cannot_be_comes_back_with_its_sentence(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _post(stitcher, bib.knots, reached="10")
    for typed, sentence in UNREADABLE:
        answer = _post(stitcher, bib.knots, **typed)
        assert (answer.status_code, sentence in unescape(answer.text)) == (422, True), typed
    assert _done(live, bib.knots) == 10


def test_the_page_tells_its_script_the_passes_the_place_and_what_may_be_undone(
    stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.writing() as db:
        count(db, person(db, STITCHER), db.get_one(Step, bib.knots), 7, key="seven")
        count(db, person(db, OWNER), db.get_one(Step, bib.knots), 2, key="two")
    page = stitcher.get(f"/steps/{bib.knots}/table").text
    hand = json.loads(_data(page, "hand"))
    assert [(each["words"], each["whole"]) for each in hand["passes"]] == [
        ("First edge", bib.each),
        ("Second edge, work turned", bib.each),
    ]
    assert len(hand["passes"][0]["sizes"]) == bib.each
    assert (hand["one"], hand["done"], _data(page, "done")) == ("bundle", 9, "9")
    assert json.loads(_data(page, "undo")) == [{"key": "seven", "counted": 7}]
    assert "seven" in _data(page, "known").split()
    assert hand["needleful"] == 46  # (450 - 80) / (3 x 2 + 2) mm, bundles of four threads at 20 to the cm


def test_a_number_reached_means_that_number_though_others_counted_since_the_page_was_opened(
    stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    stitcher.get(f"/steps/{bib.knots}/table")
    with live.database.writing() as db:
        count(db, person(db, OWNER), db.get_one(Step, bib.knots), 5)
    assert _post(stitcher, bib.knots, reached="12").status_code == 303
    assert _done(live, bib.knots) == 12


def test_counting_on_what_is_in_other_hands_is_told_before_and_still_done(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    told = "This is in the hands of Wren Hallam. What you count here is kept as your work: tell Wren Hallam."
    for path in (f"/steps/{bib.knots}", f"/steps/{bib.knots}/table"):
        assert told in owner.get(path).text
        assert "in the hands of" not in stitcher.get(path).text
    assert _post(owner, bib.knots, reached="3").status_code == 303
    assert _done(live, bib.knots) == 3


def test_only_one_s_own_count_is_taken_back_here_and_only_once(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _post(stitcher, bib.knots, reached="10")
    with live.database.writing() as db:
        count(db, person(db, OWNER), db.get_one(Step, bib.knots), 2)
        mine, hers = db.exec(select(Tally.id).where(Tally.step_id == bib.knots).order_by(col(Tally.id))).all()
    assert _post(stitcher, bib.knots, "/take-back", entry=str(hers)).status_code == 422
    assert _post(stitcher, bib.knots, "/take-back", entry=str(mine)).status_code == 303
    assert _post(stitcher, bib.knots, "/take-back", entry=str(mine)).status_code == 422
    assert _done(live, bib.knots) == 2


def test_the_owner_reads_on_her_work_table_what_is_missing_on_which_piece(
    stitcher: httpx2.Client, owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.reading() as db:
        name = db.get_one(Garment, bib.id).name
    _post(stitcher, bib.knots, "/needles", way="out", needles="2", pins="12")
    assert "counted out by" not in owner.get("/").text
    _post(stitcher, bib.knots, "/needles", way="in", needles="2", pins="10")
    told = f"<strong>{name}: 2 pins counted out by Wren Hallam are missing.</strong>"
    assert f'{told} <a href="/garments/{bib.id}/sharps">Count in</a>' in owner.get("/").text
    _post(stitcher, bib.knots, "/needles", way="in", needles="2", pins="12")
    assert "counted out by" not in owner.get("/").text


def test_what_one_is_missing_is_told_while_another_of_her_name_has_some_out(
    stitcher: httpx2.Client, owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.writing() as db:
        db.get_one(Account, person(db, OWNER).id).name = "Wren Hallam"
    _post(stitcher, bib.knots, "/needles", way="out", needles="2", pins="12")
    _post(stitcher, bib.knots, "/needles", way="in", needles="2", pins="10")
    _post(owner, bib.knots, "/needles", way="out", needles="1", pins="0")
    assert "2 pins counted out by Wren Hallam are missing." in owner.get("/").text


def test_needles_that_do_not_come_in_stay_open_until_they_are_found(
    stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    assert _post(stitcher, bib.knots, "/needles", way="in", needles="1", pins="0").status_code == 422
    assert _post(stitcher, bib.knots, "/needles", way="out", needles="2", pins="12").status_code == 303
    at_the_table = stitcher.get(f"/steps/{bib.knots}/table").text
    assert "Out: 2 needles, 12 pins" in at_the_table
    assert '/rescue">Something went wrong here</a>' in at_the_table
    more = _post(stitcher, bib.knots, "/needles", way="in", needles="3", pins="12")
    assert "3 came in, but only 2 were written out" in more.text
    assert _post(stitcher, bib.knots, "/needles", way="in", needles="1", pins="12").status_code == 303
    page = stitcher.get(f"/steps/{bib.mark}/table").text
    assert "<strong>1 needle counted out by Wren Hallam is missing.</strong>" in page
    assert "<strong>Missing: 1 needle.</strong>" in page
    assert "count all of them in again, those counted before too: 2 needles and 12 pins went out." in page
    assert '<button type="submit" name="way" value="in">Count in</button>' in page
    of_garment = stitcher.get(f"/garments/{bib.id}").text
    assert "<strong>1 needle counted out by Wren Hallam is missing.</strong>" in of_garment
    assert f'<a href="/garments/{bib.id}/sharps">Count in</a>' in of_garment
    assert "2 needles and 12 pins went out." in stitcher.get(f"/garments/{bib.id}/sharps").text
    with live.database.reading() as db:
        assert [(each.needles, each.pins, each.is_sitting) for each in open_needles(db, bib.id)] == [(1, 0, False)]
        with pytest.raises(Conflict, match="1 needle counted out by Wren Hallam is missing"):
            check_nothing_open(db, bib.id)
    assert _post(stitcher, bib.knots, "/needles", way="in", needles="2", pins="12").status_code == 303
    with live.database.reading() as db:
        assert open_needles(db, bib.id) == []
        check_nothing_open(db, bib.id)
        assert [row.way for row in db.exec(select(NeedleCount).order_by(col(NeedleCount.id)))] == ["out", "in", "in"]
    assert "Wren Hallam is missing" not in stitcher.get(f"/garments/{bib.id}").text


def test_the_time_to_look_up_is_kept_with_her_account(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    assert _data(stitcher.get(f"/steps/{bib.knots}/table").text, "rest") == "50"
    assert "must be at least 5" in _post(stitcher, bib.knots, "/rest", rest_minutes="2").text
    assert _post(stitcher, bib.knots, "/rest", rest_minutes="25").status_code == 303
    assert _data(stitcher.get(f"/steps/{bib.mark}/table").text, "rest") == "25"
    assert _post(stitcher, bib.knots, "/rest", rest_minutes="").status_code == 303
    assert _data(stitcher.get(f"/steps/{bib.knots}/table").text, "rest") == ""
    with live.database.reading() as db:
        assert db.exec(select(TableWish.rest_minutes)).one() is None


def test_the_light_is_named_once(stitcher: httpx2.Client, bib: Bib) -> None:
    assert "EN 12464-1" in stitcher.get(f"/steps/{bib.knots}/table").text
    assert _post(stitcher, bib.knots, "/light").status_code == 303
    assert "EN 12464-1" not in stitcher.get(f"/steps/{bib.knots}/table").text


def test_needle_time_today_is_told_to_herself_alone(
    stitcher: httpx2.Client, owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    assert "Needle time today: <span></span>" in stitcher.get(f"/steps/{bib.knots}/table").text
    _post(stitcher, bib.knots, reached="4", minutes="50")
    _post(stitcher, bib.knots, reached="9", minutes="45")
    with live.database.writing() as db:
        her = person(db, STITCHER)
        wrong = count(db, her, db.get_one(Step, bib.knots), 2, at=datetime.now(UTC), minutes=Decimal(30), key="wrong")
        tally = db.exec(select(Tally).where(Tally.key == "wrong")).one()
        take_back(db, her, number(tally), "back", datetime.now(UTC))
        assert wrong.id == bib.knots
    page = stitcher.get(f"/steps/{bib.knots}/table").text
    assert "Needle time today: <span>1 h 35 min</span>" in page
    assert _data(page, "today") == str(95 * 60)
    assert "Your needle time today: 1 h 35 min" in stitcher.get("/").text
    assert "needle time" not in owner.get("/").text


def test_the_next_step_of_a_piece_in_her_hands_is_counted_at_the_table_at_once(
    stitcher: httpx2.Client, owner: httpx2.Client, bib: Bib
) -> None:
    assert f'href="/steps/{bib.knots}/table">knot the edges</a>' in stitcher.get("/").text
    assert f'href="/steps/{bib.knots}">knot the edges</a>' in owner.get("/").text
    assert f'href="/steps/{bib.knots}/table">Go on: knot the edges' in stitcher.get(f"/garments/{bib.id}").text
    assert f'href="/steps/{bib.knots}">The whole of this step' in stitcher.get(f"/steps/{bib.knots}/table").text


def test_what_is_done_once_or_out_of_order_is_not_counted_here(
    stitcher: httpx2.Client, second: httpx2.Client, live: Live, bib: Bib
) -> None:
    assert stitcher.get(f"/steps/{bib.panel_step}/table").headers["location"] == f"/steps/{bib.panel_step}"
    assert second.get(f"/steps/{bib.knots}/table").status_code == 404
    with live.database.reading() as db:
        later = number(step(db, bib.id, "clip", nth=1))
    page = stitcher.get(f"/steps/{later}/table").text
    assert "Not yet." in page
    assert 'id="reach"' not in page
    assert _post(stitcher, later, reached="2").status_code == 422


def test_the_step_in_hand_is_the_one_counted_last(stitcher: httpx2.Client, bib: Bib) -> None:
    assert stitcher.get("/table").headers["location"] == "/"
    _post(stitcher, bib.knots, reached="4")
    assert stitcher.get("/table").headers["location"] == f"/steps/{bib.knots}/table"


def test_the_page_keeps_within_its_weight(stitcher: httpx2.Client, bib: Bib) -> None:
    page = stitcher.get(f"/steps/{bib.knots}/table")
    files = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page.text))
    assert len(files) + 1 <= 10
    sent = [page, *(stitcher.get(file) for file in files)]
    assert sum(answer.num_bytes_downloaded for answer in sent) <= 100_000


def test_the_worker_is_served_where_it_may_answer_for_every_page(stitcher: httpx2.Client) -> None:
    answer = stitcher.get("/keeping-worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"
    assert "respondWith" in answer.text


def test_a_row_is_steered_and_the_change_is_kept(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _post(stitcher, bib.knots, reached="20")
    left = (bib.each - 20) * 4
    said = {"reached": "20", "threads_left": str(left + 2), "since": "12"}
    asked = stitcher.get(f"/steps/{bib.knots}/steer").text
    assert '<option value="spread">' in asked
    assert f"As planned: {left} after bundle 20." in asked
    page = stitcher.post(f"/steps/{bib.knots}/steer", data=said)
    assert "2 threads adrift since bundle 12: take 5 in each of the next 2 bundles, 21 to 22." in page.text
    assert stitcher.post(f"/steps/{bib.knots}/steer", data={**said, "act": "take"}).status_code == 303
    with live.database.reading() as db:
        section = db.exec(select(Section).join(Step).where(Step.id == bib.knots)).one()
        sizes = [int(size) for size in section.bundle_sizes.split()]
        assert sum(sizes) == bib.each * 4
        assert sizes[20:23] == [5, 5, 4]
        assert sum(sizes[20:]) == left + 2
        event = db.exec(select(Event).where(Event.action == "steered")).one()
        assert (event.object_id, event.reason[:16]) == (section.id, "2 threads adrift")
    again = stitcher.post(f"/steps/{bib.knots}/steer", data={**said, "act": "take"})
    assert "The row is right as it is" in again.text


def test_a_steered_row_takes_its_mirror_with_it_where_that_is_not_begun(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment_id, her = number(a_garment(db, "blouse")), person(db, OWNER)
        work_on(db, her, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, her, knots, 20)
        row = db.get_one(Section, knots.section_id)
        mirror = db.exec(select(Section).where(Section.mirror_of == row.key)).one()
        name, bundles, each = mirror.name, row.bundles or 0, row.bundle_threads or 0
        keys, at = (row.key, mirror.key), f"/steps/{knots.id}/steer"
    said = {"reached": "20", "threads_left": str((bundles - 20) * each + 2), "since": "12"}
    page = owner.post(at, data=said).text
    assert f"{name} too, so that the mirror is kept whole" in page
    assert owner.post(at, data={**said, "act": "take", "mirrors_too": "yes"}).status_code == 303
    with live.database.writing() as db:
        first, other = (db.exec(select(Section).where(Section.key == key)).one() for key in keys)
        sizes = [int(size) for size in first.bundle_sizes.split()]
        assert sizes[20:22] == [each + 1] * 2
        own = [int(size) for size in other.bundle_sizes.split()]
        assert own == (sizes[::-1] if first.direction == "across" else sizes)
        events = db.exec(select(Event).where(Event.action == "steered").order_by(col(Event.id))).all()
        assert [event.object_id for event in events] == [first.id, other.id]
        assert events[1].reason == f"As {first.name}, which it mirrors. {events[0].reason}"
        opposite = db.exec(select(Step).where(Step.section_id == other.id, Step.operation == "ladder_knot")).one()
        opposite.done_tenths = 30
        db.add(opposite)
    again = owner.post(at, data={**said, "threads_left": str((bundles - 20) * each + 4)}).text
    assert f"{name}, the mirror of this row, stays as planned, for 3 of its {bundles} bundles are tied." in again
    assert "mirrors_too" not in again


NOT_STEERED: list[tuple[dict[str, str], str]] = [
    ({"threads_left": "9999"}, "count them again"),
    ({}, "Enter the threads left to the stop line, or how far it is."),
    ({"threads_left": "x"}, "as a number"),
    ({"mm_left": "0"}, "must be"),
    ({"threads_left": "100", "way": "sideways"}, "Choose one of the two ways."),
    ({"threads_left": "100", "reached": "9999"}, "The bundle you reached must be"),
    ({"threads_left": "100", "since": "30"}, "Where it was right"),
]


def test_what_cannot_be_steered_is_said_at_its_field(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _post(stitcher, bib.knots, reached="20")
    for said, sentence in NOT_STEERED:
        answer = stitcher.post(f"/steps/{bib.knots}/steer", data={"reached": "20", **said, "act": "take"})
        assert (answer.status_code, sentence in unescape(answer.text)) == (422, True), said
    with live.database.reading() as db:
        assert db.exec(select(Event).where(Event.action == "steered")).all() == []


def test_a_row_whose_bundles_are_made_is_not_steered(stitcher: httpx2.Client, bib: Bib) -> None:
    _post(stitcher, bib.knots, to="end")
    assert "made already" in stitcher.get(f"/steps/{bib.knots}/steer").text
    assert "Only a row of bundles" in stitcher.get(f"/steps/{bib.mark}/steer").text
    said = {"reached": "20", "threads_left": "100", "act": "take"}
    assert stitcher.post(f"/steps/{bib.mark}/steer", data=said).status_code == 422
