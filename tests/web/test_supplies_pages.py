"""Supplies on their pages."""

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Supply, SupplyUse
from tests.serving import Live

LACE = {"name": "Narrow cotton lace", "kind": "lace", "unit": "m", "amount": "7.5", "price": "2.40"}


def _kept(live: Live) -> list[Supply]:
    with live.database.reading() as db:
        return list(db.exec(select(Supply)))


def test_a_supply_written_down_is_on_hand(owner: httpx2.Client) -> None:
    answer = owner.post("/supplies", data=LACE)
    assert answer.status_code == 303, answer.text
    page = owner.get(answer.headers["location"]).text
    assert "7.5" in page
    assert "£2.40" in page
    assert "Narrow cotton lace" in owner.get("/supplies", params={"q": "COTTON"}).text


def test_what_comes_and_goes_is_summed_and_never_below_nothing(owner: httpx2.Client, live: Live) -> None:
    path = owner.post("/supplies", data=LACE).headers["location"]
    owner.post(f"{path}/move", data={"kind": "cut", "amount": "2.25", "reason": "bonnet"})
    owner.post(f"{path}/move", data={"kind": "bought", "amount": "1"})
    too_much = owner.post(f"{path}/move", data={"kind": "cut", "amount": "6.3", "reason": "kept as typed"})
    assert too_much.status_code == 422
    assert "Only 6.25 are on hand." in too_much.text
    assert "kept as typed" in too_much.text
    assert _kept(live)[0].on_hand_thousandths == 6250
    owner.post(f"{path}/move", data={"kind": "corrected", "amount": "6", "reason": "measured again"})
    assert _kept(live)[0].on_hand_thousandths == 6000
    with live.database.reading() as db:
        assert sum(db.exec(select(SupplyUse.change_thousandths))) == 6000


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter a name."),
        ({"kind": "beads"}, "Choose what it is."),
        ({"unit": "yard"}, "Choose how it is counted."),
        ({"amount": "lots"}, "as a number"),
        ({"amount": "-1"}, "must be at least 0"),
        ({"amount": "1.2345"}, "to a thousandth at the finest"),
        ({"price": "inf"}, "as a number"),
    ],
)
def test_wrong_input_comes_back_and_nothing_is_kept(
    owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post("/supplies", data={**LACE, "notes": "as typed", **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "as typed" in answer.text
    assert _kept(live) == []


def test_a_correction_wants_a_reason(owner: httpx2.Client, live: Live) -> None:
    path = owner.post("/supplies", data=LACE).headers["location"]
    answer = owner.post(f"{path}/move", data={"kind": "corrected", "amount": "3"})
    assert answer.status_code == 422
    assert "Enter the reason." in answer.text
    assert _kept(live)[0].on_hand_thousandths == 7500


def test_buttons_carry_their_caution(owner: httpx2.Client) -> None:
    path = owner.post("/supplies", data={**LACE, "kind": "button", "unit": "piece"}).headers["location"]
    assert '<span class="unit">&nbsp;pieces</span></span> on hand' in owner.get(path).text
    assert "can choke a child" in owner.get(path).text


def test_a_stitcher_sees_no_supply_and_no_price(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    path = owner.post("/supplies", data=LACE).headers["location"]
    for address in ("/supplies", path):
        answer = stitcher.get(address)
        assert answer.status_code == 403
        assert "2.40" not in answer.text
