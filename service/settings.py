"""Settings from the environment: where the data lies, where to listen, who may ask."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from service.errors import Conflict

YES, NO = ("1", "true", "yes", "on"), ("0", "false", "no", "off")


@dataclass(frozen=True)
class Settings:
    """Everything the service reads from its surroundings, once, at start."""

    data: Path = Path("data")
    database_url: str = ""
    photos: str = ""
    demo_password: str = ""
    hosts: str = ""
    backup_hours: int = 24
    backup_days: int = 7
    backup_weeks: int = 8
    https: bool = False
    proxy: str = ""

    @cached_property
    def url(self) -> str:
        """The database's address: as given, else the SQLite file in the data folder."""
        from service.records.db import sqlite_url

        return self.database_url or sqlite_url(self.data)

    @cached_property
    def extra_hosts(self) -> tuple[str, ...]:
        """Further host names under which the service may be asked."""
        return tuple(host.strip().lower() for host in self.hosts.split(",") if host.strip())


def read_settings(surroundings: Mapping[str, str] = os.environ) -> Settings:
    """The settings that stand in the surroundings; an empty one is as good as none. Refuses what it cannot take."""
    said = {name: value for name, value in surroundings.items() if value}
    usual = Settings()
    return Settings(
        data=Path(said.get("STOPLINE_DATA", usual.data)),
        database_url=said.get("DATABASE_URL", ""),
        photos=said.get("STOPLINE_PHOTOS", ""),
        demo_password=said.get("STOPLINE_DEMO_PASSWORD", ""),
        hosts=said.get("STOPLINE_HOSTS", ""),
        backup_hours=_whole(said, "STOPLINE_BACKUP_HOURS", usual.backup_hours, 8760),
        backup_days=_whole(said, "STOPLINE_BACKUP_DAYS", usual.backup_days, 366),
        backup_weeks=_whole(said, "STOPLINE_BACKUP_WEEKS", usual.backup_weeks, 520),
        https=_yes_or_no(said, "STOPLINE_HTTPS"),
        proxy=said.get("STOPLINE_PROXY", ""),
    )


def _whole(said: Mapping[str, str], name: str, usual: int, most: int) -> int:
    value = said.get(name, str(usual)).strip()
    if not (value.isascii() and value.isdigit() and int(value) <= most):
        raise Conflict(f"{name} is set to {value!r}. Set it to a whole number from 0 to {most}, or not at all.")
    return int(value)


def _yes_or_no(said: Mapping[str, str], name: str) -> bool:
    value = said.get(name, "0").strip().lower()
    if value not in {*YES, *NO}:
        raise Conflict(f"{name} is set to {value!r}. Set it to 1 or 0, or not at all.")
    return value in YES
