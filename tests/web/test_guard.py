"""What stands before every route: no cross-site writes, strict headers on every answer, known hosts, signed-in people."""

from collections.abc import Iterator
from contextlib import closing

import httpx2
import pytest
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute, iter_route_contexts

from service.app import create_app
from service.records.db import Database
from service.web.deps import owner_person, signed_in_person
from service.web.guard import HEADERS, POLICY, host_of, is_allowed_host, is_same_origin, own_hosts
from tests.serving import OWNER, Live

OPEN_TO_ALL = {
    ("GET", "/health"),
    ("GET", "/keeping-worker.js"),
    ("GET", "/static/{name}"),
    ("GET", "/static/htmx-2.0.10.min.js"),
    ("GET", "/login"),
    ("POST", "/login"),
    ("POST", "/sign-out"),
    # half signed in: the code of the second step
    ("GET", "/login/code"),
    ("POST", "/login/code"),
    # a link that sets a password
    ("GET", "/come-in/{secret}"),
    ("POST", "/come-in/{secret}"),
    ("GET", "/first-run"),
    ("POST", "/first-run"),
    ("GET", "/calendar/{secret}.ics"),
    # the client's window: let in by a link's secret, then by a cookie of its own
    ("GET", "/window/in/{secret}"),
    ("POST", "/window/in/{secret}"),
    ("GET", "/window"),
    ("GET", "/window/quotes/{quote_id}"),
    ("POST", "/window/quotes/{quote_id}/accept"),
    ("GET", "/window/quotes/{quote_id}/quote.pdf"),
    ("GET", "/window/quotes/{quote_id}/receipt.pdf"),
    ("GET", "/window/garments/{garment_id}/care.pdf"),
    ("GET", "/window/photos/{photo_id}/{size}"),
    ("POST", "/window/wishes/{wish_id}"),
}


@pytest.fixture
def visitor(live: Live) -> Iterator[httpx2.Client]:
    """A browser nobody has signed in with."""
    with closing(live.visitor()) as client:
        yield client


@pytest.mark.parametrize("path", ["/login", "/clients", "/no/such/page", "/api/steps/1/tallies", "/api/no-such", "/"])
@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
    ],
    ids=["cross-site", "same-site", "foreign origin", "null origin", "other port"],
)
def test_a_write_from_another_site_is_refused_on_every_path(
    visitor: httpx2.Client, path: str, headers: dict[str, str]
) -> None:
    answer = visitor.post(path, headers=headers, data={"email": OWNER, "password": "x"})
    assert answer.status_code == 403
    assert "another site" in answer.text


def test_a_write_with_a_valid_cookie_from_another_site_changes_nothing(owner: httpx2.Client) -> None:
    answer = owner.post("/clients", headers={"Sec-Fetch-Site": "cross-site"}, data={"name": "Never"})
    assert answer.status_code == 403
    assert "Never" not in owner.get("/clients").text


@pytest.mark.parametrize(
    ("headers", "allowed"),
    [
        ({}, True),
        ({b"sec-fetch-site": b"same-origin"}, True),
        ({b"sec-fetch-site": b"none"}, True),
        ({b"sec-fetch-site": b"cross-site", b"origin": b"http://here", b"host": b"here"}, False),
        ({b"origin": b"http://here:80", b"host": b"here:80"}, True),
        ({b"origin": b"http://there", b"host": b"here"}, False),
    ],
)
def test_same_origin_is_told_by_what_browsers_say(headers: dict[bytes, bytes], *, allowed: bool) -> None:
    assert is_same_origin(headers) is allowed


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/health", 200),
        ("GET", "/login", 200),
        ("GET", "/clients", 303),
        ("GET", "/no-such-page", 404),
        ("DELETE", "/clients", 405),
        ("GET", "/api/standing", 401),
        ("GET", "/api/no-such", 404),
        ("GET", "/openapi.json", 200),
        ("GET", "/static/no-such.css", 404),
        ("GET", "/static/stopline.css", 200),
        ("HEAD", "/login", 405),
        ("POST", "/login", 403),
    ],
)
def test_every_answer_carries_the_strict_headers(visitor: httpx2.Client, method: str, path: str, status: int) -> None:
    headers = {"Sec-Fetch-Site": "cross-site"} if status == 403 else {}
    answer = visitor.request(method, path, headers=headers)
    assert answer.status_code == status
    for name, value in HEADERS:
        assert answer.headers[name.decode()] == value.decode()
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert "server" not in answer.headers
    kept = path.startswith("/static/stopline")
    assert answer.headers["cache-control"] == ("no-cache" if kept else "no-store")


