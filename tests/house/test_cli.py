"""Commands at the terminal, as somebody types them, on real data folders."""

import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest

from service.records.db import open_database, sqlite_url
from tests.house.commands import CLEAN, ROOT, run
from tests.serving import OWNER, PASSWORD, open_studio


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with an opened studio."""
    path = tmp_path_factory.mktemp("data")
    made = run("migrate", "--data", str(path))
    assert made.stdout == "The tables are up to date.\n", made.stderr
    database = open_database(sqlite_url(path))
    open_studio(database)
    database.close()
    return path


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A service running on that folder: its address and its process."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "service.cli", "serve", "--data", str(folder), "--port", str(port)],
        cwd=ROOT,
        env=CLEAN,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        try:
            if httpx2.get(f"{address}/health").status_code == 200:
                break
        except httpx2.ConnectError:
            time.sleep(0.1)
    yield address, process
    process.kill()
    process.communicate()


def test_nothing_is_told_of_a_folder_without_a_studio(tmp_path: Path) -> None:
    for command in (["check"], ["token", OWNER], ["add-account", "x@studio.example"]):
        told = run(*command, "--data", str(tmp_path / "none"), STOPLINE_PASSWORD=PASSWORD)
        assert told.returncode == 1
        assert told.stderr.count("\n") == 1
        assert told.stderr.startswith("There is no studio in ")


def test_a_second_service_on_the_same_folder_is_refused_in_one_sentence(
    folder: Path, served: tuple[str, subprocess.Popen[str]]
) -> None:
    assert httpx2.get(f"{served[0]}/health").json()["status"] == "ok"
    for command in ("serve", "migrate", "demo"):
        second = run(command, "--data", str(folder))
        assert second.returncode == 1
        assert second.stderr.count("\n") == 1
        assert "is in use by another running service" in second.stderr


def test_a_token_made_beside_the_running_service_works_there(
    folder: Path, served: tuple[str, subprocess.Popen[str]]
) -> None:
    made = run("token", OWNER, "--data", str(folder))
    assert made.returncode == 0, made.stderr
    headers = {"Authorization": f"Bearer {made.stdout.strip()}"}
    assert httpx2.get(f"{served[0]}/api/commissions", headers=headers).json() == []
    unknown = run("token", "nobody@studio.example", "--data", str(folder))
    assert (unknown.returncode, unknown.stderr) == (1, "Nobody signs in with nobody@studio.example.\n")


def test_an_account_added_beside_the_running_service_signs_in(
    folder: Path, served: tuple[str, subprocess.Popen[str]]
) -> None:
    email = "nan@studio.example"
    added = run("add-account", email, "--name", "Nan Pell", "--data", str(folder), STOPLINE_PASSWORD=PASSWORD)
    assert added.stdout == f"{email} may sign in as stitcher.\n", added.stderr
    signed = httpx2.post(f"{served[0]}/login", data={"email": email, "password": PASSWORD})
    assert signed.status_code == 303
    again = run("add-account", email, "--data", str(folder), STOPLINE_PASSWORD=PASSWORD)
    assert again.returncode == 1
    assert "Somebody signs in with that e-mail address already." in again.stderr


def test_check_says_how_much_holds(folder: Path, served: tuple[str, subprocess.Popen[str]]) -> None:
    assert served[1].poll() is None
    told = run("check", "--data", str(folder))
    assert told.returncode == 0
    assert "statements checked, 0 do not hold." in told.stdout


def test_the_demo_refuses_a_real_studio(tmp_path: Path) -> None:
    run("migrate", "--data", str(tmp_path))
    database = open_database(sqlite_url(tmp_path))
    open_studio(database)
    database.close()
    told = run("demo", "--no-serve", "--data", str(tmp_path))
    assert told.returncode == 1
    assert told.stderr.splitlines()[-1].startswith("That folder holds a real studio")


@pytest.mark.parametrize("arguments", [["serve", "--port", "abc"], ["serve", "--port", "99999"], ["nonsense"]])
def test_a_mistyped_command_is_told_in_one_sentence(arguments: list[str]) -> None:
    told = run(*arguments)
    assert told.returncode == 2
    assert told.stderr.count("\n") == 1
    assert "Traceback" not in told.stderr


def test_a_taken_port_is_told_in_one_sentence(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        told = run("serve", "--data", str(tmp_path), "--port", str(taken.getsockname()[1]))
    assert told.returncode == 1
    assert told.stderr.splitlines()[-1].endswith("Name another with --port.")
    assert "Traceback" not in told.stderr


def test_the_service_stops_in_order_and_its_log_names_nobody(
    folder: Path, served: tuple[str, subprocess.Popen[str]]
) -> None:
    address, process = served
    secret = "words that must not be logged"
    httpx2.post(f"{address}/login?who=ottilie", data={"email": OWNER, "password": secret})
    process.send_signal(signal.SIGTERM)
    out, log = process.communicate(timeout=30)
    assert process.returncode in {0, -signal.SIGTERM, 143}
    assert "POST /login 422" in log
    for private in (OWNER, secret, "ottilie", "127.0.0.1", "Larkfield"):
        assert private not in log
    assert "Stopline is at http://127.0.0.1" in out
    assert run("check", "--data", str(folder)).returncode == 0
