"""What the bench says of a figure, and that the load and the limit page it measures with do as they say."""

import json
import sqlite3
import threading
import time
from pathlib import Path

import uvicorn

from tests.bench.figures import Figure, table, write_json
from tests.bench.limit_page import limit_app
from tests.bench.load import Asked, load
from tests.bench.servers import ask
from tests.bench.speed import write_down

TABLES = """create table step (id integer, operation text, unit text, quantity_tenths integer, done_tenths integer,
section_id integer, garment_id integer, position integer);
create table section (id integer, name text, kind text, bundles integer);
insert into section values (1, 'Ladder <1>', 'ladder', 100);
insert into step values (7, 'withdraw', 'threads', 160, 0, 1, 3, 1)"""


def test_a_figure_stands_beside_the_one_to_reach_and_says_whether_it_does(tmp_path: Path) -> None:
    figures = [
        Figure("pages", "work table: share of the limit", 0.25, "", 1 / 3, "at least"),
        Figure("memory", "resident", 180, "MB", 200),
        Figure("studio", "filled", 12.34, "s"),
    ]
    assert table(figures).splitlines()[2:] == [
        "| pages | work table: share of the limit | 0.25  | at least 0.33 | MISS |",
        "| memory | resident | 180 MB | at most 200 | pass |",
        "| studio | filled | 12.3 s |  |  |",
    ]
    write_json(figures, {"machine": "this one"}, tmp_path / "figures.json")
    told = json.loads((tmp_path / "figures.json").read_text(encoding="utf-8"))
    assert [each["missed"] for each in told["figures"]] == [True, False, False]


def test_the_last_figures_take_the_place_of_those_before_in_both_guides(tmp_path: Path) -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        (tmp_path / name).write_text("Above.\n<!-- bench -->\nold\n<!-- /bench -->\nBelow.\n", encoding="utf-8")
    figures = [Figure("memory", "resident", 180, "MB", 200), Figure("studio", "filled", 12.34, "s")]
    for _ in range(2):
        write_down(figures, "Here, today.", tmp_path)
    readme = (tmp_path / "README.md").read_text(encoding="utf-8")
    assert readme.startswith("Above.\n<!-- bench -->\nHere, today. 1 of 1 marks are reached.\n\n| area |")
    assert readme.endswith("| memory | resident | 180 MB | at most 200 | pass |\n<!-- /bench -->\nBelow.\n")
    assert "| studio | filled | 12.3 s |  |  |" in (tmp_path / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_limit_page_gives_its_rows_in_just_so_many_bytes_to_a_load(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "studio.sqlite") as file:
        file.executescript(TABLES)
    server = uvicorn.Server(
        uvicorn.Config(limit_app(tmp_path / "studio.sqlite", {"garment": 5000}), port=0, log_config=None)
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive()
        time.sleep(0.005)
    port = server.servers[0].sockets[0].getsockname()[1]
    status, _, page = ask(port, "GET", "/garment?id=3")
    assert (status, len(page), b"Ladder &lt;1&gt;" in page) == (200, 5000, True)
    went = load(Asked(f"http://127.0.0.1:{port}/garment?id=3"), 0.2, connections=2)
    assert went.answers > 1
    assert went.p50_ms <= went.p99_ms
    server.should_exit = True
    thread.join(10)