def test_a_fault_of_our_own_is_told_plainly_with_the_same_headers(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        db.connection().exec_driver_sql("drop table stitcher_away")
        db.connection().exec_driver_sql("alter table stitcher rename column notes to remarks")
    answer = owner.get("/stitchers")
    assert answer.status_code in {500, 503}
    assert "remarks" not in answer.text
    assert "Nothing was changed" in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_files_with_their_digest_in_the_address_are_kept_for_a_year(visitor: httpx2.Client) -> None:
    page = visitor.get("/login").text
    address = page.split('<link rel="stylesheet" href="')[1].split('"')[0]
    assert "?" in address
    assert visitor.get(address).headers["cache-control"] == "public, max-age=31536000, immutable"


def test_long_answers_are_sent_compressed_and_short_ones_are_not(visitor: httpx2.Client) -> None:
    asked = {"Accept-Encoding": "gzip"}
    page = visitor.get("/login", headers=asked)
    assert page.headers["content-encoding"] == "gzip"
    assert "Accept-Encoding" in page.headers["vary"]
    assert "<h1>Sign in</h1>" in page.text
    assert "content-encoding" not in visitor.get("/health", headers=asked).headers


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "", "[bad"])
def test_an_unknown_host_is_refused(visitor: httpx2.Client, host: str) -> None:
    answer = visitor.get("/login", headers={"Host": host})
    assert answer.status_code == 400
    assert "not known under that address" in answer.text


def test_what_is_refused_before_the_studio_is_known_is_said_as_the_browser_asks(visitor: httpx2.Client) -> None:
    asked = {"Host": "elsewhere.example", "Accept-Language": "de-AT, en;q=0.8"}
    page = visitor.get("/login", headers=asked).text
    assert '<html lang="de">' in page
    assert "not known under that address" not in page
    assert '<html lang="en-GB">' in visitor.get("/login", headers={**asked, "Accept-Language": "fr"}).text
    assert visitor.get("/login", headers={"Accept-Language": "de"}).text.count('<html lang="en-GB">') == 1


@pytest.mark.parametrize(
    ("header", "allowed"),
    [
        ("localhost:8000", True),
        ("127.0.0.1", True),
        ("[::1]:8000", True),
        ("192.168.1.20:8000", True),
        ("studio.home.example", True),
        ("studio.home.example.evil.example", False),
    ],
)
def test_the_service_answers_to_its_own_names_and_bare_addresses(header: str, *, allowed: bool) -> None:
    assert is_allowed_host(host_of(header), own_hosts(["studio.home.example"])) is allowed


def test_a_script_needs_no_origin_only_its_token(live: Live) -> None:
    from datetime import UTC, datetime

    from service.studio.sign_in import make_token

    with live.database.writing() as db:
        token = make_token(db, OWNER, datetime.now(UTC))
    with httpx2.Client(base_url=live.url, headers={"Authorization": f"Bearer {token}"}) as script:
        assert script.get("/api/commissions").json() == []
        answer = script.post("/api/reckon/count", json={"readings": [{"threads": 200, "over_mm": 100}]})
        assert answer.json()["threads_per_cm"] == 20
        assert script.get("/api/commissions", headers={"Authorization": "Bearer nonsense"}).status_code == 401


