"""Keeping an answer of the reckoner with the garment it was reckoned for."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from service.errors import Conflict, NotFound
from service.records.db import Writing
from service.records.tables import Garment, KeptResult

MOST_LETTERS = 50_000


@dataclass(frozen=True, slots=True)
class Keeping:
    """What was asked of which question, by the fields of its page, and the answer in words and figures."""

    garment_id: int
    route: str
    asked: Mapping[str, str]
    told: str
    figures: tuple[tuple[str, str], ...]


def keep_result(db: Writing, keeping: Keeping, account_id: int, at: datetime) -> KeptResult:
    """Keep an answer with its garment; the cloth may change, so what was asked is kept beside it."""
    garment = db.get(Garment, keeping.garment_id)
    if garment is None:
        raise NotFound("There is no such garment.")
    if garment.state in {"delivered", "called off"}:
        raise Conflict(f"This garment is {garment.state}; nothing more is reckoned for it.")
    asked = json.dumps(dict(keeping.asked), ensure_ascii=False, sort_keys=True)
    if len(asked) > MOST_LETTERS:
        raise Conflict("That is too much to keep with a garment: ask for less at a time.")
    kept = KeptResult(
        garment_id=keeping.garment_id,
        route=keeping.route,
        asked=asked,
        answer=json.dumps({"told": keeping.told, "figures": keeping.figures}, ensure_ascii=False),
        account_id=account_id,
        at=at,
    )
    db.add(kept)
    db.flush()
    return kept
