"""Attitude gains over a grid: margins of the linear loop beside what the flights make of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, outcome_dataset
from sim.ensemble.burn_loops import least_margins, loops_of_burn
from sim.ensemble.derived import attitude_loop
from sim.ensemble.loop_margins import Loop
from sim.ensemble.protocols import Floats, Fly, FlyTrace
from sim.ensemble.swap import mount_of

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

BANDWIDTH, DAMPING = "flight_computer.bandwidth", "flight_computer.damping"
INTEGRAL = "flight_computer.integral"
SHARES = (0.5, 0.7, 1.0, 1.4, 2.0)  # of the bandwidth that the scenario has
DAMPINGS = (0.5, 0.8, 1.2)
INTEGRALS = (0.0, 0.5, 2.0, 4.0)  # of the integral gain that the scenario has
STEP = 5e-4  # s


def fly_gains(
    scenario: Scenario,
    *,
    bandwidths: Sequence[float] = (),
    dampings: Sequence[float] = (),
    integrals: Sequence[float] = (),
    flights: int = 500,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
    fly_trace: FlyTrace | None = None,
) -> Dataset:
    """Fly a grid of gains of the attitude loop, the same draws at each point.

    Parameters
    ----------
    scenario : Scenario
    bandwidths, dampings : sequence of float [rad/s], [1]
        The grid; about the scenario's own values if empty, which are always in it.
    integrals : sequence of float [1/s]
        Integral gains flown at the scenario's own bandwidth and damping; about its own if empty.
        One that has none is flown with none.
    flights : int
        At each point.
    confidence : float [1]
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.
    fly_trace : callable, optional
        `sim.ensemble.fly_runs.fly_trace` if not given.

    Returns
    -------
    Dataset
        Over bandwidth and damping: {ascent,landing}_{phase_margin,gain_margin,delay_margin};
        overshoot and overshoot_linear [1], of the nominal pitch-over in still air; gimbal_travel
        [rad], median; gimbal_saturation [1], 95th percentile; tilt [rad], 95th percentile at
        contact; success(bound) and p_value against the scenario's own gains. Margins are the least
        of both ends of the burn. The same over integral, as integral_{name}.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND, successes
    from sim.analysis.order_statistics import quantile_table
    from sim.analysis.proportions import clopper_pearson, mcnemar_exact

    keys = (BANDWIDTH, DAMPING, INTEGRAL)
    bandwidth, damping, integral = (float(scenario.numbers[key].value) for key in keys)
    now = (bandwidth, damping, integral)
    first = sorted({*(bandwidths or [round(s * now[0], 3) for s in SHARES]), now[0]})
    second = sorted({*(dampings or DAMPINGS), now[1]})
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    runs = first_runs(flights)
    third = sorted({*(integrals or [round(s * now[2], 3) for s in INTEGRALS]), now[2]})
    grid = [(w, z, integral) for w in first for z in second]
    line = [(bandwidth, damping, i) for i in third]
    points = list(dict.fromkeys(grid + line))  # the scenario's own is in both
    scenarios = [scenario.with_values(dict(zip(keys, gains, strict=True))) for gains in points]
    outcomes = campaign.fly([Batch(s, runs) for s in scenarios])
    flown = [outcome_dataset(one, runs, seed) for one in outcomes]
    good = [successes(ds) for ds in flown]
    own = good[points.index(now)]
    columns: dict[str, list[Any]] = {}
    for s, ds, met in zip(scenarios, flown, good, strict=True):
        row: dict[str, Any] = _margins(s) | {"overshoot": flown_overshoot(s, seed, fly_trace)}
        tilt = np.where(np.isfinite(ds["tilt"].to_numpy()), ds["tilt"].to_numpy(), np.inf)
        row |= {
            "gimbal_travel": float(np.nanmedian(_column(ds, "gimbal_travel"))),
            "gimbal_saturation": float(np.nanquantile(_column(ds, "gimbal_saturation"), 0.95)),
            "tilt": quantile_table(tilt, (0.95,), confidence, lowest=0.0)[0],
            "success": clopper_pearson(int(met.sum()), flights, confidence),
            "p_value": mcnemar_exact(int(np.sum(own & ~met)), int(np.sum(met & ~own))),
        }
        for name, value in row.items():
            columns.setdefault(name, []).append(value)
    units = {"gimbal_travel": "rad", "tilt": "rad"}
    entries: dict[str, Any] = {}
    for name, values in columns.items():
        unit = units.get(name) or ("rad" if "phase" in name else "s" if "delay" in name else "1")
        bound, more = ((3,), ("bound",)) if np.ndim(values[0]) == 1 else ((), ())
        every = dict(zip(points, values, strict=True))
        table = np.reshape([every[p] for p in grid], (len(first), len(second), *bound))
        entries[name] = (("bandwidth", "damping", *more), table, {"units": unit})
        alone = np.array([every[p] for p in line])
        entries[f"integral_{name}"] = (("integral", *more), alone, {"units": unit})
    coords = {
        "bandwidth": ("bandwidth", first, {"units": "rad/s"}),
        "damping": ("damping", second, {"units": "1"}),
        "integral": ("integral", third, {"units": "1/s"}), "bound": list(BOUND),
    }  # fmt: skip
    attrs = {
        "title": "attitude gains", "vehicle": scenario.title, "flights": flights,
        "confidence": confidence, "bandwidth_now": now[0], "damping_now": now[1], "seed": seed,
        "integral_now": now[2],
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _column(ds: Dataset, name: str) -> Floats:
    return ds[name].to_numpy() if name in ds else np.zeros(ds.sizes["run"])


def _margins(scenario: Scenario) -> dict[str, float]:
    """Least margins of both burns, and the overshoot that the linear loop has in the climb."""
    fields = _fields(scenario)
    found: dict[str, float] = {"overshoot_linear": math.nan}
    for motor in ("ascent", "landing"):
        steered = scenario.has(f"{motor}_motor") and scenario.has(mount_of(motor, scenario))
        loop = attitude_loop(scenario, fields, motor) if steered else None
        margins = least_margins(loops_of_burn(scenario, fields, motor)) if loop else None
        for name in ("phase_margin", "gain_margin", "delay_margin"):
            found[f"{motor}_{name}"] = float(getattr(margins, name)) if margins else math.nan
        if motor == "ascent" and loop is not None:
            start, end = (
                scenario.numbers[f"flight_computer.climb_tilt_{end}"].value
                for end in ("start", "end")
            )
            found["overshoot_linear"] = linear_overshoot(loop, end - start)
    return found


def _fields(scenario: Scenario) -> dict[str, float]:
    from sim.ensemble.prepare import flight_inputs
    from sim.flight_records import INPUTS

    column = flight_inputs({}, scenario, 1)[:, 0]
    return dict(zip(INPUTS, map(float, column), strict=True))


def linear_overshoot(loop: Loop, duration: float) -> float:
    """Overshoot [1] of the linear loop after a step of the angle wanted.

    Parameters
    ----------
    loop : Loop
    duration : float [s]
        That the step lasts; a slower peak is not seen.

    Notes
    -----
    The rate is fed back from what is measured, not from what is wanted: without servo, delay and
    integral the overshoot is exp(-pi z / sqrt(1 - z^2)) (reference R10.8, any control text).
    """
    lag = round(loop.delay / STEP)
    asked = np.zeros(lag + 1)
    angle = rate = summed = servo = servo_rate = peak = 0.0
    w = loop.servo_frequency
    for i in range(round(duration / STEP)):
        error = 1.0 - angle
        summed += loop.integral * error * STEP
        asked[i % (lag + 1)] = loop.stiffness * (error + summed) - loop.rate_gain * rate
        command = asked[(i + 1) % (lag + 1)] if i >= lag else 0.0
        if math.isfinite(w):
            slowing = 2.0 * loop.servo_damping * w * servo_rate
            servo_rate += STEP * (w * w * (command - servo) - slowing)
            servo += STEP * servo_rate
        else:
            servo = command
        rate += STEP * servo
        angle += STEP * rate
        if not abs(angle) < 1e6:
            return math.inf
        peak = max(peak, angle)
    return max(peak - 1.0, 0.0)


def flown_overshoot(scenario: Scenario, seed: int, fly_trace: FlyTrace | None) -> float:
    """Overshoot [1] of the nominal pitch-over in still air, lean by the programme.

    Returns
    -------
    float
        nan where there is no pitch-over to see.
    """
    wanted = float(scenario.numbers["flight_computer.climb_tilt"].value)
    if not scenario.has("ascent_gimbal") or wanted <= 0.0:
        return math.nan
    values = {"flight_computer.climb": "programme"}
    still = scenario.with_values(values | ({"wind.speed": 0.0} if scenario.has("wind") else {}))
    trace_one = fly_trace or _default_trace()
    outcomes, trace = trace_one(still, seed, None, {})  # type: ignore[arg-type]
    time = np.asarray(trace["time"])
    lift = float(np.asarray(outcomes["lift_off_time"]).ravel()[0])
    start, end = (
        lift + scenario.numbers[f"flight_computer.climb_tilt_{name}"].value
        for name in ("start", "end")
    )
    seen = (time >= start) & (time <= end)
    if not seen.any():
        return math.nan
    q0, q1, q2, q3 = (np.asarray(trace[f"quaternion_{i}"])[seen] for i in range(4))
    tilt = np.arccos(np.clip(2.0 * (q1 * q3 - q0 * q2), -1.0, 1.0))
    return max(float(tilt.max()) / wanted - 1.0, 0.0)


def _default_trace() -> FlyTrace:
    from functools import partial

    from sim.ensemble import fly_runs

    return partial(fly_runs.fly_trace, width=fly_runs.WIDTH)
