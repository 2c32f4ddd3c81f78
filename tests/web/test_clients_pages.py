"""Clients on their pages, over HTTP as a browser sends it."""

import httpx2
import pytest

from tests.serving import Live


def _add(owner: httpx2.Client, **typed: str) -> httpx2.Response:
    return owner.post("/clients", data={"name": "Hester Vane", **typed})


def test_a_client_written_down_is_found_by_name(owner: httpx2.Client) -> None:
    added = _add(owner, email="Hester@Example.org", phone="01 234")
    assert added.status_code == 303
    page = owner.get(added.headers["location"]).text
    assert "<h1>Hester Vane</h1>" in page
    assert "hester@example.org" in page
    assert "Hester Vane" in owner.get("/clients", params={"q": "hest"}).text
    assert "Nobody found by" in owner.get("/clients", params={"q": "100%"}).text


def test_what_a_client_asks_for_stands_on_her_page(owner: httpx2.Client) -> None:
    path = _add(owner).headers["location"]
    assert "Nothing is asked for yet." in owner.get(path).text
    asked = {
        "client": path.rpartition("/")[2],
        "title": "Christening of Ivy",
        "wanted_on": "2027-05-16",
        "is_over": "y",
    }
    commission = owner.post("/commissions", data=asked).headers["location"]
    page = owner.get(path).text
    assert f'<a href="{commission}">Christening of Ivy</a>' in page
    assert "16 May 2027" in page


def test_the_found_part_alone_is_the_part_of_the_page(owner: httpx2.Client) -> None:
    _add(owner)
    whole = owner.get("/clients").text
    part = owner.get("/clients", headers={"HX-Request": "true", "HX-Target": "found"})
    assert part.text.strip().startswith('<div id="found"')
    assert part.text.strip() in whole
    assert part.headers["vary"] == "HX-Request, HX-Target"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter a name."),
        ({"name": "x" * 201}, "Keep a name to 200 characters; this is 201."),
        ({"email": "not an address"}, "Enter an e-mail address like name@example.org."),
        ({"phone": "1" * 61}, "Keep the telephone number to 60 characters; this is 61."),
    ],
)
def test_wrong_input_comes_back_with_a_sentence_and_what_was_typed(
    owner: httpx2.Client, typed: dict[str, str], sentence: str
) -> None:
    answer = _add(owner, notes="lace collar & cuffs", **typed)
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "lace collar &amp; cuffs" in answer.text
    assert "Hester Vane" not in owner.get("/clients").text


def test_a_client_is_changed_put_away_and_put_back(owner: httpx2.Client) -> None:
    path = _add(owner).headers["location"]
    assert owner.post(f"{path}/change", data={"name": "Hester Vane-Quill"}).status_code == 303
    owner.post(f"{path}/put-away", data={"away": "yes"})
    assert "Hester Vane-Quill" not in owner.get("/clients").text
    assert "Hester Vane-Quill" in owner.get("/clients?away=true").text
    owner.post(f"{path}/put-away", data={})
    assert "Hester Vane-Quill" in owner.get("/clients").text


@pytest.mark.parametrize("path", ["/clients/999", "/clients/abc", "/clients/99999999999999999999"])
def test_an_unknown_client_is_not_found(owner: httpx2.Client, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_a_stitcher_sees_no_client(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    path = _add(owner, phone="01 234").headers["location"]
    for address in ("/clients", path, f"{path}/change"):
        answer = stitcher.get(address)
        assert answer.status_code == 403
        assert "01 234" not in answer.text


def test_nobody_signed_in_is_sent_to_sign_in(live: Live) -> None:
    with live.visitor() as visitor:
        answer = visitor.get("/clients")
    assert (answer.status_code, answer.headers["location"]) == (303, "/login?next=/clients")
