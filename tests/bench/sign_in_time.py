"""Whether the time of an answer tells which names are known: python -m tests.bench.sign_in_time --tries 40."""

import argparse
import sys
import tempfile
import time
from pathlib import Path

from service.records.db import Database, migrate, open_database, sqlite_url
from service.studio.sign_in import is_password_of
from tests.serving import OWNER, open_studio

LESS_THAN = 0.2


def difference(database: Database, tries: int) -> float:
    """By what share an unknown name takes longer than a wrong password, in time of the processor, at the quickest."""
    took: dict[str, list[float]] = {OWNER: [], "nobody@studio.example": []}
    with database.reading() as db:
        for _ in range(tries):
            for name, times in took.items():
                began = time.process_time()
                assert is_password_of(db, name, "wrong threads altogether") is None
                times.append(time.process_time() - began)
    known, unknown = (min(times) for times in took.values())
    return unknown / known - 1


def main() -> int:
    """Measure, and say whether it is little enough."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--tries", type=int, default=40)
    tries = asked.parse_args().tries
    with tempfile.TemporaryDirectory() as folder:
        url = sqlite_url(Path(folder))
        migrate(url)
        database = open_database(url)
        open_studio(database)
        found = difference(database, tries)
        database.close()
    verdict = "pass" if abs(found) < LESS_THAN else "MISS"
    print(
        f"an unknown name takes {found:+.1%} against a wrong password, {tries} tries each (less than 20 %): {verdict}"
    )
    return verdict == "MISS"


if __name__ == "__main__":
    sys.exit(main())
