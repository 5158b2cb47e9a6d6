"""Measure the service and the core as ratios to their ceilings: ``python tests/benchmarks/speed.py``.

    --quick       small counts: shows that everything runs; its figures mean nothing
    --only NAME   one of singles, batches, judging, trend, rebuild, board; may be repeated
    --json FILE   write the table as JSON too

What a machine can do differs from one to the next, so nothing here is an absolute time: each line is held
against a ceiling that is measured in the same run, round by round in turn, and the ratio is the median over the
rounds. Load client, server and ceiling share the machine's cores; what the client costs, it costs the bare
handler as much as the service. Servers are processes of their own on 127.0.0.1, run by uvicorn as in production;
the databases are SQLite files in a temporary folder (TMPDIR), each commit durable. Seeds are fixed, counts are
bounded, and everything stops by itself.
"""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path

from speed_core import judging, trend
from speed_posts import batches, singles
from speed_ratios import Ratio
from speed_reading import board, rebuild

BENCHMARKS: dict[str, Callable[..., list[Ratio]]] = {
    "singles": singles,
    "batches": batches,
    "judging": judging,
    "trend": trend,
    "rebuild": rebuild,
    "board": board,
}


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what was asked for and print the table, line by line as it comes."""
    parser = argparse.ArgumentParser(description="Measure speed as ratios to ceilings of the same run.")
    parser.add_argument("--quick", action="store_true", help="small counts, only to show that everything runs")
    parser.add_argument("--only", action="append", choices=BENCHMARKS, help="run this one; may be repeated")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the table as JSON too")
    asked = parser.parse_args(arguments)
    sys.stdout.write(f"{'measured':44s} {'':>16s}   {'ceiling':54s} {'':>16s}   {'ratio':>7s}  goal\n")
    ratios: list[Ratio] = []
    for name in asked.only or BENCHMARKS:
        for ratio in BENCHMARKS[name](quick=asked.quick):
            ratios.append(ratio)
            sys.stdout.write(_line(ratio))
            sys.stdout.flush()
    if asked.json is not None:
        table = [asdict(ratio) | {"reached": ratio.reached} for ratio in ratios]
        asked.json.write_text(json.dumps(table, indent=1) + "\n")


def _line(ratio: Ratio) -> str:
    value, limit = (
        f"{figure:,.4g} {ratio.unit}" if figure < 1e4 else f"{figure:,.0f} {ratio.unit}"
        for figure in (ratio.value, ratio.ceiling_value)
    )
    goal = "" if ratio.goal is None else f"{'≥' if ratio.at_least else '≤'} {ratio.goal:g}"
    missed = "  missed" if ratio.reached is False else ""
    return (
        f"{ratio.measured:44s} {value:>16s}   {ratio.ceiling:54s} {limit:>16s}   {ratio.ratio:7.2f}  {goal}{missed}\n"
    )


if __name__ == "__main__":
    main()
