"""The pages of a client's data: taken away as a file, erased when asked twice, proposed when kept long enough."""

import io
import json
from pathlib import Path
from zipfile import ZipFile

import httpx2
from sqlmodel import select

from service.records.tables import Client, Commission
from service.studio.client_data import remembered
from tests.building import a_commission
from tests.serving import Live


def _a_client(live: Live, state: str) -> int:
    with live.database.writing() as db:
        return a_commission(db, state=state).client_id


def test_the_file_is_the_client_s_alone_and_is_kept_nowhere(live: Live, owner: httpx2.Client) -> None:
    client_id = _a_client(live, "closed")
    answer = owner.get(f"/clients/{client_id}/data.zip")
    assert (answer.status_code, answer.headers["cache-control"]) == (200, "no-store")
    with ZipFile(io.BytesIO(answer.content)) as pack:
        assert json.loads(pack.read("data.json"))["client"]["email"] == "hester@example.org"
    assert owner.get("/clients/999/data.zip").status_code == 404


def test_erasing_is_asked_twice_and_then_done_for_good(live: Live, owner: httpx2.Client) -> None:
    client_id = _a_client(live, "closed")
    once = owner.post(f"/clients/{client_id}/erase", data={"name": "Hester"})
    assert once.status_code == 422
    assert "exactly as it stands above" in once.text
    assert "Say that you are sure" in once.text
    assert owner.post(f"/clients/{client_id}/erase", data={"name": "Hester Vane", "sure": "yes"}).status_code == 303
    page = owner.get(f"/clients/{client_id}/data").text
    assert "Hours and sums stay and name nobody" in page
    assert "Hester" not in page
    with live.database.reading() as db:
        assert db.exec(select(Client.name)).one() == f"Erased client {client_id}"
        assert db.exec(select(Commission.title)).one() == "Commission 1"
    folder = Path(live.database.url.removeprefix("sqlite:///")).parent
    assert remembered(folder) == [client_id]


def test_what_is_open_is_not_erased(live: Live, owner: httpx2.Client) -> None:
    client_id = _a_client(live, "agreed")
    refused = owner.post(f"/clients/{client_id}/erase", data={"name": "Hester Vane", "sure": "yes"})
    assert refused.status_code == 409
    assert "still open" in refused.text


def test_the_days_are_the_owner_s_to_say(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        commission = a_commission(db, state="closed")
        commission.wanted_on = commission.wanted_on.replace(year=2020)
        db.add(commission)
    assert "Nobody" in owner.get("/settings/keeping").text
    for typed in ("0", "-1", "x", "99999999"):
        assert owner.post("/settings/keeping", data={"client_days": typed}).status_code == 422
    assert owner.post("/settings/keeping", data={"client_days": "365"}).status_code == 303
    assert "Hester Vane" in owner.get("/settings/keeping").text


def test_client_data_is_the_owner_s_alone(live: Live, stitcher: httpx2.Client) -> None:
    client_id = _a_client(live, "closed")
    for path in (f"/clients/{client_id}/data", f"/clients/{client_id}/data.zip", "/settings/keeping"):
        assert stitcher.get(path).status_code == 403
    assert stitcher.post(f"/clients/{client_id}/erase", data={}).status_code == 403
