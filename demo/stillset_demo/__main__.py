"""Write the demo season to a folder: ``python -m stillset_demo FOLDER [--seed N] [--end YYYY-MM-DD]``."""

import argparse
from datetime import UTC, date, datetime
from pathlib import Path

from stillset_demo.season import make_season, write_season


def main() -> None:
    """Read the arguments and write the season; without ``--end`` it ends today (UTC)."""
    parser = argparse.ArgumentParser(prog="stillset_demo", description="Write the invented season with its truth.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--end", type=date.fromisoformat, default=datetime.now(UTC).date())
    asked = parser.parse_args()
    write_season(make_season(asked.seed, end=asked.end), asked.folder)


if __name__ == "__main__":
    main()
