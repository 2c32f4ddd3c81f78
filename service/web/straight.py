"""Counts sent as JSON that nothing speaks against, kept without the long way through routes, threads and records.

A layer within the guard. It takes only what it can read whole and answers only what was kept; everything else it passes
on as it came, to the routes that describe it (`api_log.tally`, `api_sent_in.send_in`), where it is kept by itself or
refused in words.
"""

import json
import re
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from typing import Any

from fastapi import Request
from fastapi.responses import Response
from pydantic import BaseModel, ValidationError

from service.studio.log import Added
from service.studio.sign_in import Caller
from service.studio.turns import Asked, Turns
from service.web.api_log import StepOut, TallyIn, ask_of
from service.web.api_sent_in import AllSentIn, count_of, kept_alone
from service.web.deps import caller_in

Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Answer = Callable[[Added], BaseModel]

COUNTED = re.compile(r"/api/(?:steps/([1-9][0-9]{0,8})/)?tallies")
MOST_BYTES = 8000


class Straight:
    """The layer: `app` is the long way."""

    def __init__(self, app: Any) -> None:
        self.app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        found = COUNTED.fullmatch(scope["path"]) if scope["type"] == "http" and scope["method"] == "POST" else None
        caller = caller_in(Request(scope)) if found else None
        if found is None or caller is None or not _is_short_json(scope):
            await self.app(scope, receive, send)
            return
        body, messages = await _read(receive)
        answer = None if body is None else await _kept(scope, caller, found[1], body)
        if answer is None:
            await self.app(scope, _again(messages, receive), send)
        else:
            await answer(scope, receive, send)


def _is_short_json(scope: Any) -> bool:
    headers = dict(scope["headers"])
    length = headers.get(b"content-length", b"")
    return headers.get(b"content-type") == b"application/json" and length.isdigit() and int(length) <= MOST_BYTES


async def _read(receive: Receive) -> tuple[bytes | None, list[Message]]:
    """The body, nothing when it did not come whole; and the messages it came in."""
    messages = [await receive()]
    while messages[-1].get("more_body"):
        messages.append(await receive())
    is_whole = all(message["type"] == "http.request" for message in messages)
    return b"".join(message.get("body", b"") for message in messages) if is_whole else None, messages


def _again(messages: list[Message], receive: Receive) -> Receive:
    """The same messages once more, and then what comes after them."""

    async def again() -> Message:
        return messages.pop(0) if messages else await receive()

    return again


async def _kept(scope: Any, caller: Caller, step_id: str | None, body: bytes) -> Response | None:
    """The answer to a count that was kept."""
    state, at = scope["app"].state, datetime.now(UTC)
    turns: Turns = state.turns
    try:
        asked, answer = _read_one(json.loads(body), caller, step_id, at)
    except (ValidationError, ValueError, RecursionError):
        return None
    counted = None if asked is None else await turns.keep(asked)
    if counted is None:
        return None
    if counted.browser is not None:
        state.seen.note(counted.browser, at)
    return Response(answer(counted.added).model_dump_json(), media_type="application/json")


def _read_one(said: object, caller: Caller, step_id: str | None, at: datetime) -> tuple[Asked | None, Answer]:
    """The one count that was sent, if there is but one, and how it is answered: of a step, or as a device sends it."""
    if step_id is not None:
        ask = ask_of(TallyIn.model_validate(said))
        return Asked(caller, int(step_id), ask, at), _as_step
    sent = AllSentIn.model_validate(said)
    count = count_of(sent, at)
    asked = None if count is None else Asked(caller, count.step_id, count.ask, at, sent.account)
    return asked, lambda added: kept_alone(sent.counts[0].key, added.now, added.tally_id)


def _as_step(added: Added) -> StepOut:
    return StepOut.model_validate(added.now, from_attributes=True)
