"""Settings from the environment: where the data lies, where to listen, who may ask."""

from functools import cached_property
from pathlib import Path

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict

from service.records.db import sqlite_url


class Settings(BaseSettings):
    """Everything the service reads from its surroundings, once, at start."""

    model_config = SettingsConfigDict(extra="ignore", populate_by_name=True)

    data: Path = Field(default=Path("data"), alias="STOPLINE_DATA")
    database_url: str = Field(default="", alias="DATABASE_URL")
    photos: str = Field(default="", alias="STOPLINE_PHOTOS")
    demo_password: str = Field(default="", alias="STOPLINE_DEMO_PASSWORD")
    hosts: str = Field(default="", alias="STOPLINE_HOSTS")
    backup_hours: int = Field(default=24, ge=0, le=8760, alias="STOPLINE_BACKUP_HOURS")
    backup_days: int = Field(default=7, ge=0, le=366, alias="STOPLINE_BACKUP_DAYS")
    backup_weeks: int = Field(default=8, ge=0, le=520, alias="STOPLINE_BACKUP_WEEKS")
    https: bool = Field(default=False, alias="STOPLINE_HTTPS")
    proxy: str = Field(default="", alias="STOPLINE_PROXY")

    @cached_property
    def url(self) -> str:
        """The database's address: as given, else the SQLite file in the data folder."""
        return self.database_url or sqlite_url(self.data)

    @cached_property
    def extra_hosts(self) -> tuple[str, ...]:
        """Further host names under which the service may be asked."""
        return tuple(host.strip().lower() for host in self.hosts.split(",") if host.strip())
