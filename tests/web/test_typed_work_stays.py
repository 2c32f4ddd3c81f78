"""Typed work survives: every form of every page comes back with all that was typed, refused or after a lost session."""

import html
import json
import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass

import httpx2

from service.studio.demo import DEMO_EMAILS
from tests.serving import Live
from tests.web.asking import copied, make_ready, put_back, routes_of
from tests.web.forms_on_pages import CHOSEN, TYPED, Field, PageForm, forms_in

NO_PAGES = ("/api/", "/static/", "/health", "/openapi", "/calendar/", "/window", "/come-in/", "/login")
OTHER_FIELDS = ("kind", "mirror_of")
"""What is chosen in these changes which fields there are: they stay as they stand."""
KEPT = re.compile(r'<input type="hidden" name="kept" value="([^"]*)">')


@dataclass(frozen=True)
class Filled:
    """A form as somebody filled it."""

    page: str
    form: PageForm
    typed: dict[str, str]

    @property
    def at(self) -> str:
        """What is said of it."""
        return f"{self.form.action} on {self.page}"


def _typed(field: Field, number: int) -> str:
    """Something to be refused where that can be, and to be known again."""
    if field.kind == "date":
        return f"2031-02-{number % 27 + 1:02}"
    if field.kind in TYPED or field.kind == "textarea":
        return f"typed < {number}"
    if field.kind in CHOSEN or (field.kind == "select" and field.name not in OTHER_FIELDS):
        return field.offered[-1]
    return field.value


def _every_form(owner: httpx2.Client, addresses: list[str]) -> Iterator[Filled]:
    seen = set[tuple[str, tuple[str, ...]]]()
    for address in addresses:
        answer = owner.get(address)
        if answer.status_code != httpx2.codes.OK or "text/html" not in answer.headers["content-type"]:
            continue
        for form in forms_in(answer.text, address):
            same = (re.sub(r"\d+", "1", form.action), form.names)
            if form.takes_files or same in seen:
                continue
            seen.add(same)
            typed = {each.name: _typed(each, number) for number, each in enumerate(form.fields) if each.name}
            yield Filled(address, form, typed)


def _addresses(live: Live) -> list[str]:
    assert live.app
    with live.database.writing() as db:
        here = make_ready(db)
    pages = [path for method, path in routes_of(live.app) if method == "GET" and not path.startswith(NO_PAGES)]
    return [here.address_of(path) for path in pages if not path.endswith((".csv", ".pdf", ".zip", ".js", "{size}"))]


def _lost(filled: Filled, page: str, where: str) -> list[str]:
    """The fields of a form that came back otherwise than they were typed; a form of buttons alone has none."""
    shown = {*TYPED, *CHOSEN, "textarea", "select"}
    wanted = {each.name: filled.typed[each.name] for each in filled.form.fields if each.kind in shown and each.name}
    if not any(each.kind in {*TYPED, "textarea"} for each in filled.form.fields):
        return []
    back = [{each.name: each.value for each in form.fields if each.kind in shown} for form in forms_in(page, where)]
    alike = [stands for stands in back if wanted.keys() <= stands.keys()]
    if not alike:
        return ["the form itself"]
    differing = [[name for name, value in wanted.items() if stands[name].split() != value.split()] for stands in alike]
    return min(differing, key=len)


def test_every_form_that_is_refused_comes_back_as_it_was_typed(filled: Live) -> None:
    addresses, lost, refused = _addresses(filled), dict[str, list[str]](), 0
    with closing(filled.signed_in(DEMO_EMAILS["edda"])) as owner, closing(copied(filled)) as before:
        for each in _every_form(owner, addresses):
            answer = owner.post(each.form.action, data=each.typed)
            assert answer.status_code < httpx2.codes.INTERNAL_SERVER_ERROR, each.at
            if answer.status_code < httpx2.codes.BAD_REQUEST:
                put_back(filled, before)
            elif fields := _lost(each, answer.text, each.form.action):
                lost[f"{each.at} ({answer.status_code})"] = fields
            else:
                refused += 1
    assert lost == {}
    assert refused > 40


def test_every_form_that_is_sent_without_a_session_is_carried_through_signing_in(filled: Live) -> None:
    addresses, lost, carried = _addresses(filled), list[str](), 0
    with closing(filled.signed_in(DEMO_EMAILS["edda"])) as owner, closing(filled.visitor()) as visitor:
        for each in _every_form(owner, addresses):
            if any("password" in name for name in each.form.names) or each.form.action == "/sign-out":
                continue
            answer = visitor.post(each.form.action, data=each.typed)
            kept = KEPT.search(answer.text)
            said = dict(json.loads(html.unescape(kept[1]))) if kept else {}
            lost += [] if said == each.typed or not each.typed else [f"{each.at} ({answer.status_code})"]
            carried += 1
    assert lost == []
    assert carried > 80
