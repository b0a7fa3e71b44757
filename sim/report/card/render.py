"""A card as one HTML file that needs nothing else."""

from __future__ import annotations

from importlib.resources import files

import jinja2
from markupsafe import Markup

from sim.report.card.sheet import Sheet

_HERE = "sim.report.card"
TIGHTER = 0.97
"""Letters of a browser over those of the PDF: fonts and lines of browsers differ."""


def html(sheet: Sheet, size: float = 7.0) -> str:
    """Write a card as HTML: one A4 page when printed, no address named, none to be asked.

    Parameters
    ----------
    sheet : Sheet
    size : float [pt]
        Of letters in print; that of `pdf.pdf` fits, as it is made a little smaller here.

    Returns
    -------
    str
    """
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_read), autoescape=True, trim_blocks=True, lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )  # fmt: skip
    page = environment.get_template("card.html")
    return page.render(sheet=sheet, size=f"{TIGHTER * size:.2f}", css=Markup(_read("card.css")))


def _read(name: str) -> str:
    return files(_HERE).joinpath(name).read_text(encoding="utf-8")
