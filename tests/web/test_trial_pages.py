"""What a trial would tell: the ranges before and after on the pages of a garment, a commission and of hours."""

import html
import re

import httpx2

from service.records.db import Writing
from service.records.tables import Garment
from tests.building import a_garment
from tests.counting import number, person, work_on
from tests.serving import OWNER, Live


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def a_bib(db: Writing) -> Garment:
    return a_garment(db, "bib")


def test_a_garment_and_its_commission_say_which_ten_minutes_tell_most(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_bib(db)
        garment_id, commission_id = number(garment), garment.commission_id
    link = f"/garments/{garment_id}/trial"
    assert f'href="/commissions/{commission_id}/trial"' in owner.get(f"/commissions/{commission_id}").text
    assert f'href="{link}"' in owner.get(f"/garments/{garment_id}").text
    page = words(owner.get(link).text)
    told = re.search(
        r"Likely (\S+ to \S+ h) left\. Ten minutes of it on a scrap, (.+?), would tell most: after it", page
    )
    assert told, page
    narrower = [int(share) for share in re.findall(r"(\d+) % narrower", page)]
    assert narrower == sorted(narrower, reverse=True)
    assert narrower[0] > 0
    assert page.count(told[1]) > 2
    assert re.search(
        r"Likely \S+ to \S+ h left\. Ten minutes", words(owner.get(f"/commissions/{commission_id}/trial").text)
    )


def test_where_nothing_is_left_there_is_nothing_to_try(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_bib(db)
        garment_id, commission_id = number(garment), garment.commission_id
        work_on(db, person(db, OWNER), garment_id, lambda _: False)
    assert "What a trial would tell" not in owner.get(f"/commissions/{commission_id}").text
    assert "Nothing is left to do, so there is nothing to try." in owner.get(f"/garments/{garment_id}/trial").text


def test_the_page_of_hours_says_what_ten_minutes_of_the_work_would_leave(stitcher: httpx2.Client) -> None:
    asked = {"operation": "ladder_knot", "quantity": "2000", "count": "20", "count_unit": "cm"}
    page = words(stitcher.get("/reckoner/hours", params=asked).text)
    before, after = re.search(r"likely (\d+) to (\d+) h", page), re.search(r"leave about (\d+) to (\d+) h", page)
    assert before
    assert after
    assert int(before[1]) < int(after[1]) < int(after[2]) < int(before[2])
    pressing = words(stitcher.get("/reckoner/hours", params={"operation": "press", "quantity": "20"}).text)
    assert "tried first" not in pressing


def test_trials_are_the_owners_and_of_what_there_is(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    assert stitcher.get("/garments/1/trial").status_code == 403
    assert owner.get("/garments/99/trial").status_code == 404
    assert owner.get("/commissions/99/trial").status_code == 404
