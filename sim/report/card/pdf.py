"""A card as one A4 page of PDF, by ReportLab, with the fonts that come with matplotlib."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib import import_module
from importlib.resources import files
from io import BytesIO
from typing import Any

from sim.report.card.sheet import Grid, Item, Note, Pairs, Panel, Sheet, Steps

MARGIN, GAP = 28.0, 14.0  # points of 1/72 inch
SIZES = (
    8.4,
    8.2,
    8.0,
    7.8,
    7.6,
    7.3,
    7.0,
    6.7,
    6.4,
    6.1,
)  # points; the first with which all fits on one page
_INK, _SOFT, _RULE, _NAVY, _RUST = "#14181d", "#444d57", "#b9c0c8", "#1d3f72", "#9a3412"
_FONTS = {"Card": "DejaVuSans.ttf", "Card-Bold": "DejaVuSans-Bold.ttf"}


def pdf(sheet: Sheet) -> tuple[bytes, float]:
    """Lay a card out.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    bytes
        The same for the same sheet: no clock time is in it. One A4 page, unless it holds more than
        the smallest letters can bring onto one; what is too much then goes on the next page.
    float [pt]
        Size of its letters.
    """
    _load_fonts()
    for size in SIZES:
        drawn, pages = _Layout(sheet, size).draw()
        if pages == 1:
            break
    return drawn, size


def _load_fonts() -> None:
    metrics = import_module("reportlab.pdfbase.pdfmetrics")
    true_type = import_module("reportlab.pdfbase.ttfonts")
    home = files("matplotlib").joinpath("mpl-data/fonts/ttf")
    for name, file in _FONTS.items():
        if name not in metrics.getRegisteredFontNames():
            metrics.registerFont(true_type.TTFont(name, str(home.joinpath(file))))
    metrics.registerFontFamily("Card", normal="Card", bold="Card-Bold", italic="Card",
                               boldItalic="Card-Bold")  # fmt: skip


class _Layout:
    """One try with one size of letters."""

    def __init__(self, sheet: Sheet, size: float) -> None:
        self.sheet, self.size = sheet, size
        self.platypus = import_module("reportlab.platypus")
        self.styles = import_module("reportlab.lib.styles")
        self.colors = import_module("reportlab.lib.colors")
        self.width, self.height = import_module("reportlab.lib.pagesizes").A4
        self.pages = 1

    def draw(self) -> tuple[bytes, int]:
        """Draw everything; returns the file and the number of its pages."""
        out = BytesIO()
        canvas = import_module("reportlab.pdfgen.canvas")
        self.canvas = canvas.Canvas(out, pagesize=(self.width, self.height), invariant=1)
        self.canvas.setTitle(f"{self.sheet.title}: field card")
        self.canvas.setSubject(self.sheet.foot)
        self.canvas.setAuthor("setdown")
        whole = self.width - 2.0 * MARGIN
        y = self._down(self._head(whole), MARGIN, self.height - MARGIN, whole)
        for panel in self.sheet.wide:
            y = self._down(self._panel(panel, whole), MARGIN, y, whole)
        column = 0.5 * (whole - GAP)
        page, ends = self.pages, []
        for x, panels in ((MARGIN, self.sheet.left), (MARGIN + column + GAP, self.sheet.right)):
            if self.pages != page:  # a page that the other column began: no way back to the first
                y, page = self.height - MARGIN, self.pages
            at = y
            for panel in panels:
                at = self._down(self._panel(panel, column), x, at, column)
            ends.append(at)
        end = min(ends)
        self._down([self._gap(0.6), self._words(escape(self.sheet.foot), _SOFT, 0.9)], MARGIN, end,
                   whole)  # fmt: skip
        self.canvas.save()
        return out.getvalue(), self.pages

    def _down(self, parts: Sequence[Any], x: float, y: float, width: float) -> float:
        """Draw parts one below the other; returns where the next begins."""
        heights = [part.wrapOn(self.canvas, width, self.height)[1] for part in parts]
        if y - sum(heights) < MARGIN:
            self.canvas.showPage()
            self.pages += 1
            y = self.height - MARGIN
        for part, high in zip(parts, heights, strict=True):
            y -= high
            part.drawOn(self.canvas, x, y)
        return y

    # ---- parts -----------------------------------------------------------------------------------

    def _words(
        self, markup: str, colour: str = _INK, scale: float = 1.0, lead: float = 1.24
    ) -> Any:
        size = scale * self.size
        style = self.styles.ParagraphStyle(
            "card", fontName="Card", fontSize=size, leading=lead * size,
            textColor=self.colors.HexColor(colour), splitLongWords=1,
        )  # fmt: skip
        return self.platypus.Paragraph(markup, style)

    def _gap(self, lines: float) -> Any:
        return self.platypus.Spacer(1.0, lines * self.size)

    def _head(self, width: float) -> list[Any]:
        title = self._words(f"<b>{escape(self.sheet.title)}: field card</b>", _NAVY, 1.75)
        about = self._words(escape(self.sheet.about), _SOFT)
        sign = self._words("Date ____________ Field ____________ Flight ______", _SOFT)
        top = self._table([[title, [about, sign]]], (0.42, 0.58), width, [
            ("LINEBELOW", (0, 0), (-1, -1), 1.6, self._colour(_NAVY)),
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
        ])  # fmt: skip
        cautions = [
            self._words(f'<font color="{_RUST}"><b>{escape(lead)}</b></font> {escape(rest)}')
            for lead, rest in self.sheet.cautions
        ]
        pad = 0.5 * self.size
        box = self._table([[cautions]], (1.0,), width, [
            ("BOX", (0, 0), (-1, -1), 1.2, self._colour(_RUST)),
            ("LEFTPADDING", (0, 0), (-1, -1), pad), ("RIGHTPADDING", (0, 0), (-1, -1), pad),
            ("TOPPADDING", (0, 0), (-1, -1), 0.5 * pad), ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
        ])  # fmt: skip
        return [top, self._gap(0.6), box]

    def _panel(self, panel: Panel, width: float) -> list[Any]:
        head = self._words(f"<b>{escape(panel.title)}</b>", _NAVY, 1.08, 1.2)
        rule = self._table([[head]], (1.0,), width, [
            ("LINEBELOW", (0, 0), (-1, -1), 0.6, self._colour(_NAVY)),
        ])  # fmt: skip
        found = [self._gap(0.55), rule, self._gap(0.15)]
        for item in panel.items:
            found += self._item(item, width)
        return found

    def _item(self, item: Item, width: float) -> list[Any]:
        if isinstance(item, Note):
            return [self._gap(0.2), self._words(escape(item.text), _SOFT, 0.93)]
        if isinstance(item, Steps):
            return [self._step(k, step, item.numbered) for k, step in enumerate(item.steps, 1)]
        if isinstance(item, Pairs):
            return [self._pairs(item, width)]
        return [self._grid(item, width)]

    def _step(self, k: int, step: tuple[str, str], numbered: bool) -> Any:
        lead, rest = step
        words = self._words(f"<b>{escape(lead)}</b> {escape(rest)}")
        words.style.leftIndent = 1.2 * self.size
        words.style.spaceAfter = 0.0
        return self.platypus.Paragraph(
            f"<b>{escape(lead)}</b> {escape(rest)}", words.style,
            bulletText=f"{k}." if numbered else "\u2022",
        )  # fmt: skip

    def _pairs(self, item: Pairs, width: float) -> Any:
        rows = [
            [self._words(escape(what), _SOFT), self._bold(said) if said else self._to_write()]
            for what, said in item.rows
        ]
        return self._table(rows, (0.41, 0.59), width, [self._dotted()])

    def _grid(self, item: Grid, width: float) -> Any:
        rows: list[list[Any]] = [[self._words(escape(head), _SOFT) for head in item.heads]]
        looks = [self._dotted(), ("LINEBELOW", (0, 0), (-1, 0), 0.6, self._colour(_RULE))]
        light = 3 if item.roomy else 1
        for row in item.rows:
            rows.append([
                self._to_write() if not cell and k else self._words(escape(cell)) if k < light
                else self._bold(cell)
                for k, cell in enumerate(row)
            ])  # fmt: skip
        if item.roomy:
            looks += [("TOPPADDING", (0, 1), (-1, -1), 0.3 * self.size),
                      ("BOTTOMPADDING", (0, 1), (-1, -1), 0.3 * self.size)]  # fmt: skip
        return self._table(rows, item.widths, width, looks)

    def _bold(self, text: str) -> Any:
        return self._words(f"<b>{escape(text)}</b>")

    def _to_write(self) -> Any:
        """Rule a line to write on."""
        line = self.platypus.HRFlowable(
            width="100%", thickness=0.8, color=self._colour(_INK), spaceBefore=0.0, spaceAfter=0.0
        )
        return [self._gap(1.15), line]

    def _dotted(self) -> tuple[Any, ...]:
        return ("LINEBELOW", (0, 0), (-1, -1), 0.4, self._colour(_RULE), "round", (0.4, 1.6))

    def _table(
        self, rows: Sequence[Sequence[Any]], shares: Sequence[float], width: float,
        looks: Sequence[tuple[Any, ...]],
    ) -> Any:  # fmt: skip
        total = sum(shares)
        small = 0.1 * self.size
        style = [
            ("LEFTPADDING", (0, 0), (-1, -1), 0.0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0.4 * self.size),
            ("TOPPADDING", (0, 0), (-1, -1), small),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.0 * small),
            ("VALIGN", (0, 0), (-1, -1), "TOP"), *looks,
        ]  # fmt: skip
        return self.platypus.Table(
            rows, colWidths=[width * share / total for share in shares], style=style, hAlign="LEFT"
        )

    def _colour(self, text: str) -> Any:
        return self.colors.HexColor(text)
