"""Outline of the vehicle as seen from the side: body, legs, flame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from sim.report import style
from sim.report.flight_body import Placed, burning

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.report.flight_sheet import Sheet

Floats = NDArray[np.float64]

FLAME = 0.6  # vehicle lengths, at the greatest thrust
SHELL = "white"


@dataclass(frozen=True)
class Outline:
    """The vehicle all along a flight, from the side: towards the landing pad, and up [m].

    Attributes
    ----------
    hull : ndarray (samples, 5, 2)
        Nose, shoulders and tail; with the ascent stage as long as it is on.
    legs : ndarray (legs, samples, 2, 2)
        From hinge to foot.
    flame : ndarray (samples, 3, 2)
        A triangle behind the motor that burns.
    burns : ndarray (samples,)
        Share of the greatest thrust; zero without a flame.
    """

    hull: Floats
    legs: Floats
    flame: Floats
    burns: Floats


def can_outline(sheet: Sheet) -> bool:
    """Whether the sheet says what the vehicle looks like and where it was."""
    return sheet.body is not None and "true_unit_up" in sheet.line


def outline(sheet: Sheet, magnified: float = 1.0) -> Outline:
    """Find the outline of the vehicle all along a flight.

    Parameters
    ----------
    sheet : Sheet
        For which `can_outline` holds.
    magnified : float
        Drawn so many times its size about the centre of gravity.

    Returns
    -------
    Outline
    """
    body, line = sheet.body, sheet.line
    assert body is not None
    placed = Placed(body, line, sheet.ground)
    middle = np.stack([sheet.along(line["east"], line["north"]), line["up"]], axis=1)

    def flat(direction: Floats) -> Floats:
        return np.stack([sheet.along(direction[:, 0], direction[:, 1]), direction[:, 2]], axis=1)

    def seen(place: Floats) -> Floats:
        return np.asarray(middle + magnified * (flat(place) - middle))

    attached = line["time"] < sheet.times.get("separation_time", np.inf)
    tail = np.where(attached, body.stage_end, body.length)[:, None]
    end = placed.tip - tail * placed.x
    axis = flat(placed.x)
    beside = np.stack([-axis[:, 1], axis[:, 0]], axis=1)
    beside /= np.maximum(np.linalg.norm(beside, axis=1), 1e-9)[:, None]
    beside *= 0.5 * body.diameter * magnified
    shoulder = seen(placed.point(body.nose_length))
    back = seen(end)
    hull = np.stack(
        [seen(placed.tip), shoulder + beside, back + beside, back - beside, shoulder - beside],
        axis=1,
    )
    opened = placed.legs_open()[:, None]
    pairs = zip(placed.feet(body.foot_open), placed.feet(body.foot_folded), strict=True)
    feet = [seen(np.where(opened, out, folded)) for out, folded in pairs]
    hinges = [seen(hinge) for hinge in placed.feet(body.hinge)]
    legs = [np.stack(both, axis=1) for both in zip(hinges, feet, strict=True)]
    burns = np.maximum(burning(line, "ascent"), burning(line, "landing"))
    # gases leave against the thrust, which a gimbal turned (y, z) points along (1, z, -y)
    out = placed.x + line["gimbal_z"][:, None] * placed.y - line["gimbal_y"][:, None] * placed.z
    point = seen(end - FLAME * body.length * burns[:, None] * out)
    flame = np.stack([back + 0.7 * beside, point, back - 0.7 * beside], axis=1)
    return Outline(hull, np.array(legs).reshape(-1, len(tail), 2, 2), flame, burns)


class Drawing:
    """Patches of one vehicle in a panel, moved from sample to sample.

    Parameters
    ----------
    axes : Axes
    shape : Outline
    weight : float [pt]
        Of its lines.
    colour : str
        Of its lines.
    """

    def __init__(
        self, axes: Axes, shape: Outline, *, weight: float = 1.0, colour: str = style.INK
    ) -> None:
        self._shape = shape
        self.flame = Polygon(shape.flame[0], facecolor=style.AMBER, edgecolor=style.RUST,
                             lw=0.7 * weight, zorder=3.2)  # fmt: skip
        self._legs = [
            axes.plot([], [], color=colour, lw=1.3 * weight, marker="o", ms=1.6 * weight,
                      markevery=[1], zorder=3.3)[0]
            for _ in shape.legs
        ]  # fmt: skip
        self.hull = Polygon(shape.hull[0], facecolor=SHELL, edgecolor=colour, lw=weight, zorder=3.4)
        axes.add_patch(self.flame)
        axes.add_patch(self.hull)

    def move(self, sample: int) -> None:
        """Show the vehicle as it was at a sample."""
        shape = self._shape
        self.hull.set_xy(shape.hull[sample])
        for leg, place in zip(self._legs, shape.legs[:, sample], strict=True):
            leg.set_data(place[:, 0], place[:, 1])
        self.flame.set_xy(shape.flame[sample])
        self.flame.set_visible(bool(shape.burns[sample] > 0.0))
