"""When signed-in browsers were last used: gathered in memory and written down now and then, so that no page waits."""

import logging
import threading
from datetime import datetime, timedelta

from sqlalchemy.exc import SQLAlchemyError

from service.records.db import Database
from service.studio.sessions import note_seen
from service.studio.sign_in import Browser

NOT_OFTENER = timedelta(minutes=10)
WRITTEN_EVERY_S = 60
log = logging.getLogger("stopline.request")


class LastSeen:
    """What is to be written down of when browsers were last used."""

    def __init__(self) -> None:
        self._seen: dict[int, datetime] = {}
        self._lock = threading.Lock()

    def note(self, browser: Browser, at: datetime) -> None:
        """Remember that a browser was used, unless it stands there as used a moment ago."""
        if at - browser.last_seen_at >= NOT_OFTENER:
            with self._lock:
                self._seen[browser.id] = at

    def write(self, database: Database) -> None:
        """Write down what was gathered; when it cannot be written, that is no fault of any page."""
        with self._lock:
            seen, self._seen = self._seen, {}
        if not seen:
            return
        try:
            with database.writing() as db:
                note_seen(db, seen)
        except SQLAlchemyError as error:
            log.warning("last use of %d browsers was not written: %s", len(seen), type(error).__name__)
