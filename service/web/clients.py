"""Pages of clients. Contacts are the owner's alone."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.records.queries.commissions import commissions_of
from service.records.queries.people import clients_by_name, every_client
from service.records.tables import Client
from service.studio import clients
from service.web.again import OWNER_AFTER_PROOF
from service.web.as_seen import held, is_as_seen, marked
from service.web.csv_out import as_csv
from service.web.deps import Desk, Id, Now, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed

router = APIRouter(include_in_schema=False, prefix="/clients")


@router.get("")
def show_clients(desk: OwnerDesk, db: Reads, q: str = "", away: bool = False) -> Response:
    found = clients_by_name(db, q[:200], put_away=away)
    return desk.page("people/clients.html", "people", block="found", clients=found, q=q, away=away)


@router.get("/list.csv", dependencies=[OWNER_AFTER_PROOF])
def clients_file(_desk: OwnerDesk, db: Reads) -> Response:
    rows = [
        (row.id, row.name, row.email, row.phone, row.address, "put away" if row.put_away else "")
        for row in every_client(db)
    ]
    return as_csv("clients", ("number", "name", "e-mail", "telephone", "address", "state"), rows)


@router.get("/new")
def show_new_client(desk: OwnerDesk) -> Response:
    return _form_page(desk, Form(), None)


@router.post("")
def add_client(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    facts = _facts(form)
    if form.wrong:
        return _form_page(desk, form, None, 422)
    client = clients.add_client(db, facts, at)
    return desk.go(f"/clients/{client.id}")


@router.get("/{client_id}")
def show_client(desk: OwnerDesk, db: Reads, client_id: Id) -> Response:
    client = clients.client_with(db, client_id)
    return desk.page("people/client.html", "people", client=client, commissions=commissions_of(db, client_id))


@router.get("/{client_id}/change")
def show_change_client(desk: OwnerDesk, db: Reads, client_id: Id) -> Response:
    client = clients.client_with(db, client_id)
    return _form_page(desk, marked(_filled(client)), client)


@router.post("/{client_id}/change")
def change_client(desk: OwnerDesk, form: Typed, db: Writes, client_id: Id) -> Response:
    client, facts = clients.client_with(db, client_id), _facts(form)
    if form.wrong:
        return _form_page(desk, form, client, 422)
    if not is_as_seen(form, _filled(held(db, client))):
        return _form_page(desk, form, client, 409)
    clients.change_client(db, client_id, facts)
    return desk.go(f"/clients/{client_id}")


@router.post("/{client_id}/put-away")
def put_client_away(desk: OwnerDesk, form: Typed, db: Writes, client_id: Id) -> Response:
    clients.put_client_away(db, client_id, away=form.ticked("away"))
    if form.ticked("away"):
        desk.may_undo("It is put away.", f"/clients/{client_id}/put-away")
    return desk.go(f"/clients/{client_id}")


def _filled(client: Client) -> Form:
    return Form(client.model_dump(include={"name", "email", "phone", "address", "notes"}))


def _facts(form: Form) -> clients.ClientFacts:
    return clients.ClientFacts(
        name=form.text("name", called="a name"),
        email=form.email("email", needed=False),
        phone=form.text("phone", called="the telephone number", most=60, needed=False),
        address=form.text("address", called="the address", most=1000, needed=False),
        notes=form.text("notes", called="the notes", most=10_000, needed=False),
    )


def _form_page(desk: Desk, form: Form, client: Client | None, status: int = 200) -> Response:
    return desk.page("people/client_form.html", "people", status=status, form=form, client=client)
