"""What can be asked of the program at a terminal. Every refusal is one plain sentence."""

import gc
import getpass
import os
import secrets
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from typer.exceptions import TyperException

from service.errors import Conflict, Refusal
from service.records.folder import DATABASE_NAME, is_owned, keep_private, owned
from service.settings import Settings, read_settings

if TYPE_CHECKING:
    from service.records.db import Database
    from service.records.photo_store import PhotoStore

app = typer.Typer(add_completion=False, no_args_is_help=True, help="Stopline, the commission book of a sewing studio.")
Data = Annotated[Path | None, typer.Option("--data", help="The data folder.")]
Host = Annotated[str, typer.Option(help="Where to listen.")]
Port = Annotated[int, typer.Option(min=1, max=65535)]


def settings_for(data: Path | None) -> Settings:
    """Settings from the environment, with the data folder from the command line if given there."""
    settings = read_settings()
    return replace(settings, data=data) if data else settings


def store_of(settings: Settings) -> "PhotoStore":
    """Where the studio's pictures lie."""
    from service.records.photo_store import open_store

    return open_store(settings.photos, settings.data)


@contextmanager
def owning(settings: Settings) -> Iterator[None]:
    """Own the data folder, unless the studio lives in PostgreSQL."""
    if settings.database_url:
        yield
    else:
        with owned(settings.data):
            yield


@contextmanager
def beside(settings: Settings) -> Iterator["Database"]:
    """The database for a short visit, whether or not a service is running on it."""
    from service.records.db import open_database

    if not settings.database_url and not (settings.data / DATABASE_NAME).exists():
        raise Conflict(f"There is no studio in {settings.data}. Start the service once, or name it with --data.")
    database = open_database(settings.url, guest=not settings.database_url and is_owned(settings.data))
    try:
        yield database
    finally:
        database.close()


@app.command()
def serve(data: Data = None, host: Host = "127.0.0.1", port: Port = 8000) -> None:
    """Serve the studio in the data folder."""
    gc.disable()  # nothing is to be thrown away while all is loaded; the service looks after itself once it is
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
    from service.loading import ready_database
    from service.serving import run
    from service.studio.demo import DEMO_EMAILS, fill_or_refresh

    settings = settings_for(data)
    with owning(settings):
        database = ready_database(settings)
        password = settings.demo_password or secrets.token_urlsafe(9)
        fill_or_refresh(database, password, garments, datetime.now(UTC), store_of(settings))
        print(f"Sign in as {', '.join(DEMO_EMAILS.values())}.  Password: {password}", flush=True)
        if serve_it:
            at_once = replace(settings, backup_hours=0) if garments else settings
            run(database, at_once, host, port)
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


@app.command("way-in")
def way_in(
    email: str,
    without_second_step: Annotated[bool, typer.Option("--without-second-step", help="Her phone is lost too.")] = False,
    data: Data = None,
) -> None:
    """Print a link path with which this account chooses a new password, for an owner who is locked out."""
    from service.studio.second_step import turn_off
    from service.studio.sign_in import account_called
    from service.studio.ways_in import make_way_in

    at = datetime.now(UTC)
    with beside(settings_for(data)) as database, database.writing() as db:
        account_id = account_called(db, email)
        secret = make_way_in(db, account_id, None, "reset", at)
        if without_second_step:
            turn_off(db, account_id, None, at)
    print(f"Open /come-in/{secret} at the service's address within three hours. It opens once.")


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
    from service.records.durable import forgetful, told
    from service.studio.photos import lost_pictures
    from service.studio.proofs import prove

    settings = settings_for(data)
    with beside(settings) as database, database.reading() as db:
        report = prove(db)
        faults = [*report.faults, *lost_pictures(db, store_of(settings))]
        faults += [told(setting) for setting in forgetful(database)]
    for line in faults:
        print(line)
    print(f"{report.proved + 2} statements checked, {len(faults)} do not hold.")
    if faults:
        raise typer.Exit(1)


@app.command()
def backup(file: Path, data: Data = None) -> None:
    """Write the whole studio, records and photos, into one new file; the service may go on meanwhile."""
    from service.studio.backup import back_up

    settings = settings_for(data)
    with beside(settings) as database:
        made = back_up(database, store_of(settings), file, datetime.now(UTC))
    print(
        f"{file} holds {made.rows} records and {made.photos} photo files in {made.bytes} bytes, read back and proved."
    )


@app.command()
def restore(file: Path, data: Data = None) -> None:
    """Put a backup back into an empty data folder, or into the empty database of DATABASE_URL."""
    from service.studio.after_restoring import settling
    from service.studio.restoring import restore as put_back

    settings = settings_for(data)
    with owning(settings):
        store = store_of(settings)
        settle = settling(settings.data, store, datetime.now(UTC))
        done = put_back(file, settings.url, settings.data, store, settle)
    for line in done.settled.lines():
        print(line)
    print(f"{done.rows} records and {done.photos} photo files are back, as they were at {done.made_at}.")


@app.command()
def copy(from_url: str, to_url: str, data: Data = None) -> None:
    """Copy a studio from one database into another, empty one, with its photos."""
    from service.records.photo_store import open_store
    from service.studio.copying import copy as copy_studio
    from service.studio.copying import folder_of

    settings = settings_for(data)
    stores = [open_store(settings.photos, folder_of(url) or settings.data) for url in (from_url, to_url)]
    done = copy_studio(from_url, to_url, stores[0], stores[1])
    print(f"{done.rows} records and {done.photos} photo files were copied and are equal on both sides.")


@app.command()
def export(file: Path, data: Data = None) -> None:
    """Write the whole studio as CSV and JSON, with its photos, into one new ZIP; nothing in it lets anybody in."""
    from service.studio.export import write_export

    settings = settings_for(data)
    with beside(settings) as database:
        made = write_export(database, store_of(settings), file, datetime.now(UTC))
    print(f"{file} holds {made.rows} records and {made.photos} photo files in {made.bytes} bytes.")


@app.command("import")
def bring_in(file: Path, data: Data = None) -> None:
    """Bring an exported studio into an empty one; the owner's new password is asked for, or is STOPLINE_PASSWORD."""
    from service.studio.bringing_in import bring_in as bring

    settings = settings_for(data)
    password = os.environ.get("STOPLINE_PASSWORD") or getpass.getpass("New password of the owner: ")
    with owning(settings):
        done = bring(file, settings.url, store_of(settings), password)
    print(f"{done.rows} records and {done.photos} photo files were brought in.")
    for email, made in done.passwords.items():
        print(f"{email} signs in with {made} until it is changed.")


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
