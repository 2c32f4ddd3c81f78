"""Two people change one record: the second is told what stands there now and loses nothing that she typed."""

import re
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing
from typing import Any

import httpx2
import pytest
from sqlmodel import select

from service.records.db import Database
from service.records.tables import Client, Cloth, Commission, Stitcher, Studio
from tests.building import a_cloth, a_commission
from tests.serving import OWNER, Live

FORMS = {
    "/clients/1/change": ("phone", "/clients/1/change"),
    "/commissions/1/change": ("occasion", "/commissions/1/change"),
    "/stitchers/2/change": ("notes", "/stitchers/2/change"),
    "/cloth/1/change": ("notes", "/cloth/1/change"),
    "/settings": ("name", "/settings"),
}
BEHIND: dict[str, Any] = {
    "/clients/1/change": select(Client),
    "/commissions/1/change": select(Commission),
    "/stitchers/2/change": select(Stitcher),
    "/cloth/1/change": select(Cloth),
    "/settings": select(Studio),
}
A_MOMENT_S = 0.3


def filled(page: str) -> dict[str, str]:
    """Every value of a page's first form, as a browser would send it."""
    form = page[page.index('class="sheet"') :]
    form = form[: form.index("</form>")]
    values = {}
    for tag in re.findall(r"<input[^>]*>", form):
        said = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if said.get("type") not in {"radio", "checkbox"} or " checked" in tag:
            values[said["name"]] = said.get("value", "")
    values |= dict(re.findall(r'<textarea[^>]*name="(\w+)"[^>]*>\n?([^<]*)</textarea>', form))
    for name, options in re.findall(r'<select[^>]*name="(\w+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)"[^>]* selected', options)
        values[name] = chosen[1] if chosen else ""
    return values


@pytest.fixture
def filled_studio(live: Live) -> Database:
    """A client with a commission, and a cloth."""
    with live.database.writing() as db:
        a_commission(db)
        a_cloth(db)
    return live.database


@pytest.mark.parametrize("address", FORMS)
def test_the_second_to_keep_is_told_and_may_keep_again(
    filled_studio: Database, owner: httpx2.Client, address: str
) -> None:
    field, sent_to = FORMS[address]
    first = filled(owner.get(address).text)
    second = dict(first)
    assert owner.post(sent_to, data=first | {field: "first words"}).status_code == 303
    told = owner.post(sent_to, data=second | {field: "other words"})
    assert told.status_code == 409
    assert "Somebody changed this while you were writing" in told.text
    assert f"{field}: first words" in told.text
    again = filled(told.text)
    assert again[field] == "other words"
    assert filled(owner.get(address).text)[field] == "first words"
    assert owner.post(sent_to, data=again).status_code == 303
    assert filled(owner.get(address).text)[field] == "other words"


def test_of_two_who_keep_at_the_same_instant_one_is_told(live_on_each: Live) -> None:
    """Both wait for a record that is held, so that both have read it before either has written."""
    with live_on_each.database.writing() as db:
        a_commission(db)
        a_cloth(db)
    with ExitStack() as open_here, ThreadPoolExecutor(2) as pool:
        owners = [open_here.enter_context(closing(live_on_each.signed_in(OWNER))) for _ in range(2)]
        for address, (field, sent_to) in FORMS.items():
            page = filled(owners[0].get(address).text)
            with live_on_each.database.writing() as db:
                db.exec(BEHIND[address].with_for_update()).all()
                kept = [
                    pool.submit(owner.post, sent_to, data=page | {field: f"words of {place}"})
                    for place, owner in enumerate(owners)
                ]
                time.sleep(A_MOMENT_S)
            assert sorted(answer.result().status_code for answer in kept) == [303, 409], address


def test_a_form_without_the_mark_is_taken_as_it_is(filled_studio: Database, owner: httpx2.Client) -> None:
    assert owner.post("/clients/1/change", data={"name": "Hester Vane"}).status_code == 303


@pytest.mark.parametrize("address", ["/clients/new", "/commissions/new", "/stitchers/new", "/cloth/new"])
def test_a_form_for_something_new_has_no_mark(owner: httpx2.Client, address: str) -> None:
    page = owner.get(address)
    assert page.status_code == 200
    assert "as_seen" not in page.text
