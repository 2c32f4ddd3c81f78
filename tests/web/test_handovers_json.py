"""Handing over by JSON, on both kinds of database: offered, counted in and taken, sent back, and every refusal."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import Database
from service.records.tables import Event, Garment, Handover, HandoverPanel, Panel
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import number, person, stitcher_id, work_on
from tests.giving import opened_copy
from tests.serving import OWNER, SECOND, STITCHER, Live

ROUTE = "/api/handovers"
BONNET = 1
COUNTED = {"needles_out": 3, "pins_out": 12, "notes": "the thread is in the tin"}


def a_bonnet(live: Live) -> int:
    with live.database.writing() as db:
        return number(a_garment(db, "bonnet"))


@contextmanager
def everybody(live: Live) -> Iterator[dict[str, httpx2.Client]]:
    with (
        closing(live.signed_in(OWNER)) as owner,
        closing(live.signed_in(STITCHER)) as wren,
        closing(live.signed_in(SECOND)) as ida,
    ):
        yield {"owner": owner, "wren": wren, "ida": ida}


@pytest.fixture(scope="module")
def prepared(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite studio with a bonnet, brim and crown on the shelf."""
    folder = tmp_path_factory.mktemp("prepared")
    with opened_copy(sqlite_template, folder) as database, database.writing() as db:
        assert number(a_garment(db, "bonnet")) == BONNET
    return folder / "studio.sqlite"


@pytest.fixture
def sqlite_database(prepared: Path, tmp_path: Path) -> Iterator[Database]:
    """A studio with it."""
    with opened_copy(prepared, tmp_path) as database:
        yield database


@pytest.fixture
def bonnet() -> int:
    """Its number."""
    return BONNET


@pytest.fixture
def hands(live: Live) -> Iterator[dict[str, httpx2.Client]]:
    """The owner and both stitchers, signed in."""
    with everybody(live) as signed_in:
        yield signed_in


def panels(live: Live, garment_id: int) -> dict[str, Panel]:
    with live.database.reading() as db:
        rows = db.exec(select(Panel).where(Panel.garment_id == garment_id)).all()
        db.expunge_all()
    return {row.key: row for row in rows}


def ids(live: Live) -> dict[str, int]:
    with live.database.reading() as db:
        return {name: stitcher_id(db, email) for name, email in (("wren", STITCHER), ("ida", SECOND))}


def offered(who: httpx2.Client, garment: int, to: Any, **said: Any) -> int:
    answer = who.post(ROUTE, json={"garment": garment, "panels": "all", "to": to, **COUNTED, **said})
    assert answer.status_code == 200, answer.text
    assert set(answer.json()) == {"id", "state"}
    assert answer.json()["state"] == "offered"
    return int(answer.json()["id"])


def refused(answer: httpx2.Response, status: int) -> str:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    return str(answer.json()["detail"])


def holds(live: Live) -> bool:
    with live.database.reading() as db:
        return prove(db).faults == ()


def test_a_piece_moves_when_it_is_taken_and_not_before(live_on_each: Live) -> None:
    bonnet = a_bonnet(live_on_each)
    wren = ids(live_on_each)["wren"]
    brim = panels(live_on_each, bonnet)["brim"].id
    with everybody(live_on_each) as hands:
        handover = offered(hands["owner"], bonnet, wren, panels=[brim])
        assert [each.holder_id for each in panels(live_on_each, bonnet).values()] == [None, None]
        answer = hands["wren"].post(f"{ROUTE}/{handover}/take", json={"needles_in": 3, "pins_in": 12})
    assert (answer.status_code, answer.json()) == (200, {"id": handover, "state": "taken"})
    held = panels(live_on_each, bonnet)
    assert (held["brim"].holder_id, held["crown"].holder_id) == (wren, None)
    with live_on_each.database.reading() as db:
        events = db.exec(select(Event).where(Event.action == "given")).all()
        assert [(event.object_id, event.before, event.after, event.reason) for event in events] == [
            (brim, "", str(wren), "the thread is in the tin")
        ]
    assert holds(live_on_each)