def _needs(dependant: Dependant, wanted: object) -> bool:
    return dependant.call is wanted or any(_needs(part, wanted) for part in dependant.dependencies)


def _routes(database: Database) -> list[tuple[str, str, Dependant]]:
    app = create_app(database)
    found = []
    for context in iter_route_contexts(app.routes):
        route = context.route
        if isinstance(route, APIRoute):
            path = context.path if hasattr(context, "path") else route.path
            found += [(method, str(path), route.dependant) for method in sorted(route.methods or ())]
    return found


def test_every_route_but_a_few_wants_somebody_signed_in(sqlite_database: Database) -> None:
    routes = _routes(sqlite_database)
    assert len(routes) > 30
    without = {(method, path) for method, path, needs in routes if not _needs(needs, signed_in_person)}
    assert without == OPEN_TO_ALL


def test_a_stitcher_is_refused_by_every_page_of_the_owner(sqlite_database: Database, stitcher: httpx2.Client) -> None:
    pages = [
        path for method, path, needs in _routes(sqlite_database) if method == "GET" and _needs(needs, owner_person)
    ]
    assert len(pages) > 15
    for path in pages:
        address = "/".join("1" if part.startswith("{") else part for part in path.split("/"))
        assert stitcher.get(address).status_code == 403, path


@pytest.mark.parametrize(
    "body",
    [
        b"name=%00%ff%fe",
        b"name=" + b"9" * 5000,
        b"name=a&name=b&name=c",
        b"\xff\xfe\x00",
        b"=&&=%",
    ],
    ids=["not UTF-8", "very long", "repeated", "bytes", "only signs"],
)
def test_odd_forms_never_break_a_page(owner: httpx2.Client, body: bytes) -> None:
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    assert owner.post("/clients", content=body, headers=headers).status_code < 500


@pytest.mark.parametrize("kind", ["application/json", "text/plain", "multipart/form-data", ""])
def test_a_form_in_another_kind_of_body_is_no_fault_of_ours(owner: httpx2.Client, kind: str) -> None:
    answer = owner.post("/clients", content=b'{"name": "x"}', headers={"Content-Type": kind})
    assert 400 <= answer.status_code < 500


@pytest.mark.parametrize(
    ("path", "kind"), [("/clients", "text/html; charset=utf-8"), ("/api/tallies", "application/problem+json")]
)
def test_a_body_too_large_is_refused_in_words(owner: httpx2.Client, path: str, kind: str) -> None:
    answer = owner.post(path, data={"name": "x", "notes": "y" * 3_000_000})
    assert (answer.status_code, answer.headers["content-type"]) == (413, kind)
    assert "more than is taken at once" in answer.text
    assert answer.headers["content-security-policy"] == POLICY


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("TRACE", "/login", 405),
        ("TRACE", "/", 405),
        ("CONNECT", "/login", 405),
        ("OPTIONS", "/login", 405),
        ("GET", "/.git/config", 404),
        ("GET", "/static/../app.py", 404),
        ("GET", "/static/%2e%2e%2fapp.py", 404),
        ("GET", "/static/", 404),
        ("GET", "/docs", 404),
        ("GET", "/metrics", 404),
        ("GET", "/debug", 404),
        ("GET", "/photos/", 404),
    ],
)
def test_what_helps_only_an_intruder_is_not_there(visitor: httpx2.Client, method: str, path: str, status: int) -> None:
    answer = visitor.request(method, path)
    assert answer.status_code == status
    assert ("allow" in answer.headers) == (status == 405)
    assert "access-control-allow-origin" not in answer.headers
    assert answer.headers["content-security-policy"] == POLICY


@pytest.mark.parametrize(
    "path", ["/clients/%00", "/clients?q=%00", "/commissions?after=%ff", "/clients/1e9", "/%2e%2e/x"]
)
def test_odd_addresses_are_answered_plainly(owner: httpx2.Client, path: str) -> None:
    assert owner.get(path).status_code < 500
