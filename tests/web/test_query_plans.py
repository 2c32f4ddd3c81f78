"""No page that is asked for again and again reads a table that grows from end to end."""

import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import Connection, event
from sqlmodel import SQLModel, col, select

from service.records.db import Database, open_database
from service.records.tables import Garment
from service.studio.demo import DEMO_EMAILS
from service.studio.sign_in import make_token
from tests.filled import demo_in
from tests.serving import Live, serving

GROWING = frozenset(
    [
        *("tally", "event", "event_seal", "step", "section", "panel", "garment", "commission", "client", "note"),
        *("handover", "handover_panel", "handover_place", "handover_material", "broken_sharp", "photo"),
        *("cloth_use", "cloth_reading", "supply_use", "thread_used", "kept_result", "payment", "stitcher_payment"),
        *("quote", "quote_line", "quote_garment", "quote_work", "quote_instalment", "finishing_check"),
        *("needle_count", "client_wish", "window_visit", "share_link", "login_session", "child_measure", "erasure"),
    ]
)
# Table, what the statement says, why it may read the table from end to end.
LIKE = " LIKE | ILIKE "
ALLOWED: tuple[tuple[str, str, str], ...] = (
    ("tally", r"^SELECT tally\.id FROM tally LIMIT", "whether there is any: the first one found ends it"),
    ("tally", r"ORDER BY tally\.id DESC LIMIT", "the newest of the log, from its end on, until there are enough"),
    ("tally", r"GROUP BY tally\.garment_id ORDER BY tally\.garment_id DESC LIMIT", "the same, by the newest pieces"),
    ("event", r"ORDER BY event\.id DESC LIMIT", "the newest changes, from the end on"),
    ("commission", LIKE, "words looked for anywhere in a text: no order helps; a few a garment, and only when asked"),
    ("client", LIKE, "the same; one for several garments"),
    ("quote", LIKE, "the same, from the newest on"),
    ("client", r"ORDER BY lower\(client\.name\)", "one for several garments, in an order that minds no capitals"),
    ("stitcher_payment", r"sum\(", "one a stitcher and payday: what was paid over all time is their sum"),
)
PAGES = (
    *("/", "/?q=Cap", "/?state=delivered", "/?waits=hem_knot", "/find?q=Cap", "/api/standing", "/diary", "/books"),
    *("/books?by=stitcher", "/books?by=piece", "/commissions", "/clients", "/garments/{garment}"),
    *("/garments/{garment}/history", "/garments/{garment}/photos", "/steps/{step}", "/steps/{step}/table"),
    *("/commissions/{commission}", "/api/garments/{garment}", "/settings/changes"),
)
TALLY, WINDOW = "a tally", "/window"
PARTIAL = {
    str(index.name)
    for table in SQLModel.metadata.tables.values()
    for index in table.indexes
    if index.dialect_options["sqlite"]["where"] is not None
}
Asked = dict[tuple[str, str], Any]


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Database, Asked]]:
    """The demo studio in SQLite, whose plans do not turn on how many rows there are; what its pages ask, by page."""
    path = tmp_path_factory.mktemp("plans") / "studio.sqlite"
    shutil.copyfile(demo_in(tmp_path_factory.getbasetemp()), path)
    database = open_database(f"sqlite:///{path}")
    yield database, _asked(database)
    database.close()


