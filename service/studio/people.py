"""People of the studio: who may sign in, who stitches and when, who asks for the work."""

from datetime import datetime

from service.errors import Unreadable
from service.records.db import Writing
from service.records.tables import Account, Stitcher
from service.records.tables.people import ROLES
from service.studio.sign_in import NewOwner, add_account


def add_account_for(db: Writing, email: str, name: str, role: str, password: str, at: datetime) -> Account:
    """Let somebody sign in; a stitcher gets her own record to log hours under."""
    if role not in ROLES:
        raise Unreadable({"role": f"A role is one of {', '.join(ROLES)}, not {role!r}."})
    stitcher = Stitcher(name=name, created_at=at)
    db.add(stitcher)
    db.flush()
    return add_account(db, NewOwner(name, email, password), role, stitcher.id, at)
