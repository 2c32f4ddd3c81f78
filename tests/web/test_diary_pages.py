"""The diary and its what-ifs on their pages: what each person reads, what is kept, what a wrong question is told."""

import gzip
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import httpx2
import pytest
from sqlmodel import select

from service.records.db import Writing, migrate, open_database
from service.records.tables import ExtraMinutes, Garment, Panel, PlannedHands, StitcherAway
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.stitchers import change_hours
from service.web.what_if import LATE_ONES
from tests.building import a_garment
from tests.counting import number, stitcher_id
from tests.serving import OWNER, SECOND, STITCHER, Live, serving

WEEK = timedelta(days=7)


def today() -> date:
    return datetime.now(UTC).date()


def a_piece(db: Writing, name: str, by: str, wanted_in: int = 60) -> int:
    """A bib of that name in somebody's hands, who has an hour a day."""
    garment = a_garment(db, "bib")
    garment.name, garment.wanted_on = name, today() + timedelta(days=wanted_in)
    db.add(garment)
    who = stitcher_id(db, by)
    change_hours(db, who, (60,) * 7)
    for panel in db.exec(select(Panel).where(Panel.garment_id == garment.id)):
        panel.holder_id = who
        db.add(panel)
    return number(garment)


def test_the_owner_reads_who_works_on_what_and_each_pieces_road(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
        a_piece(db, "Moss bib", SECOND)
    page = owner.get("/diary").text
    assert page.count("<strong>Wren Hallam</strong>, ") == 7
    assert page.count("<strong>Ida Thorne</strong>, ") == 7
    assert page.count('class="d-road"') == 2
    assert "eight times in ten by" in page
    assert "Of what is planned" not in page
    assert "a guess: nothing is logged yet" in page
    later = owner.get(f"/diary?from={today() + WEEK}").text
    assert "The week before" in later
    one = owner.get(f"/diary/{today() + timedelta(days=1)}").text
    assert one.count("<strong>Wren Hallam</strong>, 1 h.") == 1


def test_the_garments_page_shows_its_road_and_why_there_is_none(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy bib", STITCHER, 1)
        other = number(a_garment(db, "bib"))
        for panel in db.exec(select(Panel).where(Panel.garment_id == other)):
            panel.holder_id = stitcher_id(db, SECOND)
    page = owner.get(f"/garments/{bib}").text
    assert page.count('class="d-road"') == 1
    assert f'<a href="/diary/what-if/{bib}">What would help</a>' in page
    assert "Ida Thorne has no hours in her week" in owner.get(f"/garments/{other}").text


def test_a_stitcher_reads_her_own_diary_and_no_client(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
        a_piece(db, "Moss bib", SECOND)
    page = stitcher.get("/diary").text
    assert "Ivy bib" in page
    for hidden in ("Moss bib", "Ida Thorne", "Hester", "Christening of Ivy", "/diary/what-if"):
        assert hidden not in page
    for path in ("/diary/what-if", "/diary/what-if/hands", "/diary/what-if/minutes", "/diary/what-if/new"):
        assert stitcher.get(path).status_code == 403


def test_a_day_away_says_why_and_what_rests(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
        away = today() + timedelta(days=1)
        db.add(StitcherAway(stitcher_id=stitcher_id(db, STITCHER), first_day=away, last_day=away, note="at the sea"))
    page = owner.get(f"/diary/{away}").text
    assert re.search(r"<strong>Wren Hallam</strong> is away \(at the sea\), so <a [^>]+>Ivy bib</a> rests\.", page)


def test_an_empty_studio_and_one_without_hours_have_a_diary_too(owner: httpx2.Client, live: Live) -> None:
    assert "Every piece being made has its road here: " in owner.get("/diary").text
    with live.database.writing() as db:
        a_garment(db, "bib")
    page = owner.get("/diary").text
    assert "Nobody has any hours in the week, so nothing is foreseen." in page
    assert "No piece’s day" not in owner.get("/diary/what-if/hands").text


def test_a_day_that_is_past_too_far_or_none_is_no_page(owner: httpx2.Client) -> None:
    for day in ("2020-01-01", "9999-12-31", "soon"):
        assert owner.get(f"/diary/{day}").status_code == 404
    assert owner.get("/diary?from=2020-01-01").status_code == 200


@pytest.mark.parametrize(("wanted_in", "speaks"), [(1, True), (60, False)])
def test_where_nothing_alone_helps_she_is_told_to_speak_with_the_client(
    owner: httpx2.Client, live: Live, wanted_in: int, speaks: bool
) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy bib", STITCHER, wanted_in)
        a_piece(db, "Moss bib", SECOND)
    page = owner.get(f"/diary/what-if/{bib}").text
    assert (">Hester Vane</a> about the day now" in page) is speaks
    assert ("None of these makes it likelier than it is now." in page) is speaks


def test_where_nothing_alone_helps_two_parts_are_tried_at_once_and_planned_by_one_press(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        shirt = number(a_garment(db, "boys_shirt"))
        for by in (STITCHER, SECOND, OWNER):
            change_hours(db, stitcher_id(db, by), (60,) * 7)
        for panel in db.exec(select(Panel).where(Panel.garment_id == shirt)):
            panel.holder_id = stitcher_id(db, STITCHER)
        db.get_one(Garment, shirt).wanted_on = today() + timedelta(days=2)
    page = owner.get(f"/diary/what-if/{shirt}").text
    together = page.split("<h2>Two parts at once</h2>")[1]
    assert "Nor does a second part with it make it likely in time." in together
    assert f'<a href="/commissions/{_commission_of(live, shirt)}/change">the commission</a>' in together
    link = re.findall(r'href="(/diary/what-if/hands\?[^"]+)"', together)[0].replace("&amp;", "&")
    tried = owner.get(link).text
    asked = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]+)"', tried))
    assert set(asked) == {"part", "to", "also", "also_to"}
    assert re.search(r"in [\w ]+’s hands; [\w ,]+ in [\w ]+’s hands</h2>", tried)
    for _ in ("pressed", "pressed again"):
        assert owner.post("/diary/what-if/hands", data=asked).headers["location"] == "/diary#hands"
    with live.database.reading() as db:
        plans = db.exec(select(PlannedHands)).all()
        assert (len(plans), len({plan.panel_id for plan in plans})) == (2, 2)
    for wrong in ({**asked, "also": asked["part"]}, {**asked, "also_to": ""}, {**asked, "also": ""}):
        refused = owner.post("/diary/what-if/hands", data=wrong)
        assert (refused.status_code, "There is a problem" in refused.text) == (422, True)


@pytest.mark.parametrize(("most", "tells"), [(2, True), (24, False)])
def test_where_not_everything_is_tried_the_page_says_so(
    owner: httpx2.Client, live: Live, monkeypatch: pytest.MonkeyPatch, most: int, tells: bool
) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy bib", STITCHER)
        a_piece(db, "Moss bib", SECOND)
        change_hours(db, stitcher_id(db, OWNER), (60,) * 7)
    for module in ("service.studio.what_ifs", "service.web.what_if"):
        monkeypatch.setattr(f"{module}.MOST_MOVES", most)
    page = owner.get(f"/diary/what-if/{bib}").text
    assert 2 <= page.count(">Look at it<") <= most
    assert (f"No more than {most} are tried." in page) is tells


def _commission_of(live: Live, garment_id: int) -> int:
    with live.database.reading() as db:
        return db.get_one(Garment, garment_id).commission_id


def test_giving_is_tried_without_keeping_and_kept_when_confirmed(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy bib", STITCHER, 4)
        a_piece(db, "Moss bib", SECOND)
        ida = stitcher_id(db, SECOND)
    help_page = owner.get(f"/diary/what-if/{bib}").text
    assert "What would help" in help_page
    link = re.findall(r'href="(/diary/what-if/hands\?[^"]+)"', help_page)[0].replace("&amp;", "&")
    tried = owner.get(link).text
    assert "Plan it so" in tried
    assert "Ivy bib" in tried
    with live.database.reading() as db:
        assert db.exec(select(PlannedHands)).all() == []
    answer = owner.post(
        "/diary/what-if/hands", data=dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]+)"', tried))
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/diary#hands")
    with live.database.reading() as db:
        (kept,) = db.exec(select(PlannedHands)).all()
        assert (kept.garment_id, kept.stitcher_id) == (bib, ida)
    page = owner.get("/diary").text
    assert "Planned for other hands" in page
    assert "(to be given to her)" in page
    assert owner.post(f"/diary/planned/{kept.id}/end").status_code == 303
    assert "Planned for other hands" not in owner.get("/diary").text
    assert owner.post("/diary/planned/999/end").status_code == 404


def test_minutes_are_tried_kept_shown_and_taken_back(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
        wren = stitcher_id(db, STITCHER)
    asked = {"stitcher": str(wren), "weekday": "2", "minutes": "90", "first": today().isoformat(), "weeks": "3"}
    tried = owner.get("/diary/what-if/minutes", params=asked).text
    assert "1½ h more on Wednesdays" in tried
    assert owner.post("/diary/what-if/minutes", data=asked).headers["location"] == "/diary#hours"
    with live.database.reading() as db:
        (kept,) = db.exec(select(ExtraMinutes)).all()
        assert (kept.weekday, kept.minutes, kept.last_day) == ("wed", 90, today() + timedelta(days=20))
    assert "1½ h more on Wednesdays" in owner.get("/diary").text
    assert owner.post(f"/diary/more/{kept.id}/remove").status_code == 303
    assert "more on Wednesdays" not in owner.get("/diary").text


WRONG_MINUTES = (
    ("stitcher", "999", "Choose who works more."),
    ("weekday", "7", "Choose a weekday."),
    ("minutes", "NaN", "Enter the minutes more as a number"),
    ("minutes", "0", "Minutes more must be at least 1."),
    ("minutes", "721", "Minutes more must be at most 720."),
    ("first", "2020-01-01", "The first day must not lie before today"),
    ("first", "someday", "Enter the first day as year-month-day"),
    ("weeks", "53", "How many weeks must be at most 52."),
)


def test_minutes_that_cannot_be_are_told_at_their_field(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        wren = stitcher_id(db, STITCHER)
    right = {"stitcher": str(wren), "weekday": "2", "minutes": "90", "first": today().isoformat(), "weeks": "3"}
    for field, typed, sentence in WRONG_MINUTES:
        answer = owner.get("/diary/what-if/minutes", params={**right, field: typed})
        assert (answer.status_code, sentence in answer.text) == (422, True), sentence
    answer = owner.post("/diary/what-if/minutes", data={**right, "minutes": "-5"})
    assert answer.status_code == 422
    with live.database.reading() as db:
        assert db.exec(select(ExtraMinutes)).all() == []


def test_a_commission_can_be_tried_and_leads_to_writing_it_down_and_making_it(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy bib", STITCHER)
        garment = db.get_one(Garment, bib)
        panel = db.exec(select(Panel).where(Panel.garment_id == bib)).first()
        assert panel is not None
        design, cloth = garment.design_id, panel.cloth_id
    wanted = (today() + timedelta(days=40)).isoformat()
    asked = {"design": str(design), "wanted_on": wanted, "by": ""}
    first = owner.get("/diary/what-if/new", params=asked)
    assert first.status_code == 200
    fields = re.findall(r'name="(cloth\.\w+)"', first.text)
    assert fields
    missing = owner.get("/diary/what-if/new", params={**asked, **dict.fromkeys(fields, "")})
    assert (missing.status_code, "Choose a cloth for the" in missing.text) == (422, True)
    found = owner.get("/diary/what-if/new", params={**asked, **dict.fromkeys(fields, str(cloth))})
    assert found.status_code == 200
    assert 'class="d-road"' in found.text
    (link,) = re.findall(r'href="(/commissions/new\?[^"]+)"', found.text)
    form = owner.get(link.replace("&amp;", "&")).text
    assert f'value="{wanted}"' in form
    hidden = dict(re.findall(r'type="hidden" name="([\w.]+)" value="([^"]+)"', form))
    assert hidden == {"design": str(design), **dict.fromkeys(fields, str(cloth))}
    answer = owner.post("/commissions", data={"client": "1", "title": "Bib for Wilf", "wanted_on": wanted, **hidden})
    assert re.match(r"/commissions/\d+/make\?design=\d+&cloth", answer.headers["location"])
    assert owner.get(answer.headers["location"]).status_code == 200


WRONG_COMMISSIONS: tuple[tuple[dict[str, str], str], ...] = (
    ({"design": ""}, "Choose a design."),
    ({"design": "999"}, "Choose a design."),
    ({"design": "1", "wanted_on": "2020-01-01"}, "must not lie before today"),
    ({"design": "1", "wanted_on": ""}, "Enter the day it is wanted."),
    ({"design": "1", "wanted_on": "2027-01-01", "by": "999"}, "Choose who makes it."),
)


def test_a_commission_that_cannot_be_tried_says_why(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", OWNER)
    for asked, sentence in WRONG_COMMISSIONS:
        answer = owner.get("/diary/what-if/new", params=asked)
        assert (answer.status_code, sentence in answer.text) == (422, True), sentence


def test_hands_that_are_none_are_told_at_their_field(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
    for asked in ({"part": "nonsense", "to": "1"}, {"part": "", "to": ""}, {"part": "1 joined", "to": "x"}):
        for answer in (owner.get("/diary/what-if/hands", params=asked), owner.post("/diary/what-if/hands", data=asked)):
            assert (answer.status_code, "There is a problem" in answer.text) == (422, True)
    assert owner.get("/diary/what-if/999").status_code == 404


def test_the_diary_weighs_as_much_for_twice_the_pieces_and_leads_to_each_of_them(tmp_path: Path) -> None:
    few, many = (_walked(tmp_path / f"{pieces}.sqlite", pieces) for pieces in (60, 120))
    for path, figure in (("/diary", "d-road"), ("/diary/what-if", "chance")):
        pages, more = few[path], many[path]
        assert len(more) > len(pages) > 1, path
        assert len(more[0]) < 1.05 * len(pages[0]), path
        assert len(gzip.compress(more[0].encode())) < 30_000, path
        assert figure in more[-1], path
    roads = [number for page in many["/diary"] for number in re.findall(r'<h3><a href="/garments/(\d+)"', page)]
    assert sorted(map(int, roads)) == list(range(1, 121))
    late = [
        number for page in many["/diary/what-if"] for number in re.findall(r'<li><span><a href="[^"]+?(\d+)"', page)
    ]
    assert len(late) == len(set(late)) > LATE_ONES


def _walked(file: Path, pieces: int) -> dict[str, list[str]]:
    """Both lists of a studio of so many open pieces, page after page."""
    migrate(f"sqlite:///{file}")
    database = open_database(f"sqlite:///{file}")
    fill_or_refresh(database, "a password of ours", pieces, datetime.now(UTC), open_every=1)
    found: dict[str, list[str]] = {"/diary": [], "/diary/what-if": []}
    with serving(database) as live, live.signed_in(DEMO_EMAILS["edda"]) as owner:
        for path, pages in found.items():
            further = [path]
            while further:
                pages.append(owner.get(further[0].replace("&amp;", "&")).text)
                further = re.findall(r'href="([^"]+)#\w+">Further', pages[-1])
    database.close()
    return found
