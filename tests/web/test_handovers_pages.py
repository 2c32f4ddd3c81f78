"""Handing over on pages: made ready from the records, counted in, sent back, the sample row, who held it when."""

import re
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import Database, Writing
from service.records.tables import Event, Handover, HandoverMaterial, HandoverPlace, Panel, Studio
from service.studio.handovers import Offer, pass_on
from service.studio.needles import NeedleAsk, count_needles
from service.studio.travelling import COUNTED_FOR_HER
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import opened_copy
from tests.serving import OWNER, SECOND, START, STITCHER, Live
from tests.shelf import holds, words_of

BIB = 1


def _a_bib(db: Writing) -> int:
    garment_id, owner, wren = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
    pass_on(db, owner, wren, Offer(garment_id, wren.stitcher_id), START)
    work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
    count(db, wren, step(db, garment_id, "ladder_knot"), 31)
    return garment_id


@pytest.fixture(scope="module")
def prepared(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite studio with a bib in Wren's hands, 31 knots of its first band tied."""
    folder = tmp_path_factory.mktemp("prepared")
    with opened_copy(sqlite_template, folder) as database, database.writing() as db:
        assert _a_bib(db) == BIB
    return folder / "studio.sqlite"


@pytest.fixture
def sqlite_database(prepared: Path, tmp_path: Path) -> Iterator[Database]:
    """A studio with it."""
    with opened_copy(prepared, tmp_path) as database:
        yield database


@pytest.fixture
def bib() -> int:
    """Its number."""
    return BIB


def _typed(live: Live, bib: int, **said: str) -> dict[str, str]:
    with live.database.reading() as db:
        panel = db.exec(select(Panel.id).where(Panel.garment_id == bib)).one()
        to = stitcher_id(db, SECOND)
    return {"panels": str(panel), "to": str(to), "needles_out": "3", "pins_out": "10", **said}


def _offer(who: httpx2.Client, live: Live, bib: int, **said: str) -> str:
    answer = who.post(f"/garments/{bib}/give", data=_typed(live, bib, **said))
    assert answer.status_code == 303, words_of(answer.text)
    path: str = answer.headers["location"]
    assert re.fullmatch(r"/handovers/\d+", path)
    return path


def test_most_of_it_is_filled_in_and_needles_never_are(stitcher: httpx2.Client, live: Live, bib: int) -> None:
    assert f'href="/garments/{bib}/give"' in stitcher.get(f"/garments/{bib}").text
    page = stitcher.get(f"/garments/{bib}/give").text
    words = words_of(page)
    assert "Knot the edges: bundle 32 of " in words
    assert "is next, first edge." in words
    assert 'name="what-2" type="text" value="Spare cloth for a sample row: Fine linen"' in page
    assert re.search(r'name="thread-\d+" type="text" value="Lace cotton No \d+"', page)
    for field in ("needles_out", "pins_out"):
        assert f'name="{field}" type="text" value=""' in page


def test_it_is_offered_counted_in_and_taken(
    stitcher: httpx2.Client, second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    typed = {"tension": "firm", "given_first": "24.5", "given_second": "25", "odd": "a mended weft thread"}
    path = _offer(stitcher, live, bib, **typed, **{"what-1": "Lace cotton", "amount-1": "12 m", "notes": "in the tin"})
    for who in (stitcher, second, owner):
        assert "Between hands" in who.get("/").text
        assert "from Wren Hallam to Ida Thorne, 3 needles and 10 pins" in words_of(who.get("/").text)
    words = words_of(second.get(path).text)
    for said in (
        "Knot the edges: bundle 32 of",
        "24.5 and 25 bundles on 50 mm",
        "a mended weft thread",
        "12 m",
        "firm",
    ):
        assert said in words
    assert "I have counted: I take it" in words
    assert "I have counted: I take it" not in owner.get(path).text
    assert second.get(f"/garments/{bib}").status_code == 200
    answer = second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"})
    assert (answer.status_code, answer.headers["location"]) == (303, path)
    assert stitcher.get(f"/garments/{bib}").status_code == 404
    assert "taken by Ida Thorne" in words_of(stitcher.get(path).text)
    history = words_of(second.get(f"/garments/{bib}").text).partition("Who held it when")[2]
    assert history.index("Wren Hallam → Ida Thorne") < history.index("the shelf → Wren Hallam")
    with live.database.reading() as db:
        assert db.exec(select(HandoverMaterial.what, HandoverMaterial.amount)).all()[0] == ("Lace cotton", "12 m")
    assert holds(live)


def test_a_difference_over_five_parts_in_a_hundred_is_told_to_both(
    stitcher: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib, given_first="25", given_second="25")
    second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"})
    second.post(f"{path}/sample", data={"sample_first": "27", "sample_second": "27.5"})
    for who in (stitcher, second):
        assert "The sample lies 9 % closer than the work: 27.25 bundles on 50 mm" in words_of(who.get(path).text)
    answer = second.post(f"{path}/sample", data={"sample_first": "25", "sample_second": ""})
    assert answer.status_code == 422
    assert "Enter bundles on 50 mm." in answer.text
    second.post(f"{path}/sample", data={"sample_first": "25,2", "sample_second": "25.4"})
    assert "No more than 5 % apart." in words_of(second.get(path).text)
    second.post(f"{path}/sample", data={"sample_first": "20", "sample_second": "30"})
    wild = words_of(second.get(path).text)
    assert "The two places of the sample differ by 50 %: 20 and 30 bundles on 50 mm." in wild
    assert "No more than 5 % apart." not in wild
    assert stitcher.post(f"{path}/sample", data={"sample_first": "25", "sample_second": "25"}).status_code == 403


def test_a_missing_needle_is_shown_until_it_is_found(
    stitcher: httpx2.Client, second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib)
    answer = second.post(f"{path}/take", data={"needles_in": "4", "pins_in": "10"})
    assert answer.status_code == 422
    assert "That is 1 needle more than went out." in words_of(answer.text)
    second.post(f"{path}/take", data={"needles_in": "2", "pins_in": "10"})
    assert "1 needle missing." in words_of(second.get(path).text)
    assert "Missing since it was taken" in words_of(owner.get("/").text)
    assert "1 needle is missing since Ida Thorne took it." in words_of(owner.get(f"/garments/{bib}").text)
    wrong = second.post(f"{path}/found", data={"needles_found": "2", "found_note": "in the hem"})
    assert "Only 1 is missing." in wrong.text
    second.post(f"{path}/found", data={"needles_found": "1", "found_note": "in the hem"})
    assert "1 needle found later" in words_of(second.get(path).text)
    assert "missing" not in words_of(owner.get(f"/garments/{bib}").text).partition("Log")[0].partition("Hand it")[0]


def test_it_is_sent_back_with_a_reason_and_can_be_offered_again(
    stitcher: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib)
    answer = second.post(f"{path}/send-back", data={"reason": " "})
    assert answer.status_code == 422
    assert "Enter why, in a few words." in answer.text
    second.post(f"{path}/send-back", data={"reason": "away from Friday"})
    assert "Sent back: away from Friday" in words_of(stitcher.get(path).text)
    again = _offer(stitcher, live, bib)
    assert stitcher.post(f"{again}/send-back", data={"reason": "I finish it myself"}).status_code == 303
    with live.database.reading() as db:
        states = db.exec(select(Handover.state, Handover.reason).order_by(col(Handover.id))).all()
        assert states[1:] == [("sent back", "away from Friday"), ("sent back", "I finish it myself")]


WRONG = (
    ({"panels": ""}, "Choose what is handed over."),
    ({"panels": "999999"}, "Choose panels of this garment."),
    ({"to": ""}, "Enter whose hands."),
    ({"to": "x"}, "as a number"),
    ({"needles_out": ""}, "Enter how many needles go with it."),
    ({"needles_out": "-1"}, "must be at least 0"),
    ({"needles_out": "1e3"}, "as a number"),
    ({"pins_out": "1.5"}, "must be a whole number"),
    ({"pins_out": "99999"}, "must be at most 1,000"),
    ({"notes": "n" * 2001}, "to 2000 characters"),
    ({"given_first": "25"}, "Count at both places, or leave both empty."),
    ({"given_first": "NaN", "given_second": "25"}, "as a number"),
    ({"given_first": "0", "given_second": "25"}, "must be above 0"),
    ({"given_first": "501", "given_second": "25"}, "must be at most 500"),
)


def test_what_is_typed_wrongly_comes_back_with_a_sentence(stitcher: httpx2.Client, live: Live, bib: int) -> None:
    for change, sentence in WRONG:
        answer = stitcher.post(f"/garments/{bib}/give", data=_typed(live, bib, **{"odd": "kept as typed", **change}))
        assert answer.status_code == 422, change
        assert sentence in words_of(answer.text), change
        assert "kept as typed" in answer.text
    with live.database.reading() as db:
        assert len(db.exec(select(Handover)).all()) == 1


def test_a_stranger_finds_no_handover(
    stitcher: httpx2.Client, second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib, to=str(_owner_id(live)))
    for address in (path, f"{path}/sheet", f"{path}/sheet.pdf", f"/garments/{bib}/give", f"/garments/{bib}/sharps"):
        assert second.get(address).status_code == 404
    assert second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"}).status_code == 404
    assert owner.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"}).status_code == 303
    assert stitcher.get(f"/garments/{bib}/give").status_code == 404
    assert owner.get("/handovers/999").status_code == 404


def _owner_id(live: Live) -> int:
    with live.database.reading() as db:
        return stitcher_id(db, OWNER)


def test_the_owner_puts_it_on_the_shelf_in_one_act(owner: httpx2.Client, live: Live, bib: int) -> None:
    path = _offer(owner, live, bib, to="shelf")
    assert "taken by Ottilie Brook" in words_of(owner.get(path).text)
    with live.database.reading() as db:
        assert db.exec(select(Panel.holder_id).where(Panel.garment_id == bib)).one() is None
        assert db.exec(select(HandoverPlace.next_number).order_by(col(HandoverPlace.id).desc())).first() == 32


def test_a_broken_needle_is_written_down_and_seen_by_a_second_person(
    stitcher: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    path, none_out = f"/garments/{bib}/sharps", "By the book no needle and no pin is out on this piece."
    assert none_out in words_of(owner.get(path).text)
    assert "Enter what happened." in stitcher.post(path, data={"kind": "needle"}).text
    assert "Choose whether it was a needle or a pin." in stitcher.post(path, data={"note": "x", "kind": "axe"}).text
    assert stitcher.post(path, data={"kind": "needle", "note": "snapped at the eye"}).status_code == 303
    assert "A needle broke or was lost" in words_of(owner.get(f"/garments/{bib}").text)
    assert none_out not in words_of(owner.get(path).text)
    assert stitcher.post(f"{path}/1/found", data={"found_note": "taped in"}).status_code == 403
    assert owner.post(f"{path}/1/found", data={"found_note": "taped into the book"}).status_code == 303
    assert "All of it found: taped into the book" in words_of(stitcher.get(path).text)
    assert owner.post(f"{path}/99/found", data={"found_note": "x"}).status_code == 404


def test_another_number_than_is_out_is_asked_for_when_it_is_handed_over(
    stitcher: httpx2.Client, second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    with live.database.writing() as db:
        number_of = number(step(db, bib, "ladder_knot"))
        count_needles(db, person(db, STITCHER), number_of, NeedleAsk("sitting", "out", 3, 12), START)
    typed = _typed(live, bib, needles_out="2", pins_out="12", odd="a stain")
    told = stitcher.post(f"/garments/{bib}/give", data=typed)
    assert told.status_code == 422
    assert (
        "In your name 3 needles and 12 pins are out on this piece, and 2 needles and 12 pins go with it. Count again, "
        "or say where the others are, or came from." in words_of(told.text)
    )
    none = stitcher.post(f"/garments/{bib}/give", data=typed | {"needles_out": "0", "pins_out": "0"})
    assert "and none go with it. Count again, or say where they are." in words_of(none.text)
    answer = stitcher.post(f"/garments/{bib}/give", data=typed | {"rest": "one is in my tin"})
    assert answer.status_code == 303
    path = answer.headers["location"]
    second.post(f"{path}/take", data={"needles_in": "2", "pins_in": "12"})
    assert re.search(r"a stain\s+one is in my tin", words_of(second.get(path).text))
    out = words_of(owner.get(f"/garments/{bib}/sharps").text)
    assert "1 needle counted out by Wren Hallam" not in out  # what a handover left in her name
    assert "1 needle taken over with the piece by Wren Hallam is not counted in yet." in out
    assert "2 needles and 12 pins taken over with the piece by Ida Thorne are not counted in yet." in out


def test_in_inches_the_length_to_count_bundles_on_keeps_its_unit_with_inches_beside_it(
    owner: httpx2.Client, live: Live, bib: int
) -> None:
    with live.database.writing() as db:
        db.get_one(Studio, 1).length_unit = "in"
    assert "Bundles on 50 mm (about 2 in)" in words_of(owner.get(f"/garments/{bib}/give").text)
    path = _offer(owner, live, bib)
    sheet = words_of(owner.get(f"{path}/sheet").text)
    assert "count the bundles on 50 mm (about 2 in): more than 5 % apart will show" in sheet


def test_whoever_gave_the_piece_away_still_counts_in_what_is_out_in_her_name_and_sees_nothing_else(
    stitcher: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    with live.database.writing() as db:
        hers = person(db, STITCHER).id
        count_needles(
            db, person(db, STITCHER), number(step(db, bib, "ladder_knot")), NeedleAsk("sitting", "out", 3, 12), START
        )
    sharps = f"/garments/{bib}/sharps"
    told = f'<a href="{sharps}">Count in</a>'
    assert told not in stitcher.get("/").text  # it is in her hands: the table counts them in
    typed = _typed(live, bib, needles_out="2", pins_out="12", rest="one is in my tin")
    path = stitcher.post(f"/garments/{bib}/give", data=typed).headers["location"]
    second.post(f"{path}/take", data={"needles_in": "2", "pins_in": "12"})
    assert stitcher.get(f"/garments/{bib}").status_code == 404
    table = stitcher.get("/").text
    assert "In your name 1 needle is still out on Bib with three bands." in words_of(table)
    assert told in table
    page = stitcher.get(sharps)
    assert "by Wren Hallam is not counted in yet." in words_of(page.text)
    assert "Ida Thorne" not in page.text
    assert f'href="/garments/{bib}"' not in page.text
    assert "One broke, or is lost" not in page.text
    assert stitcher.post(sharps, data={"kind": "needle", "note": "snapped"}).status_code == 404
    said = {"whose": str(hers), f"needles-{hers}": "2", f"pins-{hers}": "0"}
    assert "2 came in, but only 1 were written out." in words_of(stitcher.post(f"{sharps}/in", data=said).text)
    with live.database.reading() as db:
        holder, owners = person(db, SECOND).id, person(db, OWNER).id
    for whose in (holder, owners, 999):  # the first has some out, which is not hers to know
        others = {"whose": str(whose), f"needles-{whose}": "0", f"pins-{whose}": "0"}
        assert stitcher.post(f"{sharps}/in", data=others).status_code == 404
    done = stitcher.post(f"{sharps}/in", data=said | {f"needles-{hers}": "1"})
    assert (done.status_code, done.headers["location"]) == (303, "/")
    for again in (stitcher.post(f"{sharps}/in", data=said | {f"needles-{hers}": "1"}), stitcher.get(sharps)):
        assert (again.status_code, "Nothing is out in that name any more." in words_of(again.text)) == (404, True)
    assert "In your name" not in stitcher.get("/").text
    assert holds(live)


def test_what_travels_stays_out_until_whoever_holds_it_counts_it_in(
    stitcher: httpx2.Client, second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib)
    second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"})
    with live.database.writing() as db:
        work_on(db, person(db, OWNER), bib, lambda _row: False)
        hers = person(db, SECOND).id
    out = "3 needles and 10 pins taken over with the piece by Ida Thorne are not counted in yet."
    ticked = owner.post(f"/garments/{bib}/finishing", data={"what": "needles"})
    assert ticked.status_code == 422
    assert f"{out} Count them in first" in words_of(ticked.text)
    refused = owner.post(f"/garments/{bib}/finish", data={"reason": "in a hurry"})
    assert refused.status_code == 422
    assert out in words_of(refused.text)
    assert f'<a href="/garments/{bib}/sharps">Count needles and pins in</a>' in refused.text
    sharps = f"/garments/{bib}/sharps"
    assert "Out: 3 needles, 10 pins." in words_of(second.get(f"/steps/{_mark(live, bib)}/table").text)
    assert out in words_of(second.get(sharps).text)
    assert "no pin is out" not in words_of(second.get(sharps).text)
    said = {"whose": str(hers), f"needles-{hers}": "4", f"pins-{hers}": "10"}
    more = second.post(f"{sharps}/in", data=said)
    assert more.status_code == 422
    assert "4 came in, but only 3 were written out." in words_of(more.text)
    second.post(f"{sharps}/in", data=said | {f"needles-{hers}": "2"})
    assert "1 needle counted out by Ida Thorne is missing." in words_of(owner.get(sharps).text)
    assert second.post(f"{sharps}/in", data=said | {f"needles-{hers}": "3"}).status_code == 303
    assert "counted out by" not in words_of(owner.get(sharps).text)
    assert second.post(f"{sharps}/in", data=said).status_code == 404
    assert owner.post(f"/garments/{bib}/finishing", data={"what": "needles"}).status_code == 303
    assert owner.post(f"/garments/{bib}/finish", data={"reason": "in a hurry"}).status_code == 303
    assert holds(live)


def test_the_owner_counts_in_for_another_and_it_is_told(
    second: httpx2.Client, owner: httpx2.Client, stitcher: httpx2.Client, live: Live, bib: int
) -> None:
    path = _offer(stitcher, live, bib)
    second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"})
    with live.database.reading() as db:
        hers = person(db, SECOND).id
    said = {"whose": str(hers), f"needles-{hers}": "3", f"pins-{hers}": "10"}
    assert stitcher.post(f"/garments/{bib}/sharps/in", data=said).status_code == 404
    assert owner.post(f"/garments/{bib}/sharps/in", data=said).status_code == 303
    with live.database.reading() as db:
        event = db.exec(select(Event).where(Event.action == COUNTED_FOR_HER)).one()
        assert (event.account_id, event.reason) == (person(db, OWNER).id, "Ida Thorne: 3 + 10")
    assert COUNTED_FOR_HER in words_of(owner.get(f"/garments/{bib}/history").text)
    assert holds(live)


def test_what_is_on_the_shelf_with_its_needles_is_the_owner_s_to_count_in(
    owner: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    _offer(owner, live, bib, to="shelf")
    out = "3 needles and 10 pins taken over with the piece by Ottilie Brook are not counted in yet."
    assert out in words_of(owner.get(f"/garments/{bib}/sharps").text)
    path = _offer(owner, live, bib)
    second.post(f"{path}/take", data={"needles_in": "3", "pins_in": "10"})
    words = words_of(owner.get(f"/garments/{bib}/sharps").text)
    assert out not in words
    assert "by Ida Thorne are not counted in yet." in words


def _mark(live: Live, bib: int) -> int:
    with live.database.reading() as db:
        return number(step(db, bib, "mark"))