def _asked(database: Database) -> Asked:
    found: Asked = {}
    here = [""]
    with database.reading() as db:
        some = select(Garment.id, Garment.next_step_id, Garment.commission_id).where(Garment.state == "in work")
        open_pieces = db.exec(some.order_by(col(Garment.start_by))).all()
    numbers = dict(zip(("garment", "step", "commission"), open_pieces[0], strict=True))

    def note(_: object, __: object, statement: str, values: Any, *___: object) -> None:
        if here[0] and statement.lstrip().lower().startswith(("select", "with")):
            found.setdefault((here[0], statement), values)

    engines = {database.reader, database.writer}
    for engine in engines:
        event.listen(engine, "before_cursor_execute", note)
    with serving(database) as live:
        for email in (DEMO_EMAILS["edda"], DEMO_EMAILS["tilly"]):
            with live.signed_in(email) as somebody:
                for page in PAGES:
                    here[0] = page
                    answer = somebody.get(page.format(**numbers))
                    assert answer.status_code == 200 or email != DEMO_EMAILS["edda"], page
        here[0] = TALLY
        _count(live, [step for _, step, _ in open_pieces if step])
        here[0] = WINDOW
        _look_through_the_window(live, open_pieces[0][2])
    for engine in engines:
        event.remove(engine, "before_cursor_execute", note)
    return found


def _count(live: Live, steps: list[int]) -> None:
    with live.database.writing() as db:
        token = make_token(db, DEMO_EMAILS["edda"], datetime.now(UTC))
    with live.visitor() as script:
        script.headers["Authorization"] = f"Bearer {token}"
        said = {"counted": 1, "minutes": 2}
        kept = [script.post(f"/api/steps/{step}/tallies", json=said | {"key": f"seen {step}"}) for step in steps]
    assert any(answer.is_success for answer in kept)
    assert all(answer.status_code < 500 for answer in kept)


def _look_through_the_window(live: Live, commission: int) -> None:
    asked = {"label": "hers", "days": "30", "kind": "progress"}
    with live.signed_in(DEMO_EMAILS["edda"]) as owner, live.visitor() as client:
        made = re.search(
            r"/window/in/([\w-]+)",
            owner.post(f"/commissions/{commission}/window/links", data=asked, follow_redirects=True).text,
        )
        assert made
        client.post(f"/window/in/{made[1]}")
        assert client.get("/window").status_code == 200


def read_from_end_to_end(connection: Connection, statement: str, values: Any) -> set[str]:
    """The tables that a question reads from end to end, by what the database says of its plan.

    One that is looked up only by a column being absent is read so too: that holds for most of its rows. An index of a
    few of the rows may be read whole.
    """
    named = {alias: table for table, alias in re.findall(r"\b(\w+) AS (\w+)", statement)}
    found: set[str] = set()
    for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", tuple(values)):
        scanned = re.match(r"SCAN (\w+)(?:.* INDEX (\w+))?", row[-1])
        absent = re.match(r"SEARCH (\w+) USING.* INDEX (\w+) \((\w+)=\?\)$", row[-1])
        if scanned and scanned[2] not in PARTIAL:
            found.add(str(scanned[1]))
        elif absent and absent[2] not in PARTIAL and f"{absent[1]}.{absent[3]} IS NULL" in statement:
            found.add(str(absent[1]))
    return {named.get(name, name) for name in found}


def test_pages_ask_for_nothing_that_is_read_from_end_to_end(asked: tuple[Database, Asked]) -> None:
    database, questions = asked
    found: set[tuple[str, str, str]] = set()
    with database.reader.connect() as connection:
        for (page, statement), values in questions.items():
            for table in read_from_end_to_end(connection, statement, values) & GROWING:
                if not any(
                    table == known and re.search(words, " ".join(statement.split())) for known, words, _ in ALLOWED
                ):
                    found.add((page, table, statement))
    assert found == set()


def test_what_pages_and_a_count_ask_is_heard(asked: tuple[Database, Asked]) -> None:
    heard = {page for page, _ in asked[1]}
    assert {"/", "/books", "/books?by=piece", "/garments/{garment}", "/steps/{step}", TALLY, WINDOW} <= heard


def test_a_question_without_an_index_is_found(asked: tuple[Database, Asked]) -> None:
    database, _ = asked
    with database.reader.connect() as connection:
        for statement, tables in (
            ("select id from tally where seconds = 60", {"tally"}),
            ("select one.id from tally AS one where one.seconds = 60", {"tally"}),
            ("select counted_tenths from tally where id = 60", set()),
        ):
            found = read_from_end_to_end(connection, statement, ())
            assert found == tables, statement
