"""The four panels of the charts, in Vega-Lite: squeeze, spread, pain and load over one time axis.

Left is blue, solid and filled; right is ochre and dashed. Standings are three shapes: a dot counts,
an open triangle bounds from below, a cross was set aside.
"""

from dataclasses import dataclass

__all__ = ["THEMES", "Json", "Theme", "load_panel", "pain_panel", "strength_panel"]

Json = dict[str, object]
"""A part of a specification; its shape is Vega-Lite's, not ours."""

DATE_LABEL = f"utcFormat(datum.value, span[1] - span[0] < {150 * 86_400_000} ? '%-d %b' : '%b %Y')"
"""Days where less than some five months are shown, else months."""
CROSS = "M-0.7,-0.7L0.7,0.7M-0.7,0.7L0.7,-0.7"


@dataclass(frozen=True, slots=True)
class Theme:
    """Inks of one theme, the same as in the style sheet."""

    paper: str
    ink: str
    quiet: str
    rule: str
    shade: str
    left: str
    right: str
    pain: str


THEMES = {
    "light": Theme("#fcfbf7", "#1c2430", "#56606b", "#e3ddcf", "#ece6d8", "#1b5e9b", "#a9540a", "#86255a"),
    "dark": Theme("#15191d", "#e8e4da", "#a5adb4", "#2c333a", "#262c33", "#77b6ee", "#f0a75f", "#ec92bf"),
}


def _x(*, labels: bool) -> Json:
    axis: Json = {
        "title": None,
        "labelExpr": DATE_LABEL,
        "labelOverlap": "greedy",
        "tickCount": 8,
        "domain": labels,
        "ticks": labels,
        "labels": labels,
    }
    return {
        "field": "at",
        "type": "temporal",
        "scale": {"type": "utc", "domain": {"expr": "span"}, "nice": False},
        "axis": axis,
    }


def _y(title: object, field: str, domain: object, *, ticks: int) -> Json:
    axis = {
        "title": title,
        "titleAngle": 0,
        "titleAnchor": "start",
        "titleAlign": "left",
        "titleX": 0,
        "titleY": -8,
        "titleBaseline": "bottom",
        "tickCount": ticks,
        "domain": False,
        "minExtent": 34,
        "maxExtent": 34,
    }
    return {
        "field": field,
        "type": "quantitative",
        "scale": {"domain": domain, "zero": False, "nice": False, "clamp": True},
        "axis": axis,
    }


def _side(theme: Theme) -> Json:
    return {
        "field": "side",
        "type": "nominal",
        "scale": {"domain": ["left", "right"], "range": [theme.left, theme.right]},
        "legend": None,
    }


def _periods(theme: Theme, *, named: bool) -> list[Json]:
    """Spans away from normal training shade the panel; the other kinds lie as a thin bar along its upper edge."""
    x: Json = {"field": "from", "type": "temporal", "scale": {"type": "utc", "domain": {"expr": "span"}, "nice": False}}
    rect: Json = {"type": "rect", "clip": True}
    ends: Json = {"x": x, "x2": {"field": "to"}, "tooltip": {"field": "say"}}
    shade: Json = {
        "data": {"name": "shades"},
        "mark": {**rect, "color": theme.shade, "stroke": theme.paper},
        "encoding": ends,
    }
    if not named:
        return [shade]
    bar: Json = {
        "data": {"name": "bars"},
        "mark": {**rect, "color": theme.rule},
        "encoding": {**ends, "y": {"value": 0}, "y2": {"value": 4}},
    }
    return [shade, bar, _period_names(theme, "bars", x, 6), _period_names(theme, "shades", x, 20)]


def _period_names(theme: Theme, source: str, x: Json, dy: int) -> Json:
    text = {"type": "text", "align": "left", "baseline": "top", "dx": 3, "dy": dy, "fontSize": 11, "clip": True}
    return {
        "data": {"name": source},
        "transform": [{"filter": "(datum.to - datum.from) / (span[1] - span[0]) * width > 7 * length(datum.kind)"}],
        "mark": {**text, "color": theme.quiet},
        "encoding": {"x": x, "y": {"value": 0}, "text": {"field": "kind"}},
    }


