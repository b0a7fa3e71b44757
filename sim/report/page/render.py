"""A page as one HTML file that needs nothing else."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup, escape

from sim.errors import RunFailure
from sim.report.page.blocks import Bars, Figure, Living, Page, Sign

_HERE = "sim.report.page"
_SWATCH = (36.0, 16.0)  # px


def html(page: Page) -> str:
    """Write a page as HTML.

    Parameters
    ----------
    page : Page

    Returns
    -------
    str
        With style and script inside. It names no address, and forbids the browser to ask for any.
    """
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_read), autoescape=True, trim_blocks=True, lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )  # fmt: skip
    environment.filters["firm"] = firm
    environment.filters["labelled"] = labelled
    environment.filters["swatch"] = swatch
    environment.filters["bars"] = bars
    environment.filters["asis"] = Markup
    environment.tests["bars"] = lambda cell: isinstance(cell, Bars)
    css, js = _read("page.css"), _read("page.js")
    if any(isinstance(block, Living) for part in page.sections for block in part.blocks):
        css, js = css + _read("living.css"), js + _read("living.js")
    return environment.get_template("page.html").render(page=page, css=Markup(css), js=Markup(js))


def write(path: Path, text: str) -> None:
    """Write a page, whole or not at all.

    Raises
    ------
    RunFailure
        The file cannot be written.
    """
    unfinished = path.with_name(f".{path.name}.tmp")
    try:
        unfinished.write_text(text, encoding="utf-8")
        unfinished.replace(path)
    except OSError as problem:
        unfinished.unlink(missing_ok=True)
        raise RunFailure(
            f"the report {path} could not be written: {problem.strerror or problem}. The ensemble "
            "is unharmed; make room or give another place with -o"
        ) from problem


def _read(name: str) -> str:
    return files(_HERE).joinpath(name).read_text(encoding="utf-8")


def firm(text: str) -> str:
    """Keep a number and its percent sign, or the two ends of a range, on one line."""
    return re.sub(r"(?<=\d) (?=%)|(?<=[\d%]) (?=to [-+\d])|(?<=\dto) (?=\d)|(?<= to) (?=[-+\d])",
                  "\u00a0", text)  # fmt: skip


def labelled(figure: Figure) -> Markup:
    """Give the drawing of a figure its words for those who cannot see it."""
    head = f'<svg role="img" aria-label="{escape(figure.alt)}"'
    return Markup(figure.svg.replace("<svg", head, 1))


def swatch(sign: Sign) -> Markup:
    """Draw how one entry of a key looks in its figure."""
    wide, high = _SWATCH
    middle, parts = high / 2.0, []
    colour = _colour(sign.colour)
    if sign.fill:
        parts.append(f'<rect x="1" y="2" width="{wide - 2:g}" height="{high - 4:g}" '
                     f'fill="{colour}" fill-opacity="{sign.opacity:.2f}"/>')  # fmt: skip
    if sign.line:
        dashes = " ".join(f"{x:g}" for x in sign.dashes)
        drawn = f' stroke-dasharray="{dashes}"' if dashes else ""
        parts.append(f'<path d="M1 {middle:g}H{wide - 1:g}" stroke="{colour}" stroke-width="2" '
                     f'fill="none"{drawn}/>')  # fmt: skip
    if sign.marker:
        parts.append(_marker(sign.marker, colour, wide / 2.0, middle))
    return Markup(
        f'<svg class="swatch" viewBox="0 0 {wide:g} {high:g}" aria-hidden="true">'
        + "".join(parts) + "</svg>"
    )  # fmt: skip


def _colour(text: str) -> str:
    return "".join(c for c in text if c.isalnum() or c == "#")


def _marker(marker: str, colour: str, x: float, y: float) -> str:
    shapes: dict[str, Any] = {
        "o": f'<circle cx="{x:g}" cy="{y:g}" r="4.5"/>',
        "^": f'<path d="M{x:g} {y - 5:g}l5 9h-10z"/>',
        "s": f'<path d="M{x - 4:g} {y - 4:g}h8v8h-8z"/>',
        "d": f'<path d="M{x:g} {y - 6:g}l3.4 6l-3.4 6l-3.4 -6z"/>',
        "v": f'<path d="M{x:g} {y + 5:g}l5 -9h-10z"/>',
        "<": f'<path d="M{x - 5:g} {y:g}l9 5v-10z"/>',
        ">": f'<path d="M{x + 5:g} {y:g}l-9 5v-10z"/>',
        "D": f'<path d="M{x:g} {y - 5:g}l5 5l-5 5l-5 -5z"/>',
        "P": f'<path d="M{x - 1.6:g} {y - 5:g}h3.2v3.4h3.4v3.2h-3.4v3.4h-3.2'
             'v-3.4h-3.4v-3.2h3.4z"/>',
    }  # fmt: skip
    if marker in shapes:
        return f'<g fill="{colour}">{shapes[marker]}</g>'
    strokes = {
        "+": f"M{x:g} {y - 6:g}v12M{x - 6:g} {y:g}h12",
        "|": f"M3 {y - 4:g}v8M33 {y - 4:g}v8",
    }
    crossed = f"M{x - 4:g} {y - 4:g}l8 8M{x - 4:g} {y + 4:g}l8 -8"
    width = 3.2 if marker == "X" else 2.0
    return (f'<path d="{strokes.get(marker, crossed)}" stroke="{colour}" stroke-width="{width}" '
            'fill="none"/>')  # fmt: skip


def bars(shape: Bars) -> Markup:
    """Draw a small histogram."""
    step, high = 6.0, 24.0
    wide = step * len(shape.heights)
    path = "".join(
        f"M{i * step + 0.5:g} {high:g}v-{max(high * h, 0.6 if h > 0 else 0.0):.1f}h{step - 1:g}"
        f"V{high:g}z"
        for i, h in enumerate(shape.heights)
    )
    return Markup('<svg class="bars" role="img" viewBox="0 0 {w} {h}" aria-label="{words}">'
                  '<path d="{d}"/></svg>').format(w=f"{wide:g}", h=f"{high:g}", words=shape.words,
                                                  d=path)  # fmt: skip
