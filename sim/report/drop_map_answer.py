"""What `setdown drop --map` shows: standing over sink rate and side speed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.console import Group
from rich.text import Text

from sim.report import drop_words
from sim.report.as_json import dataset_object
from sim.report.decision_words import share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from xarray import DataArray, Dataset

    from sim.scenario import Limit, Scenario

MOST_COLUMNS = 17  # of the table on screen
STOOD = 0.95  # of the drops of a cell: then it is called safe


def parts(found: Dataset, scenario: Scenario) -> Iterator[Any]:
    """Answer and table of each way, in the order of printing."""
    for way in found["way"].to_numpy():
        yield Text(answer(found.sel(way=way)), style="bold")
    yield Text(about(found, scenario), style="dim")
    for way in found["way"].to_numpy():
        yield ""
        yield _grid(found.sel(way=way))
    yield ""
    yield drop_words.CAUTION


def is_drawn(found: Dataset) -> bool:
    """Whether each cell holds drawn drops, or one nominal one."""
    return bool(found.attrs["drawn"])


def answer(one: Dataset) -> str:
    """Up to which side speed it stands, slow and fast, in one way."""
    good = safe(one)
    way = str(one["way"].item())
    stood = f"in {share(STOOD)} or more of the drops" if is_drawn(one) else "in the nominal drop"
    sinks = one["sink_rate"].to_numpy()
    wanted = sorted({int(np.argmin(np.abs(sinks - x))) for x in (0.5, 1.0, 2.0)})
    parts = [f"{reach(one, good[i])} at {sinks[i]:.2f} m/s sink rate" for i in wanted]
    return f"Drifting {way_words(way)}, it stands {stood}: {'; '.join(parts)}."


def way_words(way: str) -> str:
    """Say in which direction it drifts."""
    return {"any direction": "in any direction", "the direction given": "as given"}.get(way, way)


def safe(one: Dataset) -> NDArray[np.bool_]:
    """Cells (sink rate, side speed) in which it stands often enough to be called safe."""
    return np.asarray(one["standing"].sel(bound="estimate").to_numpy() >= STOOD)


def reach(one: Dataset, row: NDArray[np.bool_]) -> str:
    """Largest side speed up to which all cells of a row are safe."""
    sides = one["side_speed"].to_numpy()
    if not row[0]:
        return f"not even at {sides[0]:.2f} m/s sideways"
    last = len(row) if row.all() else int(np.argmin(row))
    over = " and perhaps more" if last == len(row) else ""
    return f"up to {sides[last - 1]:.2f} m/s sideways{over}"


def about(found: Dataset, scenario: Scenario) -> str:
    """Say what was dropped how often."""
    each = int(found.attrs["flights"])
    cells = f"{found.sizes['sink_rate'] * found.sizes['side_speed']} cells"
    drops = (
        f"{each} drops in each of {cells}, the same draws in all"
        if is_drawn(found)
        else f"{cells}, one nominal drop on even ground in each"
    )
    return (
        f"{found.attrs['vehicle']}: {drops}; {drop_words.ground_words(scenario)}, landing motor "
        f"{found.attrs['landing_motor']}, seed {found.attrs['seed']}"
    )


def _grid(one: Dataset) -> Group:
    every = -(-one.sizes["side_speed"] // MOST_COLUMNS)
    thinned = one.isel(side_speed=slice(None, None, every))
    drawn = is_drawn(one)
    sides = "".join(f"{side:5.2f}" for side in thinned["side_speed"].to_numpy())
    lines = [f"{'':7}{sides}"]
    for sink in one["sink_rate"].to_numpy():
        cells = thinned["standing"].sel(sink_rate=sink, bound="estimate").to_numpy()
        words = [f"{100.0 * x:.0f}" if drawn else ("o" if x > 0.5 else "x") for x in cells]
        lines.append(f"{sink:5.2f}  " + "".join(f"{word:>5}" for word in words))
    if drawn:
        level = share(float(one.attrs["confidence"]))
        widest = float(np.max(_width(one["standing"])))
        what = f"Drops that end standing [%]; {level} bounds at most {100.0 * widest:.0f} apart"
    else:
        what = "o stands, x does not"
    across = "across: side speed" if every == 1 else f"across: every {every}th side speed"
    head = f"Drifting {way_words(str(one['way'].item()))}: {what}\ndown: sink rate; {across} [m/s]"
    return Group(Text(head, style="bold"), Text("\n".join(lines), no_wrap=True))


def _width(rows: DataArray) -> NDArray[np.float64]:
    return np.asarray(rows.sel(bound="upper").to_numpy() - rows.sel(bound="lower").to_numpy())


def limit_lines(limits: Sequence[Limit]) -> list[tuple[str, float]]:
    """Upper limits of success on sink rate, lateral and touchdown speed [m/s]."""
    return [
        (limit.variable, limit.high)
        for limit in limits
        if limit.high is not None
        and limit.variable in ("sink_rate", "lateral_speed", "touchdown_speed")
    ]


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": [answer(found.sel(way=way)) for way in found["way"].to_numpy()],
        "picture": str(picture), "map": dataset_object(found),
    }  # fmt: skip
