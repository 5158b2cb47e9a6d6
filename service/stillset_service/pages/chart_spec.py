"""The charts of an athlete's page as one specification: strength per direction, pain and load over one time axis.

The specification is Vega-Lite, written as plain dictionaries and compiled to Vega on the server. It
holds no data: the compiled form has named data sources that are filled per athlete, so that each of
the few combinations of theme and width is compiled once in a process.
"""

import copy
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import vl_convert

from stillset_service.pages.chart_panels import THEMES, Json, Theme, load_panel, pain_panel, strength_panel

__all__ = ["THEMES", "WIDTHS", "ChartData", "compiled", "drawn", "filled", "settings_of"]

VEGA_LITE = "6.4"
WIDTHS = {"wide": 900, "narrow": 340}
"""Widths of the drawn pictures, in pixels of the page."""


@dataclass(frozen=True, slots=True)
class ChartData:
    """What the charts of one series show: rows per data source, and the domains of the scales.

    ``span`` is the first and last moment shown in epoch milliseconds of local wall time, ``force``
    the lowest and highest value of each direction in ``unit``, ``stop`` the pain score at which the
    protocol says stop.
    """

    rows: Mapping[str, Sequence[Mapping[str, object]]]
    span: tuple[float, float]
    force: Mapping[str, tuple[float, float]]
    unit: str
    stop: float


def settings_of(data: ChartData) -> dict[str, object]:
    """Values of the specification's signals for the data of one series."""
    return {
        "span": list(data.span),
        "force_squeeze": list(data.force["squeeze"]),
        "force_spread": list(data.force["spread"]),
        "title_squeeze": f"Squeeze, {data.unit}",
        "title_spread": f"Spread, {data.unit}",
        "stop": data.stop,
    }


def filled(data: ChartData, theme: str, width: str) -> Json:
    """Compiled specification with the data of one series in it; the pages' script does the same in a browser."""
    spec = copy.deepcopy(compiled(theme, width))
    for source in _entries(spec, "data"):
        if source["name"] in data.rows:
            source["values"] = data.rows[str(source["name"])]
    settings = settings_of(data)
    for signal in _entries(spec, "signals"):
        if signal["name"] in settings:
            signal["value"] = settings[str(signal["name"])]
    return spec


def drawn(data: ChartData, theme: str, width: str) -> str:
    """Draw the charts of one series as SVG, on the server."""
    return vl_convert.vega_to_svg(filled(data, theme, width))


@lru_cache(maxsize=8)
def compiled(theme: str, width: str) -> Json:
    """Compile the specification without data for one theme and width; callers must not change it."""
    specification = json.dumps(_specification(THEMES[theme], WIDTHS[width]))
    spec: Json = vl_convert.vegalite_to_vega(specification, vl_version=VEGA_LITE)
    return spec


def _entries(spec: Json, part: str) -> list[Json]:
    found = spec[part]
    if not isinstance(found, list):
        raise TypeError(f"A compiled specification lists its {part}.")
    return found


def _specification(theme: Theme, width: int) -> Json:
    panels = [
        strength_panel(theme, "squeeze", width),
        strength_panel(theme, "spread", width),
        pain_panel(theme, width),
        load_panel(theme, width),
    ]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "background": None,
        "padding": {"left": 2, "right": 6, "top": 2, "bottom": 2},
        "params": [
            {"name": "span", "value": [0, 1]},
            {"name": "force_squeeze", "value": [0, 1]},
            {"name": "force_spread", "value": [0, 1]},
            {"name": "title_squeeze", "value": ""},
            {"name": "title_spread", "value": ""},
            {"name": "stop", "value": 6},
        ],
        "vconcat": panels,
        "spacing": 14,
        "config": _config(theme),
    }


def _config(theme: Theme) -> Json:
    font = "system-ui, 'Liberation Sans', 'DejaVu Sans', Arial, sans-serif"
    return {
        "font": font,
        "view": {"stroke": None},
        "axis": {
            "labelColor": theme.quiet,
            "titleColor": theme.ink,
            "domainColor": theme.quiet,
            "tickColor": theme.quiet,
            "gridColor": theme.rule,
            "labelFontSize": 11,
            "titleFontSize": 12,
            "titleFontWeight": 600,
        },
    }
