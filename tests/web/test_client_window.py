"""The client's window over HTTP: who is let in, what she sees and nothing else, and that she accepts once."""

import re
import threading
from contextlib import closing
from datetime import UTC, date, datetime, timedelta

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import ClientWish, Commission, Event, Garment, Quote, ShareLink, Stitcher
from service.studio.diary import PieceDays
from service.studio.promising import send
from service.studio.quotes import draw_up
from service.studio.window import make_link
from service.web.window_week import week_told
from service.web.words import day
from tests.building import a_garment
from tests.counting import number, person
from tests.quoting import charge, foresight
from tests.serving import OWNER, Live

WEDNESDAY = date(2027, 5, 12)
WEEKDAYS = tuple(f"minutes_{name}" for name in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))
PRIVATE = ("Ottilie", "Wren", "rate", "margin", "Clients", "Sign out", "0123 private note", "overhead", "01 234")


def _quoted(live: Live) -> Quote:
    with live.database.writing() as db:
        charge(db)
        owner, now = person(db, OWNER), datetime.now(UTC)
        quote = draw_up(db, a_garment(db, "handkerchief").commission_id, foresight(), owner, now)
        send(db, number(quote), quote.version, owner, now)
        commission = db.get_one(Commission, quote.commission_id)
        commission.notes = "0123 private note"
        db.add(commission)
        db.flush()
        db.expunge(quote)
        return quote


def _link(live: Live, commission_id: int, days: int = 30) -> str:
    with live.database.writing() as db:
        return make_link(db, person(db, OWNER), commission_id, ("Hester", days), datetime.now(UTC))


def _let_in(live: Live, secret: str) -> httpx2.Client:
    client = live.visitor()
    assert client.post(f"/window/in/{secret}").status_code == 303
    return client


def _yes(quote: Quote, **other: str) -> dict[str, str]:
    said = {"name": "Hester Vane", "version": str(quote.version), "total": str(quote.total_minor), "read": "yes"}
    return said | other


def test_looking_at_the_link_opens_nothing_and_pressing_its_button_does(live: Live) -> None:
    quote = _quoted(live)
    secret = _link(live, quote.commission_id)
    with closing(live.visitor()) as client:
        for _ in range(3):
            door = client.get(f"/window/in/{secret}")
            assert (door.status_code, door.headers["referrer-policy"]) == (200, "no-referrer")
            assert (door.headers["x-robots-tag"], door.headers["cache-control"]) == ("noindex, nofollow", "no-store")
            assert "Christening" not in door.text
        assert client.get("/window").status_code == 404
        answer = client.post(f"/window/in/{secret}")
        assert (answer.status_code, answer.headers["location"]) == (303, "/window")
        cookie = answer.headers["set-cookie"]
        assert "Path=/window" in cookie
        assert "HttpOnly" in cookie
        page = client.get("/window")
        assert "Christening of Ivy" in page.text
        assert page.headers["x-robots-tag"] == "noindex, nofollow"
        assert page.headers["cache-control"] == "no-store"
        assert client.get("/").status_code in {303, 401}
    with live.database.reading() as db:
        link = db.exec(select(ShareLink)).one()
        assert (link.times_opened, secret in repr(link)) == (1, False)
        assert len(db.exec(select(Event).where(Event.action == "window first opened")).all()) == 1


def test_she_sees_her_piece_and_her_quote_and_nothing_of_the_workroom(live: Live) -> None:
    quote = _quoted(live)
    with closing(_let_in(live, _link(live, quote.commission_id))) as client:
        pages = [
            client.get("/window").text,
            client.get(f"/window/quotes/{quote.id}").text,
        ]
    for page in pages:
        assert [word for word in PRIVATE if word in page] == []
    assert "<svg" in pages[0]
    assert "When it will be ready is not known yet." in pages[0]  # nobody has hours in this studio
    assert f"Accept {_money(quote)}" in pages[1]


def _money(quote: Quote) -> str:
    return f"£{quote.total_minor / 100:,.2f}"


def test_the_day_is_told_by_its_week_and_never_as_a_promise() -> None:
    piece = Garment(
        commission_id=1,
        design_id=1,
        name="Gown",
        document="",
        wanted_on=WEDNESDAY,
        start_by=WEDNESDAY,
        created_at=datetime.now(UTC),
    )
    piece.state = "in work"
    told = week_told(piece, PieceDays(WEDNESDAY, WEDNESDAY, 0.8))
    assert told == "It is expected in the week of 10 May 2027."
    piece.state = "delivered"
    assert week_told(piece, PieceDays(WEDNESDAY, WEDNESDAY, 0.8)) == "It is delivered."


