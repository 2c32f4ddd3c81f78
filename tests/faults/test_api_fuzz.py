"""The fuzzing of api_fuzz.py, short, and that a method nobody offers is refused with those that are."""

import httpx2

from service.records.db import Database
from service.web.openapi import ALWAYS
from tests.faults.api_fuzz import fill, fuzz, people
from tests.serving import serving

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def test_no_question_breaks_the_json_interface_or_is_answered_as_it_does_not_describe(
    sqlite_database: Database,
) -> None:
    with sqlite_database.writing() as db:
        commission_id = fill(db)
    with serving(sqlite_database) as live:
        figures = fuzz(live, people(live, commission_id), examples=2)
    assert figures.faults == []
    assert figures.asked > 250
    assert {200, 401, 403, 404, 422} <= set(figures.statuses)


def test_every_operation_tells_its_refusals_and_offers_only_its_methods(sqlite_database: Database) -> None:
    with serving(sqlite_database) as live, live.visitor() as visitor:
        described = visitor.get("/openapi.json").json()
        answered = {
            (method, path): visitor.request(method, path.replace("{", "").replace("}", ""))
            for path in described["paths"]
            for method in METHODS
        }
    assert len(described["paths"]) > 15
    for path, operations in described["paths"].items():
        offered = {method.upper() for method in operations}
        assert [set(ALWAYS) <= set(operation["responses"]) for operation in operations.values()] == [True] * len(
            offered
        )
        refused = [answered[method, path] for method in METHODS if method not in offered]
        assert {answer.status_code for answer in refused} == {httpx2.codes.METHOD_NOT_ALLOWED}
        assert {frozenset(answer.headers["allow"].split(", ")) for answer in refused} == {frozenset(offered)}
