"""A start: the sign-in page is answered as it was kept until all is loaded, and never where it would be another."""

import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest
import uvicorn
from fastapi import FastAPI

from service.app import create_app
from service.errors import Conflict
from service.first_page import NAME, kept_page, mark_of
from service.porch import Porch
from service.records.db import migrate, open_database, sqlite_url
from service.records.tables import Studio
from service.serving import listen, server_settings
from service.settings import Settings, read_settings
from tests.house.commands import CLEAN, ROOT
from tests.serving import OWNER, PASSWORD, open_studio

PATIENCE_S = 300


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with an opened studio that no service ran on."""
    path = tmp_path_factory.mktemp("opened")
    migrate(sqlite_url(path))
    database = open_database(sqlite_url(path))
    open_studio(database)
    database.close()
    return path


@pytest.fixture(scope="module")
def kept(opened: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same after a service ran there."""
    path = tmp_path_factory.mktemp("kept") / "data"
    shutil.copytree(opened, path)
    keep_the_page(path)
    return path


@pytest.fixture
def folder(kept: Path, tmp_path: Path) -> Path:
    """A data folder with an opened studio that a service ran on."""
    return Path(shutil.copytree(kept, tmp_path / "data"))


@contextmanager
def listening(folder: Path, load: Callable[[], FastAPI]) -> Iterator[tuple[str, Porch]]:
    """A service on that folder that loads by `load`, until the block is left: its address, and its porch."""
    porch = Porch(load, kept_page(folder), folder=folder)
    taken = listen("127.0.0.1", 0)
    port = taken.getsockname()[1]
    server = uvicorn.Server(server_settings(porch, "127.0.0.1", port))
    porch.stop = lambda: setattr(server, "should_exit", True)
    thread = threading.Thread(target=server.run, args=([taken],))
    thread.start()
    try:
        yield f"http://127.0.0.1:{port}", porch
    finally:
        server.should_exit = True
        thread.join()


def loading(folder: Path, may_load: threading.Event | None = None) -> Callable[[], FastAPI]:
    """What loads the service on that folder, once it may."""

    def load() -> FastAPI:
        if may_load is not None:
            may_load.wait(PATIENCE_S)
        return create_app(open_database(sqlite_url(folder)), folder=folder)

    return load


def keep_the_page(folder: Path) -> None:
    """Have the service run there once, until all is loaded."""
    with listening(folder, loading(folder)) as (address, _):
        assert httpx2.get(f"{address}/health", timeout=PATIENCE_S).status_code == 200


def rename(folder: Path, name: str, language: str = "en") -> None:
    """Let the studio be called otherwise, and speak that language."""
    database = open_database(sqlite_url(folder))
    with database.writing() as db:
        studio = db.get(Studio, 1)
        assert studio is not None
        studio.name, studio.language = name, language
    database.close()


def told(answer: httpx2.Response) -> tuple[int, str, dict[str, str]]:
    """Status, body and headers of an answer, but for the time of day."""
    return answer.status_code, answer.text, {name: value for name, value in answer.headers.items() if name != "date"}


@pytest.mark.parametrize("encoding", ["identity", "gzip"])
def test_the_sign_in_page_is_the_same_before_all_is_loaded_as_after(folder: Path, encoding: str) -> None:
    may_load = threading.Event()
    headers = {"Accept-Encoding": encoding}
    with listening(folder, loading(folder, may_load)) as (address, _):
        before = told(httpx2.get(f"{address}/login", headers=headers, timeout=PATIENCE_S))
        may_load.set()
        assert httpx2.get(f"{address}/health", timeout=PATIENCE_S).status_code == 200
        assert told(httpx2.get(f"{address}/login", headers=headers, timeout=PATIENCE_S)) == before
    assert before[0] == 200
    assert "Larkfield Whitework" in before[1]


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/login", {"Cookie": "stopline=somebody"}),
        ("/login", {"Authorization": "Bearer somebody"}),
        ("/login", {"HX-Request": "true"}),
        ("/login?next=/clients", {}),
        ("/health", {}),
    ],
)
def test_whatever_else_is_asked_for_waits_until_all_is_loaded(folder: Path, path: str, headers: dict[str, str]) -> None:
    may_load = threading.Event()
    with (
        listening(folder, loading(folder, may_load)) as (address, _),
        ThreadPoolExecutor(1) as asking,
    ):
        answer = asking.submit(httpx2.get, f"{address}{path}", headers=headers, timeout=PATIENCE_S)
        assert httpx2.get(f"{address}/login", timeout=PATIENCE_S).status_code == 200
        assert not answer.done()
        may_load.set()
        assert answer.result().status_code == 200


def test_an_unknown_host_is_refused_before_all_is_loaded(folder: Path) -> None:
    may_load = threading.Event()
    with listening(folder, loading(folder, may_load)) as (address, _):
        assert (
            httpx2.get(f"{address}/login", headers={"Host": "elsewhere.example"}, timeout=PATIENCE_S).status_code == 400
        )
        may_load.set()


def test_a_page_that_would_be_another_now_is_not_used(opened: Path, folder: Path) -> None:
    assert kept_page(opened) is None
    before = kept_page(folder)
    assert before is not None
    assert "Larkfield Whitework" in before.body
    rename(folder, "Marsh End Whitework")
    assert kept_page(folder) is None


