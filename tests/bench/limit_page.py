"""The limit: pages written by hand on bare Starlette, sqlite3 and precompiled Jinja, with the rows and bytes of ours.

`python -m tests.bench.limit_page STUDIO.sqlite PORT '{"work_table": 140000, …}'` serves each named page in that many
bytes: its rows as a table, the rest as words that stand ready. It signs nobody in, draws and reckons nothing.
"""

import json
import sqlite3
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

import uvicorn
from jinja2 import DictLoader, Environment, Template
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

GARMENT = """select g.id, g.name, g.size, g.state, g.wanted_on, g.start_by, g.planned_ms, g.left_ms, c.title, k.name,
s.operation, s.unit, s.quantity_tenths, s.done_tenths, e.name, p.name, h.name from garment g
join commission c on c.id = g.commission_id join client k on k.id = c.client_id left join step s on s.id = g.next_step_id
left join section e on e.id = s.section_id left join panel p on p.id = s.panel_id
left join stitcher h on h.id = g.holder_id"""
STEPS = """select s.id, s.operation, s.unit, s.quantity_tenths, s.done_tenths, e.name, e.kind, e.bundles
from step s left join section e on e.id = s.section_id"""
ROWS = {
    "work_table": f"{GARMENT} where g.state in ('planned', 'in work') order by g.start_by, g.id limit 50",
    "garment": f"{STEPS} where s.garment_id = ? order by s.position",
    "step": "select id, kind, counted_tenths, seconds, at from tally where step_id = ? order by id desc limit 20",
    "search": f"{GARMENT} where g.name like ? order by g.id limit 50",
    "window": f"{GARMENT} where g.commission_id = ? order by g.id",
    "standing": f"{GARMENT} where g.state in ('planned', 'in work') order by g.start_by, g.id",
}
PAGE = """<!doctype html><title>{{ name }}</title><table>
{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>
{% endfor %}</table><p>"""


def page(
    connection: sqlite3.Connection, template: Template, name: str, size: int
) -> Callable[[Request], Awaitable[Response]]:
    """One page of that many bytes; `id` or `q` in the address fills its question."""
    question = ROWS[name]
    words = "x" * size

    async def answer(request: Request) -> Response:
        asked = request.query_params
        told: tuple[object, ...] = (
            (f"%{asked['q']}%",) if "q" in asked else (int(asked["id"]),) if "id" in asked else ()
        )
        found = connection.execute(question, told)
        rows = found.fetchall()
        if name == "standing":
            heads = [head[0] for head in found.description]
            return JSONResponse([dict(zip(heads, row, strict=True)) for row in rows])
        body = template.render(name=name, rows=rows)
        return HTMLResponse(body + words[: max(0, size - len(body))])

    return answer


def limit_app(path: Path, sizes: dict[str, int]) -> Starlette:
    """All pages on this studio."""
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True, check_same_thread=False)
    template = Environment(loader=DictLoader({"page": PAGE}), autoescape=True, auto_reload=False).get_template("page")
    return Starlette(routes=[Route(f"/{name}", page(connection, template, name, size)) for name, size in sizes.items()])


if __name__ == "__main__":
    uvicorn.run(
        limit_app(Path(sys.argv[1]), json.loads(sys.argv[3])),
        host="127.0.0.1",
        port=int(sys.argv[2]),
        log_level="warning",
        access_log=False,
    )
