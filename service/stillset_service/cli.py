"""The command ``stillset``: names, options and help; the work is in ``commands``."""

import sys
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import anyio
import typer
from pydantic.warnings import UnsupportedFieldAttributeWarning
from sqlalchemy.exc import SQLAlchemyError

from stillset_core.errors import StillsetError
from stillset_service.auth.keys import DEFAULT_CLUB
from stillset_service.auth.scopes import Scope
from stillset_service.commands import demo as demo_command
from stillset_service.commands import exporting, keeping, posting, set_files
from stillset_service.commands.console import CommandError, ExitCode, answers, notes, progress
from stillset_service.commands.doors import Door
from stillset_service.settings import Settings

__all__ = ["main"]

DEFAULTS = Settings()
DEFAULT_URL = f"http://{DEFAULTS.host}:{DEFAULTS.port}"
EPILOG = """Exit codes: 0 done; 1 done, but some sets were refused; 2 wrong usage or an unreadable file;
3 the service or the store cannot be reached, or refused the key."""


def _examples(*lines: str) -> str:
    """Put examples under the help of a command, each on its own line."""
    return "\b\n" + "\n".join(("Example:", *(f"  {line}" for line in lines)))


app = typer.Typer(
    name="stillset",
    help="Hip squeeze and spread strength from the isometric sets a squad already does.",
    epilog=EPILOG,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
key_app = typer.Typer(help="Make, list and revoke API keys.", rich_markup_mode=None)
app.add_typer(key_app, name="key")
GROUPS = ((), ("key",))
"""What has commands and does nothing by itself: alone, it shows its help."""

DatabaseUrl = Annotated[
    str,
    typer.Option("--database", envvar="STILLSET_DATABASE_URL", help="sqlite:///FILE or postgresql://…", metavar="URL"),
]
InsteadOfUrl = Annotated[
    str | None, typer.Option("--database", help="Work on this database instead of a running service.", metavar="URL")
]
Url = Annotated[str, typer.Option("--url", envvar="STILLSET_URL", help="Address of a running service.", metavar="URL")]
Key = Annotated[str | None, typer.Option("--key", envvar="STILLSET_KEY", help="Key of that service.", metavar="KEY")]
Club = Annotated[str, typer.Option("--club", help="Slug of the club in the database.", metavar="SLUG")]
SetFile = Annotated[
    Path, typer.Argument(help="JSON array or NDJSON, plain or gzip; - is standard input.", metavar="FILE")
]


@app.command(epilog=_examples("stillset demo --port 8123 --no-browser"))
def demo(
    *,
    port: Annotated[int, typer.Option(help="Port to listen on; 0 takes a free one.", min=0, max=65535)] = DEFAULTS.port,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the board in a browser.")] = True,
) -> None:
    """Start the service with the invented season of the handball club Marram Bay, and open the board.

    What is posted to it is gone when it stops.
    """
    demo_command.run_demo(Settings(port=port), browser=browser)


@app.command(epilog=_examples("stillset serve --database sqlite:///club.db --port 8000"))
def serve(
    database: DatabaseUrl = DEFAULTS.database_url,
    host: Annotated[str, typer.Option(envvar="STILLSET_HOST", help="Address to listen on.")] = DEFAULTS.host,
    port: Annotated[
        int, typer.Option(envvar="STILLSET_PORT", help="0 takes a free one.", min=0, max=65535)
    ] = DEFAULTS.port,
) -> None:
    """Run the service. On a store without any key, one key for everything is made and printed."""
    keeping.serve(Settings(database_url=database, host=host, port=port))


@app.command(
    epilog=_examples(
        "stillset load season.ndjson --key ss_…", "stillset load season.json.gz --database sqlite:///club.db"
    )
)
def load(
    file: SetFile, url: Url = DEFAULT_URL, key: Key = None, database: InsteadOfUrl = None, club: Club = DEFAULT_CLUB
) -> None:
    """Post every set of a file. Safe to repeat: a set that is there already is seen, not doubled."""
    _take_file(file, Door(url, key, database, club), dry_run=False)


@app.command(epilog=_examples("stillset check today.ndjson --key ss_…"))
def check(
    file: SetFile, url: Url = DEFAULT_URL, key: Key = None, database: InsteadOfUrl = None, club: Club = DEFAULT_CLUB
) -> None:
    """Judge every set of a file without storing it: standing and reasons, set by set."""
    _take_file(file, Door(url, key, database, club), dry_run=True)


@app.command(epilog=_examples("stillset rebuild --database sqlite:///club.db"))
def rebuild(database: DatabaseUrl = DEFAULTS.database_url) -> None:
    """Compute everything derived again from the sets on record."""
    keeping.rebuild(Settings(database_url=database))


@app.command(epilog=_examples("stillset export tables --format parquet --athlete MB-07 --key ss_…"))
def export(  # noqa: PLR0913, PLR0917 (each is an option of the command)
    folder: Annotated[Path, typer.Argument(help="Made if it is not there.", metavar="FOLDER")],
    athlete: Annotated[
        list[str] | None, typer.Option(help="Only this athlete; may be repeated.", metavar="REF")
    ] = None,
    file_format: Annotated[exporting.FileFormat, typer.Option("--format")] = exporting.FileFormat.CSV,
    url: Url = DEFAULT_URL,
    key: Key = None,
    database: InsteadOfUrl = None,
    club: Club = DEFAULT_CLUB,
) -> None:
    """Write athletes, sets, readings, load, pain, trend and balance of a club to files."""
    door = Door(url, key, database, club)
    with progress() as bar:
        written = anyio.run(exporting.export, door, folder, athlete or [], file_format, bar)
    for path in written:
        answers().print(str(path))


@key_app.command(
    "create", epilog=_examples("stillset key create --database sqlite:///club.db --name gym-app --scope sets:write")
)
def key_create(
    name: Annotated[str, typer.Option(help="What the key is for.")] = "key",
    scope: Annotated[
        list[Scope] | None,
        typer.Option(metavar="SCOPE", help="sets:write, read or manage; may be repeated; without it, all three."),
    ] = None,
    database: DatabaseUrl = DEFAULTS.database_url,
    club: Club = DEFAULT_CLUB,
    club_name: Annotated[str | None, typer.Option(help="Name of the club on its pages.", metavar="NAME")] = None,
) -> None:
    """Make a key and print it, and nothing else. It is never shown again. Makes the club if it is not there."""
    key = keeping.new_key(Settings(database_url=database), club, name, scope or list(Scope), club_name)
    answers().print(key, soft_wrap=True)


@key_app.command("list", epilog=_examples("stillset key list --database sqlite:///club.db"))
def key_list(database: DatabaseUrl = DEFAULTS.database_url, club: Club = DEFAULT_CLUB) -> None:
    """List the keys of a club; the keys themselves are not kept."""
    answers().print(keeping.key_table(Settings(database_url=database), club))


@key_app.command(
    "revoke", epilog=_examples("stillset key revoke 01a21240-3190-708d-bf65-b7d832bf20ca --database sqlite:///club.db")
)
def key_revoke(
    key_id: Annotated[str, typer.Argument(help="Id from the list, or the key itself.", metavar="ID")],
    database: DatabaseUrl = DEFAULTS.database_url,
    club: Club = DEFAULT_CLUB,
) -> None:
    """Revoke a key at once."""
    keeping.revoke_key(Settings(database_url=database), club, key_id)


def main() -> None:
    """Run the command line; every failure is one line on stderr and an exit code."""
    # FastAPI silences this while it reads its routes, but per process: a thread that compiles meanwhile can undo that.
    warnings.filterwarnings("ignore", category=UnsupportedFieldAttributeWarning)
    sys.exit(_run(sys.argv[1:]))


def _run(arguments: Sequence[str]) -> int:
    asked = [*arguments, "--help"] if tuple(arguments) in GROUPS else list(arguments)
    try:
        return int(app(asked, prog_name="stillset", standalone_mode=False) or 0)
    except CommandError as error:
        return _failed(str(error), error.code)
    except typer.TyperException as error:
        return _failed(error.format_message(), ExitCode.USAGE)
    except (typer.Abort, KeyboardInterrupt):
        return _failed("Stopped.", ExitCode.SOME_REFUSED)
    except (SQLAlchemyError, OSError) as error:
        return _failed(f"The store cannot be reached: {_cause(error)}", ExitCode.UNREACHABLE)
    except StillsetError as error:
        return _failed(str(error), ExitCode.USAGE)


def _failed(sentence: str, code: ExitCode) -> int:
    notes().print(f"stillset: {' '.join(sentence.split())}", soft_wrap=True)
    return int(code)


def _cause(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error).splitlines()[0]


def _take_file(file: Path, door: Door, *, dry_run: bool) -> None:
    items = set_files.read_items(file, sys.stdin.buffer)
    with progress() as bar:
        posted = anyio.run(lambda: posting.post(door, items, bar, dry_run=dry_run))
    if dry_run:
        answers().print(posting.checked_table(posted))
    elif posted.refused:
        answers().print(posting.refused_table(posted))
    answers().print(posted.summary)
    if posted.refused:
        raise typer.Exit(int(ExitCode.SOME_REFUSED))
