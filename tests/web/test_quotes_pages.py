"""Quotes on their pages and as JSON: from the charges to the yes, and what is refused on the way."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx2
import pytest
from sqlmodel import col, select

from service.records.tables import Charges, ChargesInstalment, Client, Commission, Quote, QuoteLine, Studio
from service.studio.proofs import prove
from service.web.words import day
from tests.building import a_garment
from tests.counting import number
from tests.quoting import a_draft, a_sent_quote, an_agreed_garment
from tests.serving import Live
from tests.shelf import words_of

CHARGES = {
    "hour_rate": "32.00",
    "overhead": "4.50",
    "margin": "15",
    "price_step": "5",
    "dearness": "20",
    "skein": "8",
    "valid_days": "30",
    "includes": "All sewing by hand.",
    "percent-1": "40",
    "due-1": "at acceptance",
    "percent-2": "30",
    "due-2": "before the day",
    "days-2": "30",
    "percent-3": "30",
    "due-3": "at delivery",
}


def _soon(days: int = 30) -> str:
    return (datetime.now(UTC).date() + timedelta(days=days)).isoformat()


def test_from_no_rate_at_all_to_a_yes_by_word(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_garment(db, "handkerchief")
        commission = garment.commission_id
        db.get_one(Commission, commission).state = "asked"
    led = owner.post(f"/commissions/{commission}/quotes")
    assert led.headers["location"] == f"/settings/charges?for={commission}"
    assert "Nothing is quoted until the hour’s rate stands here." in owner.get(led.headers["location"]).text
    kept = owner.post("/settings/charges", data={**CHARGES, "for": str(commission)})
    assert kept.headers["location"] == f"/commissions/{commission}"
    path = owner.post(f"/commissions/{commission}/quotes").headers["location"]
    page = words_of(owner.get(path).text)
    assert "The price of not knowing" in page
    assert "enough in 67 of 100 cases" in page
    assert "Without a price yet: Fine linen" in page
    said = {"valid_until": _soon(), "includes": "Everything.", "leaves_out": "", "note": "With love."}
    assert owner.post(f"{path}/say", data=said).status_code == 303
    assert owner.post(f"{path}/lines", data={"words": "A box", "sum": "12.50"}).status_code == 303
    with live.database.reading() as db:
        quote = db.exec(select(Quote)).one()
    asked = owner.post(f"{path}/send", data={**said, "note": "With all my love.", "version": "1"})
    assert asked.status_code == 422
    assert "Priced at nothing: Fine linen" in words_of(asked.text)
    assert "With all my love." in asked.text
    assert owner.post(f"{path}/send", data={"version": "1", "unpriced": "yes"}).status_code == 303
    read = words_of(owner.get(f"{path}/paper").text)
    assert "With love." in read
    assert "Everything." in read
    for hidden in ("Labour", "Overhead", "not knowing", "32.00", " h "):
        assert hidden not in read
    yes = {"version": "1", "total": str(quote.total_minor), "name": "Hester Vane"}
    assert owner.post(f"{path}/accept", data=yes).status_code == 303
    again = owner.post(f"{path}/accept", data=yes)
    assert again.status_code == 409
    assert "was accepted already, by Hester Vane" in again.text
    page = words_of(owner.get(f"/commissions/{commission}").text)
    assert "Quote, version 1" in page
    assert "Quote an alteration" in page
    with live.database.reading() as db:
        assert db.exec(select(Commission.state)).one() == "agreed"
        assert prove(db).faults == ()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"hour_rate": ""}, "Enter what an hour costs."),
        ({"hour_rate": "0"}, "must be above nothing"),
        ({"hour_rate": "-5"}, "must be at least 0"),
        ({"hour_rate": "99999999999999999999"}, "must be at most 1,000,000,000"),
        ({"hour_rate": "32.005"}, "has more decimals than GBP allows"),
        ({"overhead": "NaN"}, "as a number"),
        ({"margin": "101"}, "must be at most 100"),
        ({"margin": "12.345"}, "to a hundredth at the finest"),
        ({"price_step": "0"}, "must be above nothing"),
        ({"tax": "20", "tax_name": ""}, "Say what the tax is called"),
        ({"percent-3": "29"}, "these come to 99 %"),
        ({"percent-1": "140"}, "must be at most 100"),
        ({"percent-1": "", "percent-2": "", "percent-3": ""}, "Enter one part at least"),
        ({"due-2": "some day"}, "Choose when this part is due"),
        ({"days-2": ""}, "Enter how many days before"),
        ({"valid_days": "0"}, "must be at least 1"),
        ({"dearness": "17"}, "Choose how dear a missed hour is"),
        ({"skein": "0.5"}, "a metre long at least"),
    ],
)
def test_charges_that_cannot_be_are_told_at_their_field(
    owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post("/settings/charges", data={**CHARGES, "leaves_out": "as <typed>", **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "as &lt;typed&gt;" in answer.text
    with live.database.reading() as db:
        assert db.exec(select(Charges)).all() == []


def test_charges_written_again_replace_the_parts(owner: httpx2.Client, live: Live) -> None:
    for last in ("30", ""):
        assert (
            owner.post(
                "/settings/charges", data={**CHARGES, "percent-1": "40" if last else "70", "percent-3": last}
            ).status_code
            == 303
        )
    with live.database.reading() as db:
        parts = db.exec(select(ChargesInstalment.percent_hundredths).order_by(col(ChargesInstalment.position))).all()
        assert parts == [7000, 3000]
    assert 'value="32.00"' in owner.get("/settings/charges").text


def test_a_draft_s_lines_are_changed_left_out_and_told_when_wrong(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/quotes/{number(a_draft(db)[1])}"
    with live.database.reading() as db:
        cloth = db.exec(select(QuoteLine).where(QuoteLine.kind == "cloth")).one()
        labour = db.exec(select(QuoteLine).where(QuoteLine.kind == "labour")).one()
    line = f"{path}/lines/{cloth.id}"
    assert "Fine linen" in owner.get(line).text
    wrong = owner.post(f"{line}/change", data={"words": "Linen, kept as typed", "sum": "some"})
    assert (wrong.status_code, "as a number" in wrong.text, "kept as typed" in wrong.text) == (422, True, True)
    assert owner.post(f"{line}/change", data={"words": "Old linen", "sum": "19.90"}).status_code == 303
    assert "£19.90" in owner.get(path).text
    assert owner.post(f"{line}/leave-out", data={"out": "yes"}).status_code == 303
    assert "<s>Old linen</s>" in owner.get(path).text
    assert owner.get(f"{path}/lines/{labour.id}").status_code == 200
    assert owner.post(f"{path}/lines/{labour.id}/change", data={"words": "x", "sum": "1"}).status_code == 404
    refused = owner.post(f"{path}/lines", data={"words": "A gift", "sum": "-99999"})
    assert (refused.status_code, "cannot be priced" in refused.text, "A gift" in refused.text) == (422, True, True)
    late = owner.post(f"{path}/say", data={"valid_until": "2020-01-01", "note": "still here"})
    assert (late.status_code, "is over already" in late.text, "still here" in late.text) == (422, True, True)
    assert owner.post(f"{path}/supplies", data={"supply": "99", "how_much": "1"}).status_code == 404
    assert "Enter how much of it." in owner.post(f"{path}/supplies", data={"supply": "1"}).text


def test_a_version_sent_meanwhile_is_refused_in_a_sentence(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        quote = a_sent_quote(db)[1]
        path, total = f"/quotes/{number(quote)}", quote.total_minor
        quote.valid_until = datetime.now(UTC).date() + timedelta(days=3)
        db.add(quote)
    sent = owner.get(path).text
    assert '/window">Give her a link to read and accept it</a>' in sent
    changed = owner.post(f"{path}/lines", data={"words": "More", "sum": "1"})
    assert (changed.status_code, "does not change any more" in changed.text) == (409, True)
    other = owner.post(f"{path}/accept", data={"version": "1", "total": str(total + 1), "name": "Hester"})
    assert (other.status_code, "Look at the quote again" in other.text) == (409, True)
    nobody = owner.post(f"{path}/accept", data={"version": "1", "total": str(total), "name": ""})
    assert (nobody.status_code, "Enter the name of whoever says yes." in nobody.text) == (422, True)
    assert "Say" not in owner.post(f"{path}/take-back", data={"reason": "Too dear"}).text
    taken_back = owner.get(path).text
    assert "Too dear" in taken_back
    assert "Give her a link" not in taken_back


def test_a_quote_over_json_is_whole_minor_units_that_add_up(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        quote = number(an_agreed_garment(db)[1])
    found: dict[str, Any] = owner.get(f"/api/quotes/{quote}").json()
    assert (found["id"], found["version"], found["state"], found["currency"]) == (quote, 1, "accepted", "GBP")
    assert sum(line["amount"] for line in found["lines"]) == found["total"] == found["price"] + found["tax"]
    assert sum(part["amount"] for part in found["instalments"]) == found["total"]
    assert [part["percent"] for part in found["instalments"]] == [40, 30, 30]
    assert all(isinstance(line["amount"], int) for line in found["lines"])
    assert stitcher.get(f"/api/quotes/{quote}").status_code == 403
    assert owner.get("/api/quotes/999").status_code == 404


def test_the_paper_is_a_tagged_pdf_on_both_sizes(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/quotes/{number(a_sent_quote(db)[1])}"
    for size in ("a4", "us-letter"):
        pdf = owner.get(f"{path}/quote.pdf", params={"paper": size})
        assert (pdf.status_code, pdf.content[:5], b"/MarkInfo" in pdf.content) == (200, b"%PDF-", True)
    assert owner.get(f"{path}/quote.pdf", params={"paper": "a3"}).status_code == 404


def test_a_draft_tells_of_lace_and_closures_that_have_no_line(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/quotes/{number(a_draft(db, 'bonnet')[1])}"
    page = words_of(owner.get(path).text)
    assert "Not listed yet:" in page
    assert owner.post(f"{path}/lines", data={"words": "Lace and ribbon", "sum": "8"}).status_code == 303
    assert "Not listed yet:" not in words_of(owner.get(path).text)


def _move(owner: httpx2.Client, live: Live, commission_id: int, days: int) -> tuple[str, str]:
    """Want the commission so many days later on its page; gives the day it was, and the day it is, as pages say them."""
    with live.database.reading() as db:
        commission = db.get_one(Commission, commission_id)
        before, client_id, title = commission.wanted_on, commission.client_id, commission.title
    after = before + timedelta(days)
    changed = {"client": str(client_id), "title": title, "wanted_on": after.isoformat()}
    assert owner.post(f"/commissions/{commission_id}/change", data=changed).status_code == 303
    return day(before), day(after)


def test_a_quote_says_the_day_and_the_names_it_was_sealed_with(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment, quote = an_agreed_garment(db)
        commission_id, path = garment.commission_id, f"/quotes/{quote.id}"
    dues = [words_of(owner.get(f"/commissions/{commission_id}/money").text).partition("What is due when")[2]]
    before, after = _move(owner, live, commission_id, 40)
    with live.database.writing() as db:
        commission = db.get_one(Commission, commission_id)
        db.get_one(Client, commission.client_id).name = "Somebody Else"
        commission.title, commission.occasion = "Renamed", "another feast"
        db.get_one(Studio, 1).name = "Another Studio"
    then = words_of(owner.get(f"{path}/paper").text)
    assert f"on {before}." in then
    assert after not in then
    assert "Hester Vane" in then
    assert [
        word for word in ("Renamed", "another feast", "Somebody Else") if word in then.partition("Written for ")[2]
    ] == []
    dues.append(words_of(owner.get(f"/commissions/{commission_id}/money").text).partition("What is due when")[2])
    assert len({due.partition("Print")[0] for due in dues}) == 1
    with live.database.reading() as db:
        assert prove(db).faults == ()


def test_a_day_changed_after_the_yes_is_told_and_becomes_an_alteration(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        commission_id = an_agreed_garment(db)[0].commission_id
    page = f"/commissions/{commission_id}"
    assert "the commission now says" not in owner.get(page).text
    before, after = _move(owner, live, commission_id, -20)
    told = f"Accepted for {before}; the commission now says {after}."
    assert told in owner.get(page).text
    path = owner.post(f"{page}/alterations").headers["location"]
    assert f"Wanted on {after} instead of {before}" in words_of(owner.get(f"{path}/paper").text)
    assert owner.post(f"{path}/send", data={"version": "1"}).status_code == 303
    with live.database.reading() as db:
        total = db.get_one(Quote, int(path.rpartition("/")[2])).total_minor
    assert told in owner.get(page).text
    yes = {"version": "1", "total": str(total), "name": "Hester Vane"}
    assert owner.post(f"{path}/accept", data=yes).status_code == 303
    assert "the commission now says" not in owner.get(page).text
    assert f"Wanted on {after} instead of {before}" in words_of(owner.get(f"{path}/paper").text)


def test_a_draft_for_another_day_is_reckoned_again_before_it_is_sealed(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment, quote = a_draft(db)
        commission_id, path = garment.commission_id, f"/quotes/{quote.id}"
        quote.valid_until = datetime.now(UTC).date() + timedelta(9)
    _move(owner, live, commission_id, 10)
    refused = owner.post(f"{path}/send", data={"version": "1", "unpriced": "yes"})
    assert (refused.status_code, "Reckon the draft again first" in refused.text) == (409, True)
    owner.post(f"{path}/reckon")
    assert owner.post(f"{path}/send", data={"version": "1", "unpriced": "yes"}).status_code == 303
    before, after = _move(owner, live, commission_id, 10)
    told = f"What was sent, version 1, is for {before}; the commission now says {after}. Write the next version."
    assert told in owner.get(f"/commissions/{commission_id}").text
