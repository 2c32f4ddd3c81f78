"""Finding anything by name, number or word: the owner everything, a stitcher what she may see."""

import re

import httpx2
import pytest

from service.records.db import Database
from service.records.queries.finding import MOST, Found, Seeker, found_by
from service.records.tables import Client, Stitcher, Supply
from tests.building import a_cloth, a_garment
from tests.counting import number, person, stitcher_id
from tests.giving import Giving, give
from tests.quoting import a_draft
from tests.serving import OWNER, START, STITCHER, Live

OF_THE_OWNER = Seeker(is_owner=True, stitcher_id=0)


def _names(found: dict[str, list[Found]]) -> dict[str, list[str]]:
    return {kind: [each.name for each in lines] for kind, lines in found.items()}


def _shown(page: str) -> list[str]:
    """The addresses found, in their order."""
    return re.findall(r'<li><a href="([^"]+)">[^<]*</a>', page.partition('<div id="found"')[2])


def test_everything_is_found_by_a_part_of_its_name_whatever_the_capitals_and_accents(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db, "handkerchief")
        garment.name = "Mouchoir d’Élodie"
        db.add(garment)
        db.add(Client(name="Élodie Marsh", phone="01 77", created_at=START))
        db.add(Stitcher(name="Elodia Finch", created_at=START))
        db.add(Supply(name="Lace from ÉLODIE", kind="lace", unit="m", created_at=START))
        a_cloth(db, "Linen like élodie's")
    with database.reading() as db:
        assert _names(found_by(db, " elod", OF_THE_OWNER)) == {
            "garments": ["Mouchoir d’Élodie"],
            "clients": ["Élodie Marsh"],
            "cloths": ["Linen like élodie's"],
            "supplies": ["Lace from ÉLODIE"],
            "stitchers": ["Elodia Finch"],
        }
        assert _names(found_by(db, "01 77", OF_THE_OWNER)) == {"clients": ["Élodie Marsh"]}
        assert found_by(db, "  ", OF_THE_OWNER) == {}
        assert found_by(db, "%", OF_THE_OWNER) == {}


def test_a_number_finds_what_has_it(quotable: Database) -> None:
    with quotable.writing() as db:
        quote = number(a_draft(db)[1])
    with quotable.reading() as db:
        assert [each.id for each in found_by(db, f" {quote} ", OF_THE_OWNER)["quotes"]] == [quote]
        assert "quotes" not in found_by(db, "4712", OF_THE_OWNER)


@pytest.mark.parametrize("typed", ["No. 1", "no 1", "Nr. 1", "#1", "№ 1"])
def test_a_number_is_found_as_papers_print_it(owner: httpx2.Client, live: Live, typed: str) -> None:
    with live.database.writing() as db:
        a_garment(db, "bib")
    assert "/garments/1" in _shown(owner.get("/find", params={"q": typed}).text)


def test_each_word_is_looked_for_by_itself_in_any_order(database: Database) -> None:
    with database.writing() as db:
        cloth = a_cloth(db, "Lawn “Belfast”, ivory")
        cloth.fibre = "cotton"
        garment = a_garment(db, "bib")
        garment.name = "Gown, long"
        db.add_all([cloth, garment])
    with database.reading() as db:
        assert _names(found_by(db, "ivory, belfast cotton", OF_THE_OWNER))["cloths"] == ["Lawn “Belfast”, ivory"]
        assert "cloths" not in found_by(db, "ivory belfast linen", OF_THE_OWNER)
        assert _names(found_by(db, "long hester", OF_THE_OWNER))["garments"] == ["Gown, long"]
        assert found_by(db, ",", OF_THE_OWNER)["garments"]


def test_a_stitcher_finds_pieces_in_her_hands_and_neither_clients_nor_prices(
    live: Live, owner: httpx2.Client, stitcher: httpx2.Client
) -> None:
    with live.database.writing() as db:
        hers, other = (number(a_garment(db, "handkerchief")) for _ in range(2))
        give(db, person(db, OWNER), Giving(hers, stitcher_id(db, STITCHER)), START)
    page = stitcher.get("/find", params={"q": "handkerchief"}).text
    assert f"/garments/{hers}" in _shown(page)
    assert f"/garments/{other}" not in _shown(page)
    assert _shown(stitcher.get("/find", params={"q": "hester"}).text) == []
    assert _shown(stitcher.get("/find", params={"q": "charges"}).text) == []
    assert _shown(stitcher.get("/find", params={"q": str(other)}).text) == ["/designs/2", "/cloth/2"]
    of_owner = _shown(owner.get("/find", params={"q": "HESTER"}).text)
    assert {f"/garments/{hers}", f"/garments/{other}", "/clients/1", "/commissions/1"} <= set(of_owner)
    assert _shown(owner.get("/find", params={"q": "charges"}).text) == ["/settings/charges"]


@pytest.mark.parametrize("words", ["xyzzy", "9" * 40, "'; --", "xy\x00z"], ids=["no word", "long", "quote", "zero"])
def test_what_is_not_found_is_said_with_what_to_try(owner: httpx2.Client, words: str) -> None:
    answer = owner.get("/find", params={"q": words})
    assert answer.status_code == 200
    assert "Nothing is found" in answer.text


def test_many_of_a_kind_are_cut_short_and_said_to_be_more(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        for at in range(MOST + 1):
            db.add(Client(name=f"Ivy {at:02}", created_at=START))
    page = owner.get("/find", params={"q": "ivy"}).text
    assert len(_shown(page)) == MOST
    assert "There are more" in page
