"""What was reckoned for a garment and kept with it, the newest first."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any
from urllib.parse import urlencode

from sqlalchemy import bindparam
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.tables import Account, KeptResult

MOST_KEPT = 50


@dataclass(frozen=True, slots=True)
class KeptLine:
    """One kept answer: the question's name, its address to ask it again, the answer in words and figures."""

    route: str
    href: str
    told: str
    figures: tuple[tuple[str, str], ...]
    who: str
    at: datetime


def kept_of(db: Reading | Writing, garment_id: int) -> tuple[KeptLine, ...]:
    """The newest results kept on a garment."""
    return tuple(_line(kept, who or "") for kept, who in db.execute(_of_garment(), {"garment_id": garment_id}))


@cache
def _of_garment() -> Any:
    return (
        select(KeptResult, Account.name)
        .outerjoin(Account, col(KeptResult.account_id) == col(Account.id))
        .where(KeptResult.garment_id == bindparam("garment_id"))
        .order_by(col(KeptResult.at).desc(), col(KeptResult.id).desc())
        .limit(MOST_KEPT)
    )


def _line(kept: KeptResult, who: str) -> KeptLine:
    asked: Mapping[str, str] = json.loads(kept.asked)
    answer = json.loads(kept.answer)
    href = f"/reckoner/{kept.route}?{urlencode({**asked, 'garment': kept.garment_id})}"
    figures = tuple((str(word), str(value)) for word, value in answer["figures"])
    return KeptLine(kept.route, href, answer["told"], figures, who, kept.at)
