"""Lists ask a constant number of questions, however many rows they show; those at the table few, and once."""

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import httpx2
import pytest
from sqlalchemy import event

from service.languages.spoken import Units
from service.records.db import Database, Reading, migrate, open_database
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.sign_in import Person
from service.web.garment_told import Asked, told_of
from service.web.steps import shown_of
from tests.serving import serving

LISTS = ("/", "/?q=Garment", "/api/standing", "/clients", "/commissions", "/find?q=Garment", "/diary")
SIZES = (10, 60)
EDDA = Person(1, "Edda", DEMO_EMAILS["edda"], "owner", None)
WRITTEN = ("en", "en-GB", Units())
BEHIND_ANSWERS = 10  # what is learned or foreseen behind an answer asks a little too


@pytest.fixture(scope="module")
def asked_by_size(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Counter[str]]:
    """How often each list asks the database, by how many pieces are open."""
    found = {}
    for size in SIZES:
        database = _filled(tmp_path_factory, size)
        found[size] = _asked(database)
        database.close()
    return found


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    """A studio with ten open pieces."""
    database = _filled(tmp_path_factory, SIZES[0])
    yield database
    database.close()


def _filled(tmp_path_factory: pytest.TempPathFactory, pieces: int) -> Database:
    url = f"sqlite:///{tmp_path_factory.mktemp('lists') / 'studio.sqlite'}"
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "a password of ours", pieces, datetime.now(UTC), open_every=1)
    return database


def _asked(database: Database) -> Counter[str]:
    """Questions of each list when it is looked at again after somebody wrote something."""
    asked: Counter[str] = Counter()
    here = [""]
    event.listen(database.reader, "before_cursor_execute", lambda *_: asked.update(here))
    with serving(database) as live, live.signed_in(DEMO_EMAILS["edda"]) as owner:
        for path in LISTS:
            for here[0] in ("first", path):
                _write_something(owner, path)
                assert owner.get(path).status_code == 200, path
    return asked


def _write_something(owner: httpx2.Client, name: str) -> None:
    assert owner.post("/clients", data={"name": f"After {name}"}).status_code in {200, 303}


@pytest.mark.parametrize("path", LISTS)
def test_a_list_asks_as_often_for_fifty_rows_more(asked_by_size: dict[int, Counter[str]], path: str) -> None:
    few, many = (asked_by_size[size][path] for size in SIZES)
    assert 0 < many < few + BEHIND_ANSWERS


def _of_garment(db: Reading) -> object:
    return told_of(db, EDDA, Asked(5, None, "Europe/London", "cm", WRITTEN))


def _of_step(db: Reading) -> object:
    return shown_of(db, EDDA, 5, "cm", WRITTEN)


@pytest.mark.parametrize(("look", "questions"), [(_of_garment, 12), (_of_step, 9)])
def test_what_a_page_at_the_table_tells_is_asked_in_few_questions_and_only_once(
    filled: Database, look: Callable[[Reading], object], questions: int
) -> None:
    asked: list[str] = []
    event.listen(filled.reader, "before_cursor_execute", lambda *told: asked.append(str(told[2])))
    for _ in range(2):
        with filled.reading() as db:
            look(db)
    assert len([each for each in asked if each.startswith("SELECT")]) == questions, "\n".join(asked)
