"""What `setdown gains` shows: margins of the linear loop beside what flights make of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.display import in_unit, percent, plain
from sim.report.grid_words import best_place, success_cell
from sim.report.sentences import CAUTION
from sim.report.tables import DEGREES, new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset


def parts(found: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield ""
    yield _linear_table(found)
    yield ""
    yield _flown_table(found)
    yield ""
    yield _integral_table(found)
    yield ""
    yield Text(
        f"{int((found['p_value'].size + found.sizes['integral'] - 1) * found.attrs['flights']):,} "
        "flights, the same draws at every point. Margins are the least of both ends of a burn: "
        "mass, arm, inertia and thrust as they are there. Customary margins: 6 dB and 30 deg "
        "(rigid launch vehicles), 45 deg (MIL-F-9490D). Overshoot: of the nominal pitch-over by "
        "the programme in still air, while it lasts.", style="dim",
    )  # fmt: skip
    best, key = found.isel(best_place(found["success"])), "flight_computer.bandwidth"
    yield "Next:"
    yield steps([
        (f"setdown compare {scenario} {scenario} --set-b {key}={float(best['bandwidth']):g}",
         "flight by flight"),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def answer(found: Dataset) -> str:
    """Name the best gains and whether they can be told from those of the scenario."""
    now = found.sel(bandwidth=found.attrs["bandwidth_now"], damping=found.attrs["damping_now"])
    best = found.isel(best_place(found["success"]))
    yours = percent(float(now["success"].sel(bound="estimate")))
    gain = (
        f"bandwidth {float(best['bandwidth']):g} rad/s, damping {float(best['damping']):g}: "
        f"{percent(float(best['success'].sel(bound='estimate')))}"
    )
    if float(best["p_value"]) >= 1.0 - float(found.attrs["confidence"]):
        worse = int((found["p_value"] < 1.0 - float(found.attrs["confidence"])).sum())
        return (
            f"The gains as they are do as well as any of these ({yours} succeed; best "
            f"{gain}, not to "
            f"be told from it); {worse} of {found['p_value'].size} points differ from them."
        )
    return f"Better gains: {gain} of flights succeed, against {yours} with the gains as they are."


def _rows(found: Dataset) -> Iterator[tuple[list[str], Any]]:
    for w in found["bandwidth"].to_numpy():
        for z in found["damping"].to_numpy():
            now = (w, z) == (found.attrs["bandwidth_now"], found.attrs["damping_now"])
            yield [f"{w:g}{' *' if now else ''}", f"{z:g}"], found.sel(bandwidth=w, damping=z)


def _linear_table(found: Dataset) -> Any:
    heads = ["bandwidth", "damping"]
    for motor in ("ascent", "landing"):
        heads += [f"{motor}: phase [deg]" if motor == "ascent" else "landing: phase", "gain [dB]",
                  "delay [ms]"]
    table = new_table([*heads, "overshoot [%]"], left=1)
    for names, row in _rows(found):
        cells = []
        for motor in ("ascent", "landing"):
            cells += [
                plain(float(row[f"{motor}_phase_margin"]) * DEGREES, 3),
                plain(in_unit(float(row[f"{motor}_gain_margin"]), "1", "dB"), 3),
                plain(1e3 * float(row[f"{motor}_delay_margin"]), 3),
            ]
        table.add_row(*names, *cells, _percent(float(row["overshoot_linear"])))
    return titled(
        "Linear loop: phase, gain and delay that it bears (bandwidth in rad/s; * as it is)", table
    )


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f}" if math.isfinite(value) else "-"


def _flown_table(found: Dataset) -> Any:
    heads = ["bandwidth", "damping", "overshoot [%]", "travel [deg]",
             "at stop [%]", "tilt [deg]", "success [%]", "p to *"]
    table = new_table(heads, left=1)
    for names, row in _rows(found):
        p = float(row["p_value"])
        table.add_row(
            *names, _percent(float(row["overshoot"])),
            f"{float(row['gimbal_travel']) * DEGREES:.0f}",
            _percent(float(row["gimbal_saturation"])),
            f"{float(row['tilt'].sel(bound='estimate')) * DEGREES:.1f}",
            success_cell(row["success"]),
            "< 0.001" if p < 1e-3 else f"{p:.3f}",
        )  # fmt: skip
    level = share(float(found.attrs["confidence"]))
    return titled(
        f"Flown, {int(found.attrs['flights']):,} flights each, {level} bounds; gimbal's travel, "
        "median, and time at its stop, 95 %; tilt at contact, 95 %", table,
    )  # fmt: skip


def _integral_table(found: Dataset) -> Any:
    heads = ["integral [1/s]", "ascent: phase [deg]", "landing: phase", "overshoot [%]",
             "tilt [deg]", "success [%]", "p to *"]  # fmt: skip
    table = new_table(heads, left=0)
    for value in found["integral"].to_numpy():
        row = found.sel(integral=value)
        p = float(row["integral_p_value"])
        table.add_row(
            f"{value:g}{' *' if value == found.attrs['integral_now'] else ''}",
            *(plain(float(row[f"integral_{m}_phase_margin"]) * DEGREES, 3)
              for m in ("ascent", "landing")),
            _percent(float(row["integral_overshoot"])),
            f"{float(row['integral_tilt'].sel(bound='estimate')) * DEGREES:.1f}",
            success_cell(row["integral_success"]),
            "< 0.001" if p < 1e-3 else f"{p:.3f}",
        )  # fmt: skip
    return titled("The integral gain, bandwidth and damping as they are", table)


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {"answer": answer(found), "picture": str(picture), "gains": dataset_object(found)}
