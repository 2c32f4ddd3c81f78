"""What was changed, by whom: read on a page, newest first, kind by kind, and as a file; by the owner alone."""

import csv
import io
import re
from datetime import UTC, date, datetime

import httpx2

from service.records.queries.told import PAGE
from service.records.tables import Commission, Event, Studio
from service.records.trail import OF, WHOLE
from service.web.changes_words import CHOICES, KINDS, PARTS
from tests.building import a_garment
from tests.serving import Live

CLIENT = {"name": "Hester Vane", "email": "hester@example.org", "phone": "01 234", "address": "", "notes": ""}
LINE = re.compile(r"<div><strong>([^<]*)</strong>: (.*?)</div></li>", re.DOTALL)


def _lines(page: str) -> list[tuple[str, str]]:
    return [(who, re.sub(r"<[^>]+>", "", said).strip()) for who, said in LINE.findall(page)]


def test_each_change_of_a_client_stands_there_by_the_names_of_its_fields_and_never_by_what_they_say(
    owner: httpx2.Client,
) -> None:
    where = owner.post("/clients", data=CLIENT).headers["location"]
    assert (
        owner.post(f"{where}/change", data={**CLIENT, "phone": "55 678", "address": "Mill Lane 4"}).status_code == 303
    )
    owner.post(f"{where}/put-away", data={"away": "yes"})
    page = owner.get("/settings/changes?of=client").text
    assert [said for _, said in _lines(page)] == [
        "client Hester Vane, changed: put away",
        "client Hester Vane, changed: phone; address",
        "client Hester Vane, written down",
    ]
    assert {who for who, _ in _lines(page)} == {"Ottilie Brook"}
    assert f'<a href="{where}">Hester Vane</a>' in page
    assert "Mill Lane" not in page
    assert "55 678" not in page


def test_a_part_is_told_with_its_record_and_the_reason_stands_below(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        garment = a_garment(db, "bib")
        commission_id, name = garment.commission_id, garment.name
        commission = db.get_one(Commission, commission_id)
        commission.child_sex, commission.child_born = "girl", date(2026, 8, 15)
    measured = {"what": "length", "value": "62", "on": "2026-11-14"}
    assert owner.post(f"/commissions/{commission_id}/fit/add", data=measured).status_code == 303
    owner.post(f"/commissions/{commission_id}/call-off", data={"reason": "they <b>moved</b> away"})
    page = owner.get("/settings/changes").text
    said = [words for _, words in _lines(page)]
    assert "commission Christening of Ivy, changed: a measure of the child added" in said
    assert any(words.startswith("commission Christening of Ivy, called off") for words in said)
    assert any(words.startswith(f"garment {name}, called off") for words in said)
    assert "<b>moved</b>" not in page
    assert "they &lt;b&gt;moved&lt;/b&gt; away" in page


def test_older_changes_go_on_beyond_the_newest_and_none_is_told_twice(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        for number in range(PAGE + 5):
            at = datetime(2026, 9, 1, 9, number % 60, tzinfo=UTC)
            db.add(Event(at=at, account_id=1, action="changed", object_kind="studio", object_id=1, after=f"f{number}"))
    first = owner.get("/settings/changes?of=studio").text
    further = re.search(r'href="(/settings/changes\?of=studio&amp;beyond=\d+)"', first)
    assert further
    rest = owner.get(further[1].replace("&amp;", "&")).text
    said = [words for page in (first, rest) for _, words in _lines(page)]
    assert said[: PAGE + 5] == [f"the studio itself, changed: f{number}" for number in reversed(range(PAGE + 5))]
    assert "beyond=" not in rest
    assert "There is nothing older." in owner.get("/settings/changes?of=studio&beyond=1").text
    assert owner.get("/settings/changes?of=none").status_code == 200


def test_all_of_it_is_kept_as_a_file(owner: httpx2.Client) -> None:
    owner.post("/clients", data={**CLIENT, "name": "=Hester"})
    rows = list(csv.DictReader(io.StringIO(owner.get("/settings/changes.csv?of=client").text.removeprefix("\ufeff"))))
    assert [(row["who"], row["kind"], row["record"], row["what"]) for row in rows] == [
        ("Ottilie Brook", "client", "'=Hester", "written down")
    ]
    assert len(owner.get("/settings/changes.csv").text.splitlines()) > len(rows)


def test_in_german_the_heads_of_the_file_are_said_and_its_rows_are_not(live: Live, owner: httpx2.Client) -> None:
    owner.post("/clients", data=CLIENT)
    owner.post("/clients/1/change", data={**CLIENT, "phone": "02"})
    with live.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.language = "de"
        db.add(studio)
    rows = list(csv.DictReader(io.StringIO(owner.get("/settings/changes.csv?of=client").text.removeprefix("\ufeff"))))
    assert [row["was"] for row in rows] == ["changed: phone", "written down"]


def test_no_stitcher_reads_it(stitcher: httpx2.Client) -> None:
    assert stitcher.get("/settings/changes").status_code == 403
    assert stitcher.get("/settings/changes.csv").status_code == 403


def test_every_kind_and_part_has_its_words() -> None:
    assert sorted(KINDS) == sorted(CHOICES) == sorted(WHOLE)
    assert sorted(PARTS) == sorted(OF)


def test_names_of_fields_are_said_in_the_language_of_the_studio(live: Live, owner: httpx2.Client) -> None:
    where = owner.post("/clients", data=CLIENT).headers["location"]
    owner.post(f"{where}/change", data={**CLIENT, "phone": "55 678", "address": "Mill Lane 4"})
    with live.database.writing() as db:
        db.get_one(Studio, 1).language = "de"
    page = owner.get("/settings/changes?of=client").text
    assert "Telefon; Adresse" in page
    assert "phone" not in page
