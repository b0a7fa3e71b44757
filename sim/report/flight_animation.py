"""One flight as a moving picture: the whole way, the vehicle close up, and what it does by then."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.animation import AbstractMovieWriter, FFMpegWriter, HTMLWriter, PillowWriter
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from sim.errors import RunFailure, UserMistake
from sim.report import style
from sim.report.display import signed
from sim.report.flight_outline import Drawing, can_outline, outline
from sim.report.flight_views import SHORT, draw_grounds

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.report.flight_sheet import Sheet

FRAMES = 10.0  # a second: GIF counts in hundredths of one
STILL = 1.5  # s, that the last picture stays
SIZE, DOTS_PER_INCH = (6.4, 5.0), 80
_REACH = 1.7  # vehicle lengths around the middle of the close view
_SMALLEST = 1.0 / 14.0  # of the height of the whole view, that the vehicle takes at least


def animate(path: Path, sheet: Sheet, pace: float = 1.0) -> None:
    """Write a flight from launch to rest as a moving picture, whole or not at all.

    Parameters
    ----------
    path : Path
        `.gif`, `.html` (a page that needs nothing else), or `.mp4` where ffmpeg is installed.
    sheet : Sheet
        With a body: from `sim.report.flight_sheet.make_sheet`.
    pace : float
        Seconds of flight a second; 1 is real time.

    Raises
    ------
    UserMistake
        No such form can be written here.
    RunFailure
        The file cannot be written.
    """
    writer = make_writer(path)
    samples = _samples(sheet, pace)
    # the writers take the form from the ending
    unfinished = path.with_name(f".{path.stem}.tmp{path.suffix}")
    with mpl.rc_context({**style.SETTINGS, "animation.embed_limit": 64.0}):
        figure = Figure(figsize=SIZE)
        FigureCanvasAgg(figure)
        scene = _Scene(figure, sheet, pace)
        try:
            with writer.saving(figure, str(unfinished), DOTS_PER_INCH):
                for sample in samples:
                    scene.show(sample)
                    writer.grab_frame()
            unfinished.replace(path)
        except OSError as problem:
            unfinished.unlink(missing_ok=True)
            raise RunFailure(
                f"the moving picture {path} could not be written: {problem.strerror or problem}. "
                "The data are safe; make room or give another place with --animate"
            ) from problem


def make_writer(path: Path) -> AbstractMovieWriter:
    """Choose the writer by the ending of the file.

    Raises
    ------
    UserMistake
        No such form can be written here.
    """
    kind = path.suffix.lower()
    if kind == ".gif":
        return PillowWriter(fps=FRAMES)  # type: ignore[arg-type]
    if kind in (".html", ".htm"):
        return HTMLWriter(fps=FRAMES, embed_frames=True, default_mode="once")  # type: ignore[arg-type]
    if kind == ".mp4" and FFMpegWriter.isAvailable():
        return FFMpegWriter(fps=FRAMES)  # type: ignore[arg-type]
    films = ".gif, .html or .mp4" if FFMpegWriter.isAvailable() else ".gif or .html"
    why = ": .mp4 needs ffmpeg, which is not installed" if kind == ".mp4" else ""
    raise UserMistake(
        f"--animate: {path.name} cannot be written here{why}; give a name that ends in {films}"
    )


def _samples(sheet: Sheet, pace: float) -> Sequence[int]:
    """Samples to show, one a frame, the last for a while."""
    time = sheet.line["time"]
    wanted = np.arange(time[0], time[-1], pace / FRAMES)
    places = np.searchsorted(time, wanted).clip(0, len(time) - 1)
    return [*map(int, places), *[len(time) - 1] * round(STILL * FRAMES)]


class _Scene:
    """What moves, and what stays."""

    def __init__(self, figure: Figure, sheet: Sheet, pace: float) -> None:
        self._sheet, self._line = sheet, sheet.line
        self._size = sheet.body.length if sheet.body else 1.0
        figure.suptitle(sheet.title, x=0.015, y=0.985, ha="left", fontweight="bold", fontsize=10)
        whole = figure.add_axes((0.095, 0.25, 0.33, 0.65))
        self._close = figure.add_axes((0.535, 0.25, 0.45, 0.65))
        self._x = sheet.along(self._line["east"], self._line["north"])
        self._whole(whole)
        shown = can_outline(sheet)
        self._drawings = [Drawing(self._close, outline(sheet))] if shown else []
        if shown:
            high = float(np.ptp(whole.get_ylim()))
            larger = max(1.0, _SMALLEST * high / self._size)
            self._drawings.append(Drawing(whole, outline(sheet, larger), weight=0.7))
        (self._dot,) = whole.plot([], [], marker="o", ms=3.5, color=style.INK, zorder=4)
        (self._path,) = self._close.plot([], [], color=style.NAVY, lw=1.0, zorder=2.5)
        draw_grounds(self._close, sheet)
        self._close.set_xlabel("towards the landing pad [m]")
        self._close.set_title("To scale", fontsize=9)
        self._said = figure.text(0.015, 0.065, "", family="DejaVu Sans Mono", fontsize=8.5)
        told = "real time" if pace == 1.0 else f"{pace:g} s of flight a second"
        figure.text(
            0.015, 0.018, f"One simulated flight, seed {sheet.seed}, {told}. It says nothing of "
            "the spread.", fontsize=7.0, color=style.SOFT,
        )  # fmt: skip

    def _whole(self, axes: Axes) -> None:
        axes.plot(self._x, self._line["up"], color=style.FAINT, lw=0.9)
        draw_grounds(axes, self._sheet)
        high = float(self._line["up"].max())
        axes.set_ylim(-0.06 * high, 1.12 * high)
        axes.set_aspect("equal", adjustable="datalim")
        axes.set_xlabel("towards the landing pad [m]")
        axes.set_ylabel("height of the cg [m]")
        axes.set_title("The whole flight" + (", vehicle enlarged" if self._enlarged(high) else ""),
                       fontsize=9)  # fmt: skip

    def _enlarged(self, high: float) -> bool:
        return can_outline(self._sheet) and _SMALLEST * 1.18 * high > self._size

    def show(self, sample: int) -> None:
        """Show the flight as it was at a sample."""
        line = self._line
        x, up = float(self._x[sample]), float(line["up"][sample])
        for drawing in self._drawings:
            drawing.move(sample)
        self._dot.set_data([x], [up])
        self._dot.set_visible(not self._drawings)
        self._path.set_data(self._x[: sample + 1], line["up"][: sample + 1])
        half = _REACH * self._size
        self._close.set_xlim(x - half, x + half)
        low = max(up - half, self._sheet.ground - 0.35 * self._size)
        tall = 2.0 * half * 0.65 * SIZE[1] / (0.45 * SIZE[0])
        self._close.set_ylim(low, low + tall)
        self._said.set_text(self._words(sample))

    def _words(self, sample: int) -> str:
        line = self._line
        sideways = math.hypot(line["velocity_east"][sample], line["velocity_north"][sample])
        time = float(line["time"][sample])
        gone = [SHORT[name] for name, at in self._sheet.times.items()
                if name in SHORT and at <= time]  # fmt: skip
        return (
            f"{time:5.2f} s   feet {_number(line['height_feet'][sample], 2)} m   "
            f"up {signed(line['velocity_up'][sample]):>6} m/s   sideways {sideways:5.2f} m/s   "
            f"tilt {_number(np.degrees(line['tilt'][sample]), 1)} deg\n"
            f"{gone[-1] if gone else 'on the launch pad'}"
        )


def _number(value: Any, digits: int) -> str:
    return f"{float(value):z6.{digits}f}"