def test_what_changed_while_the_service_ran_is_in_the_page_of_the_next_start(folder: Path) -> None:
    with listening(folder, loading(folder)) as (address, _):
        assert httpx2.get(f"{address}/health", timeout=PATIENCE_S).status_code == 200
        rename(folder, "Marsh End Whitework", "de")
    renewed = kept_page(folder)
    assert renewed is not None
    assert "Marsh End Whitework" in renewed.body
    assert '<html lang="de">' in renewed.body


@pytest.mark.parametrize("written", ["", "{", "[]", '{"mark": "x"}', '{"mark": "", "headers": [], "body": ""}'])
def test_a_spoilt_page_is_as_good_as_none(folder: Path, written: str) -> None:
    (folder / NAME).write_text(written, encoding="utf-8")
    assert kept_page(folder) is None


def test_a_studio_that_is_still_empty_keeps_no_page(tmp_path: Path) -> None:
    assert mark_of(tmp_path) == ""
    migrate(sqlite_url(tmp_path))
    keep_the_page(tmp_path)
    assert not (tmp_path / NAME).exists()


def test_a_service_that_cannot_load_says_so_and_stops(folder: Path) -> None:
    may_load = threading.Event()

    def load() -> FastAPI:
        may_load.wait(PATIENCE_S)
        raise Conflict("The book is locked away.")

    with listening(folder, load) as (address, porch), ThreadPoolExecutor(1) as asking:
        answer = asking.submit(httpx2.get, f"{address}/", timeout=PATIENCE_S)
        while not porch._is_loaded._waiters:  # the question has come in
            time.sleep(0.01)
        may_load.set()
        assert answer.result().status_code == 503
    assert str(porch.fault) == "The book is locked away."


def test_somebody_signs_in_on_the_page_of_a_service_that_has_just_begun(folder: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "service.cli", "serve", "--data", str(folder), "--port", str(port)]
    with (folder.parent / "log").open("w+", encoding="utf-8") as log:
        process = subprocess.Popen(command, cwd=ROOT, env=CLEAN, stdout=subprocess.PIPE, stderr=log, text=True)
        try:
            assert process.stdout is not None
            assert process.stdout.readline().startswith("Stopline is at")
            address = f"http://127.0.0.1:{port}"
            assert httpx2.get(f"{address}/login", timeout=PATIENCE_S).status_code == 200
            signed = httpx2.post(f"{address}/login", data={"email": OWNER, "password": PASSWORD}, timeout=PATIENCE_S)
        finally:
            process.terminate()
            process.communicate()
        log.seek(0)
        said = log.read()
    assert (signed.status_code, signed.headers["location"]) == (303, "/")
    assert "fault" not in said
    assert process.returncode in {0, -signal.SIGTERM, 143}


def test_what_a_start_waits_for_stays_light() -> None:
    asked = "import sys, service.cli, service.serving; print(*{name.partition('.')[0] for name in sys.modules})"
    read = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, env=CLEAN, capture_output=True, text=True, check=True
    )
    heavy = {"fastapi", "pydantic", "sqlalchemy", "sqlmodel", "alembic", "numpy", "shapely", "jinja2", "PIL", "typst"}
    assert heavy & set(read.stdout.split()) == set()


def test_a_step_of_a_mirrored_panel_is_shown_without_the_geometry_of_outlines() -> None:
    asked = (
        "import sys, pathlib, service.loading; from service.web.step_words import drawn_section as drawn; "
        "text = pathlib.Path('seed_data/designs/christening_gown.toml').read_text(encoding='utf-8'); "
        "print(drawn(text, 'sleeve_left.alternating').mirror_of, {'shapely', 'PIL'} & sys.modules.keys())"
    )
    read = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, env=CLEAN, capture_output=True, text=True, check=True
    )
    assert read.stdout.split() == ["sleeve_right.alternating", "set()"]


def test_settings_are_read_from_the_surroundings() -> None:
    assert read_settings({}) == Settings()
    said = {
        "STOPLINE_DATA": "book",
        "STOPLINE_HTTPS": "yes",
        "STOPLINE_BACKUP_DAYS": "0",
        "STOPLINE_HOSTS": "A.example, ",
    }
    read = read_settings(said)
    assert (read.data, read.https, read.backup_days, read.extra_hosts) == (Path("book"), True, 0, ("a.example",))
    assert read_settings({"STOPLINE_DATA": "", "STOPLINE_BACKUP_HOURS": "", "STOPLINE_HTTPS": ""}) == Settings()


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("STOPLINE_BACKUP_HOURS", "daily", "Set it to a whole number from 0 to 8760, or not at all."),
        ("STOPLINE_BACKUP_DAYS", "-1", "Set it to a whole number from 0 to 366, or not at all."),
        ("STOPLINE_BACKUP_WEEKS", "521", "Set it to a whole number from 0 to 520, or not at all."),
        ("STOPLINE_HTTPS", "perhaps", "Set it to 1 or 0, or not at all."),
    ],
)
def test_a_setting_that_cannot_be_taken_is_told_in_one_sentence(name: str, value: str, sentence: str) -> None:
    with pytest.raises(Conflict) as refused:
        read_settings({name: value})
    assert refused.value.sentence == f"{name} is set to {value!r}. {sentence}"