def test_a_receiver_is_named_by_number_name_or_address(
    live: Live, bonnet: int, hands: dict[str, httpx2.Client]
) -> None:
    for to in (ids(live)["ida"], "Ida Thorne", SECOND):
        handover = offered(hands["owner"], bonnet, to)
        told = hands["ida"].get(f"{ROUTE}/{handover}").json()
        assert (told["to"], told["state"], told["given_by"]) == ("Ida Thorne", "offered", [None])
        assert (told["needles_out"], told["pins_out"], len(told["panels"])) == (3, 12, 2)
        hands["ida"].post(f"{ROUTE}/{handover}/send-back", json={"reason": "once more"})


def test_the_rights_follow_the_hands(live: Live, bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    assert hands["wren"].get(f"/api/garments/{bonnet}").status_code == 404
    handover = offered(hands["owner"], bonnet, "Wren Hallam")
    told = hands["wren"].get(f"/api/garments/{bonnet}").json()
    assert [row["id"] for row in hands["wren"].get("/api/standing").json()] == [bonnet]
    step = told["panels"][0]["steps"][0]["id"]
    count = {"key": "first", "counted": 1}
    refused(hands["wren"].post(f"/api/steps/{step}/tallies", json=count), 403)
    assert hands["ida"].get(f"/api/garments/{bonnet}").status_code == 404
    hands["wren"].post(f"{ROUTE}/{handover}/take", json={"needles_in": 3, "pins_in": 12})
    assert hands["wren"].post(f"/api/steps/{step}/tallies", json=count).status_code == 200


def test_what_the_owner_takes_up_herself_or_puts_on_the_shelf_is_one_act(
    live: Live, bonnet: int, hands: dict[str, httpx2.Client]
) -> None:
    for to in (OWNER, "shelf", OWNER, None):
        answer = hands["owner"].post(ROUTE, json={"garment": bonnet, "panels": "all", "to": to, **COUNTED})
        assert (answer.status_code, answer.json()["state"]) == (200, "taken")
    with live.database.reading() as db:
        kept = db.exec(select(Handover).order_by(col(Handover.id))).all()
        assert [(row.needles_out, row.needles_in) for row in kept] == [(3, 3)] * 4


def test_a_stitcher_offers_to_the_shelf_and_the_owner_takes_it_in(
    live: Live, bonnet: int, hands: dict[str, httpx2.Client]
) -> None:
    first = offered(hands["owner"], bonnet, STITCHER)
    hands["wren"].post(f"{ROUTE}/{first}/take", json={"needles_in": 3, "pins_in": 12})
    back = offered(hands["wren"], bonnet, "shelf")
    said = refused(hands["wren"].post(f"{ROUTE}/{back}/take", json={"needles_in": 3, "pins_in": 12}), 403)
    assert said == "What goes to the shelf is taken in by the owner."
    assert hands["owner"].post(f"{ROUTE}/{back}/take", json={"needles_in": 3, "pins_in": 12}).status_code == 200
    assert [each.holder_id for each in panels(live, bonnet).values()] == [None, None]


def test_it_is_taken_once_and_by_its_receiver_alone(bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    handover = offered(hands["owner"], bonnet, "Wren Hallam")
    counted = {"needles_in": 3, "pins_in": 12}
    for who in ("ida", "owner"):
        said = refused(hands[who].post(f"{ROUTE}/{handover}/take", json=counted), 403)
        assert said == "It is offered to Wren Hallam: only she can count it in and take it."
    assert hands["wren"].post(f"{ROUTE}/{handover}/take", json=counted).status_code == 200
    said = refused(hands["wren"].post(f"{ROUTE}/{handover}/take", json=counted), 409)
    assert said == "This was taken already, by Wren Hallam."
    said = refused(hands["wren"].post(f"{ROUTE}/{handover}/send-back", json={"reason": "no time"}), 409)
    assert said == "This was taken already, by Wren Hallam."


def test_a_panel_is_offered_once_at_a_time(live: Live, bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    brim = panels(live, bonnet)["brim"].id
    handover = offered(hands["owner"], bonnet, "Wren Hallam", panels=[brim])
    body = {"garment": bonnet, "panels": "all", "to": "Ida Thorne", **COUNTED}
    said = refused(hands["owner"].post(ROUTE, json=body), 409)
    assert said == "Brim is offered to Wren Hallam already. Let that be taken or sent back first."
    sent = hands["wren"].post(f"{ROUTE}/{handover}/send-back", json={"reason": "I am away from Thursday"})
    assert sent.json() == {"id": handover, "state": "sent back"}
    assert hands["owner"].get(f"{ROUTE}/{handover}").json()["reason"] == "I am away from Thursday"
    assert hands["owner"].post(ROUTE, json=body).status_code == 200


def test_joined_panels_move_together(live: Live, bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    with live.database.writing() as db:
        work_on(db, person(db, OWNER), bonnet, lambda row: row.operation == "seam")
    brim = panels(live, bonnet)["brim"].id
    body = {"garment": bonnet, "panels": [brim], "to": "Ida Thorne", **COUNTED}
    said = refused(hands["owner"].post(ROUTE, json=body), 409)
    assert said == "The panels are joined, so they move together: hand the garment over as one."
    handover = offered(hands["owner"], bonnet, "Ida Thorne")
    hands["ida"].post(f"{ROUTE}/{handover}/take", json={"needles_in": 3, "pins_in": 12})
    with live.database.reading() as db:
        assert db.get_one(Garment, bonnet).holder_id == ids(live)["ida"]


def test_what_is_in_those_hands_already_is_not_offered(
    live: Live, bonnet: int, hands: dict[str, httpx2.Client]
) -> None:
    body = {"garment": bonnet, "panels": "all", "to": "shelf", **COUNTED}
    assert refused(hands["owner"].post(ROUTE, json=body), 409) == "Brim is on the shelf already."
    crown = panels(live, bonnet)["crown"].id
    hands["owner"].post(ROUTE, json={**body, "panels": [crown], "to": OWNER})
    handover = hands["owner"].post(ROUTE, json={**body, "to": OWNER}).json()["id"]
    assert len(hands["owner"].get(f"{ROUTE}/{handover}").json()["panels"]) == 1


def test_a_missing_needle_is_kept_open_until_it_is_found(
    live: Live, bonnet: int, hands: dict[str, httpx2.Client]
) -> None:
    handover = offered(hands["owner"], bonnet, "Wren Hallam")
    more = hands["wren"].post(f"{ROUTE}/{handover}/take", json={"needles_in": 4, "pins_in": 12})
    assert refused(more, 409).startswith("That is 1 needle more than went out. Count again together;")
    hands["wren"].post(f"{ROUTE}/{handover}/take", json={"needles_in": 2, "pins_in": 10})
    told = hands["wren"].get(f"{ROUTE}/{handover}").json()
    assert (told["state"], told["needles_missing"], told["pins_missing"]) == ("taken", 1, 2)
    found = f"{ROUTE}/{handover}/found"
    refused(hands["wren"].post(found, json={"needles": 2, "pins": 0, "note": "in the hem"}), 422)
    refused(hands["ida"].post(found, json={"needles": 1, "pins": 2, "note": "in the hem"}), 403)
    assert hands["wren"].post(found, json={"needles": 1, "pins": 2, "note": "in the hem"}).status_code == 200
    assert hands["wren"].get(f"{ROUTE}/{handover}").json()["needles_missing"] == 0
    assert holds(live)


BAD_OFFERS: tuple[tuple[dict[str, Any], int], ...] = (
    ({"garment": 999}, 404),
    ({"to": "Nobody Known"}, 422),
    ({"to": 999}, 404),
    ({"to": True}, 422),
    ({"panels": []}, 422),
    ({"panels": [999]}, 422),
    ({"panels": "some"}, 422),
    ({"panels": ["1"]}, 422),
    ({"garment": "1"}, 422),
    ({"garment": 2**40}, 422),
    ({"needles_out": -1}, 422),
    ({"needles_out": 1.5}, 422),
    ({"pins_out": 10**6}, 422),
    ({"notes": "x" * 2001}, 422),
    ({"unknown": 1}, 422),
)


def test_a_bad_offer_is_refused_and_nothing_is_kept(live: Live, bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    for change, status in BAD_OFFERS:
        body = {"garment": bonnet, "panels": "all", "to": "Wren Hallam", **COUNTED, **change}
        refused(hands["owner"].post(ROUTE, json=body), status)
    with live.database.reading() as db:
        assert db.exec(select(Handover)).all() == []


def test_a_stitcher_hands_on_only_what_is_hers(bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    body = {"garment": bonnet, "panels": "all", "to": "Wren Hallam", **COUNTED}
    said = refused(hands["ida"].post(ROUTE, json=body), 403)
    assert said == "Only what is in your own hands can be given on by you."


def test_an_unknown_handover_and_a_bad_count_are_told_apart(bonnet: int, hands: dict[str, httpx2.Client]) -> None:
    counted = {"needles_in": 3, "pins_in": 12}
    assert refused(hands["wren"].post(f"{ROUTE}/999/take", json=counted), 404) == "There is no such handover."
    handover = offered(hands["owner"], bonnet, "Wren Hallam")
    for bad in ({"needles_in": 3}, {**counted, "needles_in": -1}, {**counted, "pins_in": "12"}, {**counted, "x": 1}):
        refused(hands["wren"].post(f"{ROUTE}/{handover}/take", json=bad), 422)
    refused(hands["ida"].post(f"{ROUTE}/{handover}/take", json={}), 403)
    refused(hands["wren"].post(f"{ROUTE}/{handover}/send-back", json={"reason": ""}), 422)
    refused(hands["ida"].get(f"{ROUTE}/{handover}"), 403)


def test_of_two_who_take_at_once_one_succeeds(live_on_each: Live) -> None:
    bonnet = a_bonnet(live_on_each)
    with (
        everybody(live_on_each) as hands,
        closing(live_on_each.signed_in(STITCHER)) as other,
        ThreadPoolExecutor(6) as threads,
    ):
        handover = offered(hands["owner"], bonnet, "Wren Hallam")
        both = [hands["wren"], other] * 3
        counted = {"needles_in": 3, "pins_in": 12}
        answers = list(threads.map(lambda who: who.post(f"{ROUTE}/{handover}/take", json=counted), both))
    assert sorted(answer.status_code for answer in answers) == [200, 409, 409, 409, 409, 409]
    with live_on_each.database.reading() as db:
        assert len(db.exec(select(Event).where(Event.action == "given")).all()) == 2
    assert holds(live_on_each)


def test_of_two_who_offer_one_panel_at_once_one_succeeds(live_on_each: Live) -> None:
    body = {"garment": a_bonnet(live_on_each), "panels": "all", **COUNTED}
    with everybody(live_on_each) as hands, ThreadPoolExecutor(4) as threads:
        names = ["Wren Hallam", "Ida Thorne"] * 2
        answers = list(threads.map(lambda to: hands["owner"].post(ROUTE, json={**body, "to": to}), names))
    assert sorted(answer.status_code for answer in answers) == [200, 409, 409, 409]
    with live_on_each.database.reading() as db:
        assert len(db.exec(select(HandoverPanel).where(col(HandoverPanel.is_open))).all()) == 2