def test_the_week_is_read_after_the_yes_if_it_keeps_the_day_and_any_other_once_the_owner_lets_her(
    live: Live, owner: httpx2.Client
) -> None:
    quote = _quoted(live)
    page = f"/commissions/{quote.commission_id}/window"
    with live.database.writing() as db:
        stitcher = Stitcher(name="Ottilie", created_at=datetime.now(UTC))
        for name in WEEKDAYS:
            setattr(stitcher, name, 120)
        db.add(stitcher)
    with closing(_let_in(live, _link(live, quote.commission_id))) as client:

        def reads() -> list[str]:
            return re.findall(r"It is expected in the week of [^.<]+\.", client.get("/window").text)

        assert reads() == []
        assert "The studio will tell you when it is expected." in client.get("/window").text
        seen = owner.get(page).text
        assert "Held back: It is expected in the week of" in seen
        until = re.search(r'name="until" value="([\d-]+)"', seen)
        assert until is not None
        assert owner.post(f"{page}/week", data={"until": "soon"}).status_code == 422
        assert owner.post(f"{page}/week", data={"until": until[1]}).status_code == 303
        assert len(reads()) == 1
        assert owner.post(f"{page}/week", data={}).status_code == 303
        assert client.post(f"/window/quotes/{quote.id}/accept", data=_yes(quote)).status_code == 303
        assert reads() == []
        with live.database.writing() as db:
            commission = db.get_one(Commission, quote.commission_id)
            commission.week_held, commission.week_let_to = False, None
        assert len(reads()) == 1
        with live.database.writing() as db:
            accepted = db.get_one(Quote, quote.id)
            accepted.wanted_on = date.fromisoformat(until[1]) - timedelta(7)
            agreed = day(accepted.wanted_on)
        assert reads() == []
        assert f"Wanted on {agreed}." in client.get("/window").text


def test_she_accepts_once_by_name_and_the_owner_sees_it(live: Live, owner: httpx2.Client) -> None:
    quote = _quoted(live)
    with closing(_let_in(live, _link(live, quote.commission_id))) as client:
        path = f"/window/quotes/{quote.id}"
        unread = client.post(f"{path}/accept", data=_yes(quote, name="", read=""))
        assert unread.status_code == 422
        assert "Enter your name." in unread.text
        assert "Say that you have read the quote." in unread.text
        stale = client.post(f"{path}/accept", data=_yes(quote, total=str(quote.total_minor - 1)))
        assert stale.status_code == 409
        assert "not the version or the total" in stale.text
        assert client.get(f"{path}/receipt.pdf").status_code == 404
        assert client.post(f"{path}/accept", data=_yes(quote)).status_code == 303
        twice = client.post(f"{path}/accept", data=_yes(quote, name="Somebody else"))
        assert twice.status_code == 409
        assert "accepted already, by Hester Vane" in twice.text
        assert client.get(f"{path}/receipt.pdf").content.startswith(b"%PDF")
        assert client.get(f"{path}/quote.pdf").content.startswith(b"%PDF")
        assert "is paid" in client.get("/window").text
    assert "agreed" in owner.get(f"/commissions/{quote.commission_id}").text
    page = owner.get(f"/commissions/{quote.commission_id}/window").text
    assert "1 time, " in re.sub(r"\s+", " ", page)


