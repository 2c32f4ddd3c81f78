"""Changes made by one statement, so that of two who make them at the same instant only one finds anything to change."""

from sqlalchemy import Delete, Update

from service.records.db import Writing


def at_once(db: Writing, statement: Update | Delete) -> int:
    """Change rows by one statement and give how many; earlier changes are written first, all is read anew."""
    db.flush()
    changed = db.connection().execute(statement).rowcount
    db.expire_all()
    return changed
