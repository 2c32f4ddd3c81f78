"""The work table on its page: who sees what, in which order, narrowed down, and what is offered when it is empty."""

import re
from datetime import UTC, date, datetime, timedelta

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import Writing
from service.records.queries.standing import NextStep, Standing
from service.records.tables import Cloth, Commission, Garment, Panel, Step
from service.studio.making import MakingAsk, make_garment
from service.studio.standing import call_off, resummarise
from service.studio.stitchers import change_hours
from service.web.work_table import hurry_of
from tests.building import a_cloth, a_commission, a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.quoting import charge
from tests.serving import OWNER, START, STITCHER, Live

TODAY = date(2027, 3, 1)


def _named(db: Writing, name: str, days: int, key: str = "bib") -> Garment:
    """A garment of that name, wanted in so many days."""
    garment = a_garment(db, key)
    garment.name, garment.wanted_on = name, datetime.now(UTC).date() + timedelta(days=days)
    db.add(garment)
    return resummarise(db, number(garment))


def _rows(page: str) -> list[str]:
    """The names in the ledger, from above."""
    return re.findall(r'<a href="/garments/\d+">([^<]+)</a>', page)


def _piece(left_ms: int, wanted_on: date, start_by: date) -> Standing:
    following = NextStep(1, "clip", "thread", 10, 0, "Hem", "Front")
    named: tuple[str, str, int, str, str] = ("", "planned", 1, "Ivy", "Hester")
    return Standing(
        1, "Gown", *named, wanted_on, start_by, 100, left_ms, joined=False, over_at=None, next_step=following
    )


@pytest.mark.parametrize(
    ("left_ms", "wanted_in", "start_in", "chance", "word"),
    [
        (100, 60, -10, 0.7, ""),
        (100, 60, 4, 0.69, "Needs a hand now"),
        (100, 60, 4, 0.39, "Likely late"),
        (100, -1, 4, 0.01, "Late"),
        (100, 60, 4, None, ""),
        (100, 60, 3, None, "Needs a hand now"),
        (100, 60, -1, None, "Likely late"),
        (0, 30, 30, 0.99, ""),
        (0, 2, 2, 0.99, "Finish it now"),
        (0, -5, -5, 0.01, "Finish it now"),
    ],
)
def test_only_what_is_not_sure_to_be_in_time_has_a_word(
    left_ms: int, wanted_in: int, start_in: int, chance: float | None, word: str
) -> None:
    piece = _piece(left_ms, TODAY + timedelta(days=wanted_in), TODAY + timedelta(days=start_in))
    assert hurry_of(piece, TODAY, chance) == word


