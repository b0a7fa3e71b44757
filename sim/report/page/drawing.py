"""Pictures as SVG within a page: text stays text, crowded layers become small images."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from io import StringIO
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from sim.report import style
from sim.report.page.blocks import Sign

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PIXELS_PER_INCH = 96.0  # of CSS
WIDTH = 390.0  # px, of a figure that is not wide: a telephone's screen
_DOTS_PER_INCH = 220  # of crowded layers
_SETTINGS: Any = {
    "svg.fonttype": "none",
    "font.size": 10.0,
    "axes.titlesize": 10.0,
    "axes.labelsize": 10.0,
    "axes.titleweight": "normal",
    "legend.fontsize": 9.0,
    "figure.facecolor": "none",
}
_OUTSIDE = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<!--.*?-->", re.S)
_SPACES = re.compile(r'\s(?:xmlns(?::\w+)?|version)="[^"]*"')
_NAMED = re.compile(r'(\bid="|url\(#|\bhref="#)')


def draw(name: str, height: float, paint: Callable[[Figure], None], width: float = WIDTH) -> str:
    """Draw something and return it as SVG to stand in an HTML page.

    Parameters
    ----------
    name : str
        Put before every name inside, so that no two figures of a page share one.
    height, width : float [px]
    paint : callable
        Given the figure.

    Returns
    -------
    str
        An `svg` element that names nothing outside; no clock time and nothing random inside.
    """
    return _inline(_saved(name, (width, height), paint), name)


def _saved(name: str, size: tuple[float, float], paint: Callable[[Figure], None]) -> str:
    settings = style.SETTINGS | _SETTINGS | {"svg.hashsalt": name}
    written = StringIO()
    with mpl.rc_context(settings):
        inches = (size[0] / PIXELS_PER_INCH, size[1] / PIXELS_PER_INCH)
        figure = Figure(figsize=inches, layout="constrained")
        FigureCanvasSVG(figure)
        paint(figure)
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        figure.savefig(written, format="svg", dpi=_DOTS_PER_INCH, metadata=nothing)
    return written.getvalue()


def _inline(text: str, name: str) -> str:
    """Take off what only a file of its own needs, and make names its own."""
    body = _OUTSIDE.sub("", text).replace("xlink:href", "href")
    head, _, rest = body.partition(">")
    head = _SPACES.sub("", head)
    head = re.sub(r'\s(?:width|height)="[^"]*"', "", head)
    body = _NAMED.sub(lambda found: f"{found[1]}{name}-", f"{head}>{rest}")
    return re.sub(r"\n\s*", "\n", body).strip()


def key_of(axes: Axes) -> list[Sign]:
    """Take the legend off some axes and return it as a key to stand below the figure."""
    legend = axes.get_legend()
    if legend is None:
        return signs(*axes.get_legend_handles_labels())
    handles = list(legend.legend_handles)
    labels = [text.get_text() for text in legend.get_texts()]
    legend.remove()
    return signs(handles, labels)


def signs(handles: Iterable[Any], labels: Iterable[str]) -> list[Sign]:
    """Make a key from what matplotlib would put in a legend."""
    return [_sign(handle, label) for handle, label in zip(handles, labels, strict=True)]


def _sign(handle: Any, label: str) -> Sign:
    from matplotlib.colors import to_hex

    if isinstance(handle, Line2D):
        marker = str(handle.get_marker())
        drawn = str(handle.get_linestyle()) not in ("None", "none", "")
        return Sign(
            label, to_hex(str(handle.get_color())), "" if marker == "None" else marker,
            _dashes(handle) if drawn else (), line=drawn,
        )  # fmt: skip
    colour = handle.get_facecolor()
    first = colour[0] if getattr(colour, "ndim", 1) == 2 else colour
    return Sign(label, to_hex(first), fill=True, opacity=float(first[3]))


def _dashes(line: Line2D) -> tuple[float, ...]:
    pattern = {"-": (), "--": (6.0, 3.0), "-.": (7.0, 2.5, 1.5, 2.5), ":": (1.5, 2.5)}
    asked = str(line.get_linestyle())
    if line.is_dashed() and asked in ("--",):
        own = getattr(line, "_unscaled_dash_pattern", (0, None))[1]
        return tuple(float(x) for x in own) if own else pattern["--"]
    return pattern.get(asked, (6.0, 3.0))
