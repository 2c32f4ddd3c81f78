"""Keys sent five times at once, to one service and to two on one PostgreSQL, and again after a restart: each counts once."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from service.records.db import open_database, sqlite_url
from service.records.tables import Step, Tally
from service.studio.proofs import prove
from tests.conftest import fresh_url
from tests.faults.forking import free_port, kill, starting
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.photographs import photo

CLIENTS = 16
KEYS_EACH = 4
TIMES = 5


def a_count(key: str) -> dict[str, Any]:
    """Two knots under a key."""
    return {"key": key, "counted": 2, "more_on_cloth": True}


def send_all(ports: list[int], secret: str, step_id: int) -> list[int]:
    """Every client sends each of its keys five times at once, by turns to each service; gives the answers' statuses."""
    with ExitStack() as held, ThreadPoolExecutor(CLIENTS) as pool:
        clients = [held.enter_context(signed_in_at(port, secret)) for port in ports]
        sent = [
            (f"{client}-{key}", time) for client in range(CLIENTS) for key in range(KEYS_EACH) for time in range(TIMES)
        ]

        def send(one: tuple[str, int]) -> int:
            key, time = one
            return clients[time % len(clients)].post(f"/api/steps/{step_id}/tallies", json=a_count(key)).status_code

        return list(pool.map(send, sent))


@pytest.mark.parametrize(("kind", "services"), [("sqlite", 1), ("postgresql", 2)])
def test_every_key_counts_once_however_often_and_wherever_it_is_sent(
    kind: str, services: int, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    url = fresh_url(kind, tmp_path, request) if kind == "postgresql" else sqlite_url(tmp_path)
    secret, step_id = a_studio_to_count_in(tmp_path, url)
    ports = [free_port() for _ in range(services)]
    environment = {"DATABASE_URL": url} if kind == "postgresql" else {}
    with starting(tmp_path, **environment) as starter:
        running = [starter.start(port) for port in ports]
        assert set(send_all(ports, secret, step_id)) == {200}
        _share_photos(ports, secret)
        kill(running[0])
        starter.start(ports[0])
        assert set(send_all(ports, secret, step_id)) == {200}
    database = open_database(url)
    with database.reading() as db:
        keys = list(db.exec(select(Tally.key).where(Tally.step_id == step_id)))
        assert len(keys) == len(set(keys)) == CLIENTS * KEYS_EACH
        assert db.get_one(Step, step_id).done_tenths == CLIENTS * KEYS_EACH * 20
        assert prove(db).faults == ()
    database.close()


def _share_photos(ports: list[int], secret: str) -> None:
    """A photo sent to the first service is seen at the last."""
    files = {"photos": ("work.jpg", photo(shade=3), "image/jpeg")}
    with signed_in_at(ports[0], secret) as first, signed_in_at(ports[-1], secret) as last:
        sent = first.post("/garments/1/photos", files=files)
        assert sent.status_code == 303, sent.text
        assert last.get("/photos/1/small").headers["content-type"] == "image/jpeg"