def test_a_piece_stands_with_its_day_what_is_left_its_next_step_and_whose_hands(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        garment = _named(db, "Ivy's bib", 70)
        work_on(db, person(db, OWNER), number(garment), lambda row: row.operation == "ladder_knot")
        give(db, person(db, OWNER), Giving(number(garment), stitcher_id(db, STITCHER)), START)
        knots = number(step(db, number(garment), "ladder_knot"))
    page = owner.get("/").text
    assert _rows(page) == ["Ivy&#39;s bib"]
    assert "Christening of Ivy, Hester Vane" in page
    assert "in 10 weeks" in page
    assert f'<a href="/steps/{knots}">knot the edges</a>' in page
    assert "Wren Hallam" in page
    assert re.search(r"likely [\d½]+ to [\d½]+ h<br>", page)
    assert "% done" in page
    assert "Mostly guesses: the log is too short yet" in page
    assert 'class="d-thumb"' in page
    assert "Late" not in page


def test_a_piece_of_whose_day_nothing_is_foreseen_says_why(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        _named(db, "Ivy's bib", 70)
    page = owner.get("/").text
    assert "not foreseen" in page
    assert "Nobody has any hours in the week" in page
    assert '<a href="/stitchers">Write down who works when</a>' in page


def test_what_needs_a_hand_first_stands_first(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        _named(db, "Later", 90)
        _named(db, "Sooner", 30)
        _named(db, "Past", -3)
        change_hours(db, stitcher_id(db, STITCHER), (90,) * 7)
    page = owner.get("/").text
    assert _rows(page) == ["Past", "Sooner", "Later"]
    assert page.count("<strong>Late</strong>") == 1
    assert "late unless something changes" in page
    assert re.search(r'<strong>Late</strong>: <a href="/diary/what-if/\d+">what would help</a>', page)


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ({"q": "ivy"}, ["Ivy gown", "Moss gown"]),
        ({"q": "moss"}, ["Moss gown"]),
        ({"q": "hester"}, ["Ivy gown", "Moss gown"]),
        ({"q": "%"}, []),
        ({"hands": "shelf"}, ["Moss gown"]),
        ({"hands": "STITCHER"}, ["Ivy gown"]),
        ({"hands": "nobody"}, ["Ivy gown", "Moss gown"]),
        ({"hands": "99999999999999999999"}, ["Ivy gown", "Moss gown"]),
        ({"waits": "cut_block"}, ["Moss gown"]),
        ({"waits": "clip"}, []),
        ({"after": "nonsense"}, ["Ivy gown", "Moss gown"]),
        ({"after": "9999-12-31,1"}, []),
        ({"state": "lost"}, ["Ivy gown", "Moss gown"]),
    ],
    ids=str,
)
def test_the_table_is_narrowed_by_a_plain_form(
    owner: httpx2.Client, live: Live, asked: dict[str, str], names: list[str]
) -> None:
    with live.database.writing() as db:
        ivy = _named(db, "Ivy gown", 40)
        _named(db, "Moss gown", 60)
        hers = stitcher_id(db, STITCHER)
        give(db, person(db, OWNER), Giving(number(ivy), hers), START)
        work_on(db, person(db, OWNER), number(ivy), lambda row: row.operation == "wash")
    answer = owner.get("/", params={name: value.replace("STITCHER", str(hers)) for name, value in asked.items()})
    assert answer.status_code == 200
    assert _rows(answer.text) == names
    assert ("No piece is found by that." in answer.text) == (not names and "after" not in asked)


def test_more_pieces_than_a_page_holds_are_found_further_on(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        first = _named(db, "Piece 0", 100)
        for at in range(1, 52):
            copied = first.model_dump(exclude={"id", "name"})
            db.add(Garment(**copied, name=f"Piece {at}"))
    page = owner.get("/").text
    link = re.search(r'href="(/\?after=[^"]+)"', page)
    assert link
    further = owner.get(link[1].replace("&amp;", "&")).text
    assert len(_rows(page)) == 50
    assert sorted(_rows(page) + _rows(further)) == sorted(f"Piece {at}" for at in range(52))
    assert "Further" not in further


def test_what_is_called_off_stands_one_click_away(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = _named(db, "Given up", 40)
        call_off(db, number(garment), "the cloth is gone", 1, datetime.now(UTC))
    page = owner.get("/").text
    assert _rows(page) == []
    assert 'href="/?state=called%20off"' in page
    over = owner.get("/?state=called%20off").text
    assert _rows(over) == ["Given up"]
    assert "Late" not in over
    assert "Pieces that are finished stand here." in owner.get("/?state=finished").text


def test_a_stitcher_sees_only_what_is_in_her_hands_and_no_client(
    stitcher: httpx2.Client, second: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        ivy, _ = _named(db, "Ivy gown", 40), _named(db, "Moss gown", 60)
        give(db, person(db, OWNER), Giving(number(ivy), stitcher_id(db, STITCHER)), START)
    page = stitcher.get("/").text
    assert _rows(page) == ["Ivy gown"]
    assert "Hester" not in page
    assert "Christening of Ivy" not in page
    assert "In whose hands</label>" not in page
    assert _rows(stitcher.get("/", params={"q": "hester"}).text) == []
    assert "Here stand the pieces in your hands." in second.get("/").text


def test_a_stitcher_is_led_to_the_step_in_her_own_hands(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        gown = _named(db, "Ivy gown", 40, "day_gown")
        panels = {panel.name: number(panel) for panel in db.exec(select(Panel).where(Panel.garment_id == gown.id))}
        back = panels["Back"]
        give(db, person(db, OWNER), Giving(number(gown), stitcher_id(db, STITCHER), frozenset({back})), START)
        hers, first = (
            db.exec(select(Step.id).where(Step.panel_id == panel).order_by(col(Step.position))).first()
            for panel in (back, panels["Front"])
        )
    page = stitcher.get("/").text
    assert f'<a href="/steps/{hers}">cut the block</a><span class="about-it">Back</span>' in page
    assert f'href="/steps/{first}"' not in page
    assert "Waiting for</label>" not in page


def test_a_stitcher_reads_when_nothing_in_her_hands_can_be_worked_on(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        gown = _named(db, "Ivy gown", 40, "day_gown")
        back = db.exec(select(Panel).where(Panel.garment_id == gown.id, Panel.name == "Back")).one()
        give(db, person(db, OWNER), Giving(number(gown), stitcher_id(db, STITCHER), frozenset({number(back)})), START)
        for row in db.exec(select(Step).where(Step.panel_id == back.id).order_by(col(Step.position))).all():
            count(db, person(db, OWNER), row, row.quantity_tenths / 10)
    assert "nothing you can work on yet" in stitcher.get("/").text


def test_hands_and_states_that_are_none_are_passed_over(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        _named(db, "Ivy gown", 40)
    whole = _rows(owner.get("/").text)
    assert len(whole) == 1
    for asked in ({"state": "foo"}, {"hands": "abc"}):
        answer = owner.get("/", params=asked)
        assert _rows(answer.text) == whole
        assert '<details class="finder" open' not in answer.text


def test_lists_of_other_states_are_offered_once_there_is_a_garment(owner: httpx2.Client, live: Live) -> None:
    assert "/?state=" not in owner.get("/").text
    with live.database.writing() as db:
        garment_id = number(_named(db, "Ivy gown", 40))
    assert 'href="/?state=finished"' in owner.get("/").text
    with live.database.writing() as db:
        call_off(db, garment_id, "not wanted", person(db, OWNER).id, START)
    assert 'href="/?state=called%20off"' in owner.get("/").text


def _acts(page: str) -> list[tuple[str, str]]:
    """Where the table leads while it is empty, with the words."""
    links = re.findall(r'<a class="act" href="([^"]+)">([^<]+)</a>', page)
    return links + re.findall(r'<form method="post" action="([^"]+)"><button type="submit">([^<]+)</button>', page)


def test_an_empty_studio_is_led_to_its_first_tally_one_thing_at_a_time(owner: httpx2.Client, live: Live) -> None:
    assert _acts(owner.get("/").text) == [("/first-run/cloth", "Measure your first cloth")]
    with live.database.writing() as db:
        db.add(Cloth(name="Fine linen", fibre="linen", width_um=1_400_000, created_at=START))
    assert _acts(owner.get("/").text) == [("/cloth/1/count", "Count its threads, warp and weft")]
    with live.database.writing() as db:
        a_cloth(db)
    assert _acts(owner.get("/").text) == [("/designs/ready", "Choose the first design")]
    assert owner.post("/designs/ready", data={"key": "handkerchief"}).headers["location"] == "/designs/1"
    assert _acts(owner.get("/").text) == [("/clients/new", "Write down the client")]
    with live.database.writing() as db:
        a_commission(db)
    assert _acts(owner.get("/").text) == [("/commissions/1/make", "Lay the design on the cloth")]
    with live.database.writing() as db:
        garment = number(make_garment(db, MakingAsk(1, 1, {"square": 2}), START))
    assert _acts(owner.get("/").text) == [("/settings/charges?for=1", "Say what an hour costs")]
    with live.database.writing() as db:
        charge(db)
    assert ("/commissions/1/quotes", "Reckon the first quote") in _acts(owner.get("/").text)
    owner.post("/commissions/1/quotes")
    assert [words for _, words in _acts(owner.get("/").text)] == ["Open the first step"]
    with live.database.writing() as db:
        work_on(db, person(db, OWNER), garment, lambda row: row.operation == "mark")
    assert "first tally" not in owner.get("/").text


def test_a_stitcher_is_not_led_through_an_empty_studio(stitcher: httpx2.Client) -> None:
    page = stitcher.get("/").text
    assert _acts(page) == []
    assert "Here stand the pieces in your hands. The owner gives them to you." in page


def test_a_design_that_is_ready_is_taken_once(owner: httpx2.Client) -> None:
    assert owner.get("/designs/ready").text.count("Take it<span") == 8
    owner.post("/designs/ready", data={"key": "bib"})
    page = owner.get("/designs/ready").text
    assert page.count("Take it<span") == 7
    assert '<a href="/designs/1">Open it</a>' in page
    assert owner.post("/designs/ready", data={"key": "bib"}).status_code == 409
    assert owner.post("/designs/ready", data={"key": "../studio"}).status_code == 404


def test_a_table_without_open_pieces_offers_the_next_garment(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment_id = number(_named(db, "Ivy gown", 40))
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "mark")
        call_off(db, garment_id, "not wanted", person(db, OWNER).id, START)
    assert _acts(owner.get("/").text) == [("/commissions/1/make", "Make a garment for Christening of Ivy")]
    with live.database.writing() as db:
        kept = db.get_one(Commission, 1)
        kept.state = "closed"
        db.add(kept)
    assert _acts(owner.get("/").text) == [("/commissions/new", "Write down a commission")]


def test_a_page_that_asks_for_its_rows_gets_them_alone(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        _named(db, "Ivy gown", 40)
    part = owner.get("/", params={"q": "ivy"}, headers={"HX-Request": "true", "HX-Target": "found"}).text
    assert part.lstrip().startswith('<div id="found" data-said="1 found">')