def strength_panel(theme: Theme, direction: str, width: int) -> Json:
    """Give one direction over time: periods, bands, baselines, levels, marks and calls."""
    y = _y({"expr": f"title_{direction}"}, "level", {"expr": f"force_{direction}"}, ticks=5)
    x = _x(labels=direction == "spread")
    dash = {
        "field": "side",
        "type": "nominal",
        "scale": {"domain": ["left", "right"], "range": [[1, 0], [6, 3]]},
        "legend": None,
    }
    band: Json = {
        "data": {"name": f"{direction}_levels"},
        "mark": {"type": "area", "opacity": 0.16, "clip": True},
        "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}, "color": _side(theme)},
    }
    line: Json = {
        "data": {"name": f"{direction}_levels"},
        "mark": {"type": "line", "strokeWidth": 2, "clip": True},
        "encoding": {"x": x, "y": y, "color": _side(theme), "strokeDash": dash},
    }
    baseline: Json = {
        "data": {"name": f"{direction}_baseline"},
        "mark": {"type": "rule", "strokeWidth": 1, "strokeDash": [2, 3], "clip": True},
        "encoding": {"y": y, "color": _side(theme), "tooltip": {"field": "say"}},
    }
    call: Json = {
        "data": {"name": f"{direction}_calls"},
        "mark": {
            "type": "point",
            "shape": "triangle-down",
            "filled": True,
            "color": theme.pain,
            "size": 60,
            "opacity": 1,
        },
        "encoding": {"x": x, "y": {"value": -8}, "tooltip": {"field": "say"}, "description": {"field": "say"}},
    }
    layers = [
        *_periods(theme, named=direction == "squeeze"),
        band,
        baseline,
        line,
        *_marks(theme, direction, x, y),
        call,
    ]
    return {"width": width - 52, "height": 190, "layer": layers}


def _marks(theme: Theme, direction: str, x: Json, y: Json) -> list[Json]:
    """Three layers, one for each standing, drawn so that what counts lies on top."""
    styles: dict[str, Json] = {
        "set_aside": {"shape": CROSS, "filled": False, "size": 26, "strokeWidth": 1.2, "opacity": 0.65},
        "at_least": {"shape": "triangle-up", "filled": False, "size": 34, "strokeWidth": 1.2, "opacity": 0.85},
        "counts": {"shape": "circle", "filled": True, "size": 30, "opacity": 0.9},
    }
    return [
        {
            "name": f"{direction}_{standing}",
            "data": {"name": f"{direction}_{standing}"},
            "mark": {"type": "point", "cursor": "pointer", **style},
            "encoding": {
                "x": x,
                "y": {**y, "field": "value"},
                "color": _side(theme),
                "tooltip": {"field": "say"},
                "description": {"field": "say"},
            },
        }
        for standing, style in styles.items()
    ]


def pain_panel(theme: Theme, width: int) -> Json:
    """Give stated pain over time, with the score at which the protocol says stop."""
    x = _x(labels=False)
    y = _y("Pain, of 10", "score", [0, 10], ticks=2)
    stop: Json = {
        "data": {"values": [{}]},
        "mark": {"type": "rule", "strokeDash": [2, 3], "color": theme.quiet, "aria": False},
        "encoding": {"y": {"datum": {"expr": "stop"}, "type": "quantitative"}},
    }
    stem: Json = {
        "data": {"name": "pain"},
        "mark": {"type": "rule", "color": theme.pain, "strokeWidth": 1.5, "clip": True, "aria": False},
        "encoding": {"x": x, "y": y, "y2": {"datum": 0}},
    }
    head: Json = {
        "data": {"name": "pain"},
        "mark": {"type": "point", "color": theme.pain, "size": 26, "opacity": 1, "strokeWidth": 1.2, "clip": False},
        "encoding": {
            "x": x,
            "y": y,
            "shape": {"condition": {"test": "datum.scored", "value": "square"}, "value": "diamond"},
            "fill": {"condition": {"test": "datum.scored", "value": theme.pain}, "value": theme.paper},
            "tooltip": {"field": "say"},
            "description": {"field": "say"},
        },
    }
    return {"width": width - 52, "height": 56, "layer": [*_periods(theme, named=False), stop, stem, head]}


def load_panel(theme: Theme, width: int) -> Json:
    """Give seconds held by week, the hard ones dark."""
    x = _x(labels=True)
    hold: Json = {
        "data": {"name": "load"},
        "mark": {"type": "rect", "color": theme.quiet, "opacity": 0.35, "clip": True},
        "encoding": {
            "x": x,
            "x2": {"field": "until"},
            "y": _y("Held per week, s", "hold_s", None, ticks=2) | {"scale": {"zero": True}},
            "y2": {"datum": 0},
            "tooltip": {"field": "say"},
        },
    }
    hard: Json = {
        "data": {"name": "load"},
        "mark": {"type": "rect", "color": theme.ink, "opacity": 0.75, "clip": True},
        "encoding": {
            "x": x,
            "x2": {"field": "until"},
            "y": {"field": "hard_s", "type": "quantitative"},
            "y2": {"datum": 0},
            "tooltip": {"field": "say"},
        },
    }
    return {"width": width - 52, "height": 56, "layer": [*_periods(theme, named=False), hold, hard]}
