"""The chain of events: each event's seal covers the seal before it, and is written in the event's own transaction."""

import hashlib
import json
import secrets
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, event, insert, select, text, update
from sqlalchemy.orm import Mapper, object_session
from sqlmodel import Session, SQLModel

from service.records.tables import Event

EVENTS, SEALS, LAST = (SQLModel.metadata.tables[name] for name in ("event", "event_seal", "last_seal"))
COVERED = (*("id", "at", "account_id", "garment_id"), *("action", "object_kind", "object_id", "before", "after"))
UNSEALED = "events not sealed yet"


def reason_digest(salt: str, reason: str) -> str:
    """The digest of why something was done. Without its salt nobody can try out which words it was taken of.

    >>> reason_digest("00", "a snag")[:12]
    '3d4b52775981'
    """
    return hashlib.sha256(f"{salt} {reason}".encode()).hexdigest()


def seal_digest(previous: str, covered: Sequence[object], reason_sha256: str) -> str:
    """The digest of an event, its values in the order of COVERED, after the seal `previous`."""
    said = [value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value for value in covered]
    line = json.dumps([previous, *said, reason_sha256], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(line.encode()).hexdigest()


def seal_new_events(session: Session) -> None:
    """Seal what this transaction wrote, as the last thing it does, so that nothing else waits for the chain's turn."""
    numbers = session.info.pop(UNSEALED, [])
    session.flush()
    numbers += session.info.pop(UNSEALED, [])
    if numbers:
        _seal(session.connection(), numbers)


def _seal(connection: Connection, numbers: Sequence[int]) -> None:
    columns = [EVENTS.c[name] for name in (*COVERED, "reason")]
    written = connection.execute(select(*columns).where(EVENTS.c.id.in_(numbers)).order_by(EVENTS.c.id)).all()
    if not written:  # taken back with their savepoint
        return
    connection.execute(text("insert into last_seal (id, seals, sha256) values (1, 0, '') on conflict do nothing"))
    place, previous = connection.execute(select(LAST.c.seals, LAST.c.sha256).with_for_update()).one()
    rows: list[dict[str, Any]] = []
    for *covered, reason in written:
        salt, place = secrets.token_hex(16), place + 1
        of_reason = reason_digest(salt, reason)
        digest = seal_digest(previous, covered, of_reason)
        rows.append(
            {
                "id": place,
                "event_id": covered[0],
                "salt": salt,
                "reason_sha256": of_reason,
                "previous_sha256": previous,
                "sha256": digest,
            }
        )
        previous = digest
    connection.execute(insert(SEALS), rows)
    connection.execute(update(LAST).values(seals=place, sha256=previous))


@event.listens_for(Event, "after_insert")
def _note(_mapper: Mapper[Event], _connection: Connection, written: Event) -> None:
    session = object_session(written)
    if session is not None:
        session.info.setdefault(UNSEALED, []).append(written.id)
