"""Write the tables of a club, or of some of its athletes, to a folder."""

from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path

import httpx
import orjson
from rich.progress import Progress

from stillset_service.api.athlete_views import LOAD, PAIN, READINGS, SETS
from stillset_service.api.flat import BALANCE_COLUMNS, TREND_COLUMNS, balance_rows, trend_rows
from stillset_service.api.formats import Column, Format, body_of, flags, texts
from stillset_service.commands.console import CommandError
from stillset_service.commands.doors import Door, asked
from stillset_service.views.spelling import Json

__all__ = ["FileFormat", "export"]


class FileFormat(StrEnum):
    """Formats of the files."""

    CSV = "csv"
    JSON = "json"
    PARQUET = "parquet"


_MEDIA = {FileFormat.CSV: Format.CSV, FileFormat.JSON: Format.JSON, FileFormat.PARQUET: Format.PARQUET}
_ATHLETE = texts("athlete")
_TABLES: dict[str, tuple[Column, ...]] = {
    "athletes": (
        *texts("id", "ref", "name", "squad", "role", "dominant_side", "sex", "born"),
        *flags("archived"),
    ),
    "sets": SETS.columns,
    "readings": _ATHLETE + READINGS.columns,
    "load": _ATHLETE + LOAD.columns,
    "pain": _ATHLETE + PAIN.columns,
    "trend": _ATHLETE + TREND_COLUMNS,
    "balance": _ATHLETE + BALANCE_COLUMNS,
}


async def export(door: Door, folder: Path, refs: list[str], file_format: FileFormat, bar: Progress) -> list[Path]:
    """Fetch every table through the API and write one file for each.

    Parameters
    ----------
    door : Door
    folder : Path
        Made if it is not there; files of the same names are replaced.
    refs : list of str
        Athletes; empty means all of the club.
    file_format : FileFormat
    bar : Progress

    Returns
    -------
    list of Path
        The files written.
    """
    tables: dict[str, list[Json]] = {name: [] for name in _TABLES}
    async with door.open() as client:
        tables["athletes"] = await _athletes(client, refs)
        task = bar.add_task("Exporting", total=len(tables["athletes"]))
        for athlete in tables["athletes"]:
            await _add_athlete(client, str(athlete["ref"]), tables)
            bar.advance(task)
    return list(_written(folder, tables, file_format))


async def _athletes(client: httpx.AsyncClient, refs: list[str]) -> list[Json]:
    if not refs:
        return await _items(client, "/v1/athletes")
    return [await _object(client, f"/v1/athletes/{ref}") for ref in refs]


async def _add_athlete(client: httpx.AsyncClient, ref: str, tables: dict[str, list[Json]]) -> None:
    path = f"/v1/athletes/{ref}"
    tables["sets"] += await _items(client, f"{path}/sets")
    for name in ("readings", "load", "pain"):
        tables[name] += [{"athlete": ref, **row} for row in await _items(client, f"{path}/{name}")]
    tables["trend"] += [{"athlete": ref, **row} for row in trend_rows(await _object(client, f"{path}/trend"))]
    tables["balance"] += [{"athlete": ref, **row} for row in balance_rows(await _object(client, f"{path}/balance"))]


async def _items(client: httpx.AsyncClient, path: str) -> list[Json]:
    items: list[Json] = []
    address: str | None = f"{path}?limit=1000"
    while address is not None:
        answer = await asked(client, client.build_request("GET", address))
        items += answer.json()["items"]
        address = answer.links.get("next", {}).get("url")
    return items


async def _object(client: httpx.AsyncClient, path: str) -> Json:
    found: Json = (await asked(client, client.build_request("GET", path))).json()
    return found


def _written(folder: Path, tables: dict[str, list[Json]], file_format: FileFormat) -> Iterator[Path]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, rows in tables.items():
            path = folder / f"{name}.{file_format}"
            whole = file_format is FileFormat.JSON
            path.write_bytes(orjson.dumps(rows) if whole else body_of(rows, _TABLES[name], _MEDIA[file_format]))
            yield path
    except OSError as error:
        raise CommandError(f"{folder}: cannot be written: {error.strerror}") from error
