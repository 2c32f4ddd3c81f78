"""What can be asked of the program at a terminal. Every refusal is one plain sentence."""

import getpass
import os
import secrets
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer
from typer.exceptions import TyperException

from service.errors import Conflict, Refusal
from service.records.db import Database, open_database, sqlite_url
from service.records.folder import is_owned, keep_private, owned
from service.settings import Settings

app = typer.Typer(add_completion=False, no_args_is_help=True, help="Stopline, the commission book of a sewing studio.")
Data = Annotated[Path | None, typer.Option("--data", help="The data folder.")]
Host = Annotated[str, typer.Option(help="Where to listen.")]
Port = Annotated[int, typer.Option(min=1, max=65535)]


def settings_for(data: Path | None) -> Settings:
    """Settings from the environment, with the data folder from the command line if given there."""
    settings = Settings()
    return settings.model_copy(update={"data": data}) if data else settings


@contextmanager
def owning(settings: Settings) -> Iterator[None]:
    """Own the data folder, unless the studio lives in PostgreSQL."""
    if settings.database_url:
        yield
    else:
        with owned(settings.data):
            yield


@contextmanager
def beside(settings: Settings) -> Iterator[Database]:
    """The database for a short visit, whether or not a service is running on it."""
    if not settings.database_url and not Path(sqlite_url(settings.data).removeprefix("sqlite:///")).exists():
        raise Conflict(f"There is no studio in {settings.data}. Start the service once, or name it with --data.")
    database = open_database(settings.url, guest=not settings.database_url and is_owned(settings.data))
    try:
        yield database
    finally:
        database.close()


@app.command()
def serve(data: Data = None, host: Host = "127.0.0.1", port: Port = 8000) -> None:
    """Serve the studio in the data folder."""
    from service.serving import serve as serve_studio

    serve_studio(settings_for(data), host, port)


@app.command()
def demo(
    data: Data = None,
    host: Host = "127.0.0.1",
    port: Port = 8000,
    serve_it: Annotated[bool, typer.Option("--serve/--no-serve", help="Serve it after filling.")] = True,
    garments: Annotated[int, typer.Option(min=0, max=100_000, help="Make a studio of that size, for measuring.")] = 0,
) -> None:
    """Fill an empty data folder with the demo studio, then serve it."""
    from service.serving import ready_database, run
    from service.studio.demo import DEMO_EMAILS, fill_or_refresh

    settings = settings_for(data)
    with owning(settings):
        database = ready_database(settings)
        password = settings.demo_password or secrets.token_urlsafe(9)
        fill_or_refresh(database, password, garments, datetime.now(UTC))
        print(f"Sign in as {', '.join(DEMO_EMAILS.values())}.  Password: {password}", flush=True)
        if serve_it:
            run(database, settings, host, port)
        database.close()


@app.command("migrate")
def migrate_tables(data: Data = None) -> None:
    """Bring the tables up to date."""
    from service.records.db import migrate

    settings = settings_for(data)
    with owning(settings):
        migrate(settings.url)
    print("The tables are up to date.")


@app.command()
def token(email: str, data: Data = None) -> None:
    """Print a bearer token for a script that acts as this account."""
    from service.studio.sign_in import make_token

    with beside(settings_for(data)) as database, database.writing() as db:
        made = make_token(db, email, datetime.now(UTC))
    print(made)


@app.command("add-account")
def add_account(
    email: str,
    name: Annotated[str, typer.Option(help="The name shown on pages.")] = "",
    role: Annotated[str, typer.Option(help="owner or stitcher")] = "stitcher",
    data: Data = None,
) -> None:
    """Let somebody sign in; the password is asked for, or taken from STOPLINE_PASSWORD."""
    from service.studio.people import add_account_for

    password = os.environ.get("STOPLINE_PASSWORD") or getpass.getpass("Password: ")
    with beside(settings_for(data)) as database, database.writing() as db:
        add_account_for(db, email, name or email.partition("@")[0], role, password, datetime.now(UTC))
    print(f"{email} may sign in as {role}.")


@app.command()
def check(data: Data = None) -> None:
    """Prove on the data what must always hold, and print what does not."""
    from service.studio.proofs import prove

    with beside(settings_for(data)) as database, database.reading() as db:
        report = prove(db)
    for line in report.faults:
        print(line)
    print(f"{report.proved} statements checked, {len(report.faults)} do not hold.")
    if report.faults:
        raise typer.Exit(1)


def main(arguments: list[str]) -> int:
    """Run one command; a refusal is printed as one sentence."""
    keep_private()
    return _plainly(lambda: app(arguments, standalone_mode=False))


def _plainly(command: Callable[[], object]) -> int:
    try:
        result = command()
    except Refusal as refused:
        print(refused.sentence, file=sys.stderr)
        return 1
    except TyperException as misused:
        print(f"{misused.format_message()} Ask for help with --help.", file=sys.stderr)
        return 2
    except typer.Exit as left:
        return left.exit_code
    except (KeyboardInterrupt, typer.Abort):
        return 130
    return result if isinstance(result, int) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
