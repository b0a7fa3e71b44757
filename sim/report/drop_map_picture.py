"""Picture of where a vehicle stands and where it tips."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.patches import Patch
from matplotlib.patheffects import withStroke

from sim.ensemble.drop_summary import made_for
from sim.report import drop_words, style
from sim.report.drop_map_answer import STOOD, about, is_drawn, limit_lines, safe, way_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

    from sim.scenario import Scenario

# dark is bad, in colour and in grey
SHADES = LinearSegmentedColormap.from_list(
    "standing", ["#3b1f14", style.RUST, style.AMBER, "#f6e7b8", "#ffffff"]
)


def draw_map(path: Path, found: Dataset, scenario: Scenario) -> None:
    """Draw the share of drops that end standing, its edge and the limits.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.drop_map.fly_map`.
    scenario : Scenario
    """
    ways = found["way"].to_numpy()
    with style.picture(path, 5.6 * len(ways) + 1.4, 5.6) as figure:
        panels = figure.subplots(1, len(ways), sharey=True, squeeze=False)[0]
        for axes, way in zip(panels, ways, strict=True):
            one = found.sel(way=way)
            shown = _cells(axes, one)
            _edge(axes, one)
            _overloaded(axes, one)
            _limits(axes, scenario)
            axes.set_title(f"Drifting {way_words(str(way))}")
            axes.set_xlabel("side speed [m/s]")
            axes.set_axisbelow(False)
            axes.grid(visible=False)
        panels[0].set_ylabel("sink rate [m/s]")
        handles, _ = panels[0].get_legend_handles_labels()
        if is_drawn(found):
            bar = figure.colorbar(shown, ax=list(panels), shrink=0.9, pad=0.02)
            bar.set_label("drops that end standing [%]")
        else:
            handles += [
                Patch(facecolor="white", edgecolor=style.FAINT, label="stands"),
                Patch(facecolor=SHADES(0.25), edgecolor=style.FAINT, label="does not"),
            ]
        figure.legend(handles=handles, loc="outside upper right", ncols=2 if len(ways) > 1 else 1)
        figure.suptitle(f"{found.attrs['vehicle']}: where it stands", x=0.01, ha="left",
                        fontweight="bold", fontsize=11)  # fmt: skip
        edge = f"Thick line: {100.0 * STOOD:.0f} % stand. " if is_drawn(found) else (
            "Thick line: between the cells that stand and those that do not. ")  # fmt: skip
        told = edge + "Dots: stands, but beyond what it is made for. " + about(found, scenario)
        style.caption(figure, drop_words.wrapped(told + ".", 95 * len(ways) + 20))


def _edges(levels: Any) -> Any:
    """Edges of cells about levels."""
    middle = 0.5 * (levels[1:] + levels[:-1])
    first, last = 2.0 * levels[0] - middle[0], 2.0 * levels[-1] - middle[-1]
    return np.concatenate([[first], middle, [last]])


def _cells(axes: Axes, one: Dataset) -> Any:
    share = 100.0 * one["standing"].sel(bound="estimate").to_numpy()
    if not is_drawn(one):
        share = np.where(share > 50.0, 100.0, 25.0)
    across, up = _edges(one["side_speed"].to_numpy()), _edges(one["sink_rate"].to_numpy())
    return axes.pcolormesh(across, up, share, cmap=SHADES, vmin=0.0, vmax=100.0,
                           edgecolors=style.BLANK, linewidth=0.3)  # fmt: skip


def _edge(axes: Axes, one: Dataset) -> None:
    """Draw the border between safe cells and the others, along the sides of cells."""
    good = safe(one)
    across, up = _edges(one["side_speed"].to_numpy()), _edges(one["sink_rate"].to_numpy())
    rows, columns = good.shape
    lines: list[list[tuple[float, float]]] = []
    for i in range(rows):
        for j in range(columns):
            if j + 1 < columns and good[i, j] != good[i, j + 1]:
                lines.append([(across[j + 1], up[i]), (across[j + 1], up[i + 1])])
            if i + 1 < rows and good[i, j] != good[i + 1, j]:
                lines.append([(across[j], up[i + 1]), (across[j + 1], up[i + 1])])
    if lines:
        from matplotlib.collections import LineCollection

        axes.add_collection(LineCollection(lines, colors=style.INK, linewidths=2.2, zorder=4,
                                           capstyle="projecting"))  # fmt: skip


def _overloaded(axes: Axes, one: Dataset) -> None:
    """Dot the cells in which it stands, but not within what it is made for."""
    harmed = safe(one) & (one["unharmed"].to_numpy() < STOOD)
    rows, columns = np.nonzero(harmed)
    axes.plot(one["side_speed"].to_numpy()[columns], one["sink_rate"].to_numpy()[rows], ls="none",
              marker=".", ms=4.0, color=style.INK, zorder=3)  # fmt: skip


def _limits(axes: Axes, scenario: Scenario) -> None:
    """Draw limits of success and the rated speed of the legs."""
    xs, ys = axes.get_xlim(), axes.get_ylim()
    casing = [withStroke(linewidth=3.6, foreground="white")]  # to be seen on dark cells
    looks: dict[str, Any] = {
        "color": style.NAVY, "lw": 1.5, "zorder": 5, "path_effects": casing,
    }  # fmt: skip
    rated = made_for(scenario)["touchdown_speed"]
    for variable, most in limit_lines(scenario.success):
        label = f"limit of success: {variable.replace('_', ' ')} {most:g} m/s"
        if variable == "touchdown_speed" and most == rated:
            label, rated = f"{label},\nand what the legs are rated for", np.inf
        if variable == "lateral_speed":
            axes.plot([most, most], ys, ls="--", label=label, **looks)
        elif variable == "sink_rate":
            axes.plot(xs, [most, most], ls=":", label=label, **looks)
        else:
            _arc(axes, most, label, "-.", looks)
    if rated < ys[1] * 1.2:
        _arc(axes, rated, f"legs rated for {rated:g} m/s", (0, (1, 1.5)),
             looks | {"color": style.PLUM, "lw": 2.2})  # fmt: skip
    axes.set_xlim(*xs)
    axes.set_ylim(*ys)


def _arc(axes: Axes, radius: float, label: str, dashes: Any, looks: dict[str, Any]) -> None:
    """Draw one touchdown speed: a circle in side speed and sink rate."""
    angle = np.linspace(0.0, 0.5 * np.pi, 91)
    axes.plot(radius * np.sin(angle), radius * np.cos(angle), ls=dashes, label=label, **looks)