def test_of_ten_who_accept_at_once_one_is_heard(live: Live) -> None:
    quote = _quoted(live)
    secret = _link(live, quote.commission_id)
    clients = [_let_in(live, secret) for _ in range(10)]
    answers: list[int] = []

    def try_it(client: httpx2.Client) -> None:
        with closing(client):
            answers.append(client.post(f"/window/quotes/{quote.id}/accept", data=_yes(quote)).status_code)

    threads = [threading.Thread(target=try_it, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [303, *[409] * 9]


def test_a_link_that_is_ended_or_over_lets_nobody_in_and_nobody_stay(live: Live, owner: httpx2.Client) -> None:
    quote = _quoted(live)
    secret = _link(live, quote.commission_id)
    with closing(_let_in(live, secret)) as client:
        assert client.get("/window").status_code == 200
        with live.database.reading() as db:
            link_id = number(db.exec(select(ShareLink)).one())
        assert owner.post(f"/window-links/{link_id}/revoke").status_code == 303
        for path in ("/window", f"/window/quotes/{quote.id}"):
            assert client.get(path).status_code == 404
        assert client.post(f"/window/quotes/{quote.id}/accept", data=_yes(quote)).status_code == 404
        assert client.post(f"/window/in/{secret}").status_code == 404
    with live.database.writing() as db:
        assert db.exec(select(Quote)).one().state == "sent"
        late = make_link(db, person(db, OWNER), quote.commission_id, ("late", 1), datetime.now(UTC) - timedelta(2))
    with closing(live.visitor()) as client:
        assert client.post(f"/window/in/{late}").status_code == 404
        assert client.post("/window/in/guessed").status_code == 404


def test_one_client_sees_nothing_of_another(live: Live) -> None:
    quote = _quoted(live)
    with live.database.writing() as db:
        other = Commission(
            client_id=1, title="Another", wanted_on=datetime.now(UTC).date(), created_at=datetime.now(UTC)
        )
        db.add(other)
        db.flush()
        other_id = number(other)
    with closing(_let_in(live, _link(live, other_id))) as client:
        assert client.get(f"/window/quotes/{quote.id}").status_code == 404
        assert client.post(f"/window/quotes/{quote.id}/accept", data=_yes(quote)).status_code == 404
        assert client.get("/window/garments/1/care.pdf").status_code == 404
        assert client.get("/window/photos/1/small").status_code == 404
        assert client.get("/window").status_code == 200


def test_what_is_wanted_is_asked_answered_and_taken_off(live: Live, owner: httpx2.Client) -> None:
    quote = _quoted(live)
    asked = {"wanted": "measurement", "words": "Length lying, heel to crown"}
    assert owner.post(f"/commissions/{quote.commission_id}/window/wishes", data=asked).status_code == 303
    assert owner.post(f"/commissions/{quote.commission_id}/window/wishes", data={"words": ""}).status_code == 422
    with closing(_let_in(live, _link(live, quote.commission_id))) as client:
        assert "Length lying, heel to crown" in client.get("/window").text
        assert client.post("/window/wishes/1", data={"answer": " "}).status_code == 422
        assert client.post("/window/wishes/1", data={"answer": "61 cm, on Tuesday"}).status_code == 303
        assert client.post("/window/wishes/99", data={"answer": "x"}).status_code == 422
        assert "61 cm, on Tuesday" in owner.get(f"/commissions/{quote.commission_id}/window").text
        assert owner.post("/window-wishes/1/close").status_code == 303
        assert "Length lying" not in client.get("/window").text
        closed = client.post("/window/wishes/1", data={"answer": "62"})
        assert closed.status_code == 422
    with live.database.reading() as db:
        assert db.exec(select(ClientWish.answer)).one() == "61 cm, on Tuesday"


def test_a_message_is_drafted_in_the_owner_s_words_with_the_link_in(live: Live, owner: httpx2.Client) -> None:
    quote = _quoted(live)
    words = {"subject": "News of {commission}", "body": "Good day {client},\nsee {link}\n{studio}"}
    assert "{link}" in owner.post("/settings/messages/progress", data=words | {"body": "no link"}).text
    assert owner.post("/settings/messages/progress", data=words).status_code == 303
    assert owner.post("/settings/messages/nonsense", data=words).status_code in {404, 422}
    made = {"kind": "progress", "label": "Hester", "days": "30"}
    page = owner.post(f"/commissions/{quote.commission_id}/window/links", data=made, follow_redirects=True).text
    assert "News of Christening of Ivy" in page
    assert "Good day Hester Vane" in page
    assert "This link opens on this computer or in this house only" in page
    link = re.search(r"http://127\.0\.0\.1:\d+/window/in/[\w-]{43}", page)
    assert link is not None
    assert "mailto:hester@example.org?subject=News%20of%20Christening" in page
    assert link[0] not in owner.get(f"/commissions/{quote.commission_id}/window").text
    with closing(live.visitor()) as client:
        assert client.post(link[0].partition("/window")[1] + link[0].partition("/window")[2]).status_code == 303
    for wrong in ({"days": "0"}, {"days": "9999"}, {"label": ""}, {"kind": "nonsense"}):
        answer = owner.post(f"/commissions/{quote.commission_id}/window/links", data=made | wrong)
        assert answer.status_code == 422


def test_the_window_is_made_by_the_owner_alone(live: Live, stitcher: httpx2.Client) -> None:
    quote = _quoted(live)
    for path in (f"/commissions/{quote.commission_id}/window", "/settings/messages"):
        assert stitcher.get(path).status_code == 403
    assert stitcher.post(f"/commissions/{quote.commission_id}/window/links", data={}).status_code == 403


def test_many_tries_from_one_address_have_to_wait(live: Live) -> None:
    with closing(live.visitor()) as client:
        answers = [client.post(f"/window/in/guess{at}") for at in range(35)]
    told = [(answer.status_code, answer.headers.get("retry-after")) for answer in answers]
    assert (told[0], told[-1]) == ((404, None), (429, "60"))


@pytest.mark.parametrize("path", ["/window/in/" + "x" * 3000, "/window/in/%00", "/window/in/%F0%9F%92%A9"])
def test_odd_secrets_open_nothing(live: Live, path: str) -> None:
    with closing(live.visitor()) as client:
        assert client.post(path).status_code in {404, 414}
