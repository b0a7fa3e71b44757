"""Today's readings: the compact copy of an ensemble with which a page answers on the field."""

from __future__ import annotations

import base64
import itertools
import json
import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.analysis.flights import came_down
from sim.analysis.reweight import FROM_ZERO, KINDS, LEAST_EFFECTIVE, REACH, SCORED
from sim.report.display import amount, in_unit, plain
from sim.report.page.blocks import Living, Section, Words
from sim.report.page.facts import Facts
from sim.scenario.correlated import correlation_matrix
from sim.scenario.units import conversion

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Number, Scenario

Floats = NDArray[np.float64]

MOST_CARRIED = 4_000  # flights
STEPS = 65_535  # of a value in 16 bits
# key, what to read, unit, its sign for differences, an uncertainty that is usual
READABLE = (
    ("vehicle.dry_mass", "Mass, without propellant and stage", "g", "g"),
    ("vehicle.cg", "Balance point behind the tip of the nose", "mm", "mm"),
    ("launch_pad.tilt", "Launch pad tilt, whatever its direction", "deg", "deg"),
    ("ascent_motor.grain_temperature", "Temperature of the ascent motor", "degC", "degC"),
    ("landing_motor.grain_temperature", "Temperature of the landing motor", "degC", "degC"),
    ("wind.speed", "Mean wind speed at the reference height", "m/s", "m/s"),
)  # fmt: skip


def section(facts: Facts) -> Section:
    """Form for today's readings; words instead where the ensemble has none to offer."""
    title = "With today's readings"
    if facts.scenario is None:
        return Section("today", title, [Words(f"Not offered: {facts.no_scenario}.", "small")])
    names = offered(facts.ds, facts.scenario)
    if not names:
        return Section("today", title, [Words(
            "Not offered: none of the inputs that can be measured on the field was drawn from a "
            "law whose density is known.", "small",
        )])  # fmt: skip
    data = carried(facts, names)
    margin = facts.scenario.numbers["flight_computer.ignition_margin"]
    kept = (
        "Settings on board stay as they were simulated: type a reading in here and it changes what "
        "is expected, not what is flown. The ignition margin stays at "
        f"{amount(margin.believed, margin.unit, 'm')}."
    )
    return Section("today", title, [
        Words("What the same flights say once the day's values are known. Type in what you "
              "measured and how sure you are of it (one standard deviation); leave the rest empty. "
              "Works without a network."),
        Living(
            data["inputs"], _json(data), kept,
            f"{data['flights']:,} flights are carried in this page. They are weighted by how well "
            "their drawn values fit the readings (density of a normal law about the reading over "
            "the density drawn from). Effective sample size after Kish; interval of success after "
            f"Wilson with that size, {round(100.0 * facts.confidence, 2):g} % confidence. Refused "
            f"below an effective size of {LEAST_EFFECTIVE:.0f}, and where a reading or {REACH:.0f} "
            "of its standard deviations reach beyond what was simulated.",
        ),
    ])  # fmt: skip


def offered(ds: Dataset, scenario: Scenario) -> list[str]:
    """Inputs that can be typed in: drawn, of a known density, not tied beyond what can be said."""
    found: list[str] = []
    tied = correlations(scenario, [row[0] for row in READABLE])
    for key, *_ in READABLE:
        number = scenario.numbers.get(key)
        column = key.replace(".", "__")
        if number is None or column not in ds or number.law.kind not in KINDS:
            continue
        if float(np.ptp(ds[column].isel(run=slice(0, MOST_CARRIED)).to_numpy())) == 0.0:
            continue
        mates = [other for other in found if tied.get((other, key), 0.0) != 0.0]
        kinds = [scenario.numbers[name].law.kind for name in (*mates, key)]
        if mates and (not set(kinds) <= set(SCORED) or _singular([*found, key], tied)):
            continue
        found.append(key)
    return found


def correlations(scenario: Scenario, names: list[str]) -> dict[tuple[str, str], float]:
    """Correlation of the normal scores of each pair that is drawn together."""
    members, matrix = correlation_matrix(scenario.correlated)
    place = {name: i for i, name in enumerate(members)}
    pairs = itertools.combinations(names, 2)
    found = {
        (a, b): float(matrix[place[a]][place[b]]) for a, b in pairs if a in place and b in place
    }
    return {pair: value for pair, value in found.items() if value != 0.0}


def _singular(names: list[str], tied: dict[tuple[str, str], float]) -> bool:
    matrix = np.eye(len(names))
    for (i, a), (j, b) in itertools.combinations(enumerate(names), 2):
        matrix[i, j] = matrix[j, i] = tied.get((a, b), 0.0)
    return bool(np.linalg.eigvalsh(matrix)[0] < 1e-6)


def carried(facts: Facts, names: list[str]) -> dict[str, Any]:
    """Everything that the page needs, ready for JSON; arrays as base64 of little-endian numbers."""
    assert facts.scenario is not None
    ds = facts.ds.isel(run=slice(0, MOST_CARRIED))
    down = came_down(ds)
    success = ds["success"].to_numpy() == 1
    pad = "inside_landing_pad" in ds and facts.scenario.has("landing_pad")
    inside = down & (ds["inside_landing_pad"].to_numpy() == 1) if pad else np.zeros_like(down)
    flags = success * 1 + inside * 2 + down * 4
    tied = correlations(facts.scenario, names)
    return {
        "flights": int(ds.sizes["run"]), "of": facts.flights, "pad": bool(pad),
        "confidence": facts.confidence, "least": LEAST_EFFECTIVE, "reach": REACH,
        "score": _score(facts.confidence), "flags": _text(flags.astype("<u1")),
        "east": _packed(ds["miss_east"].to_numpy(), down),
        "north": _packed(ds["miss_north"].to_numpy(), down),
        "speed": _packed(ds["touchdown_speed"].to_numpy(), down),
        "ignition": _ignition(ds),
        "inputs": [_input(row, facts.scenario.numbers[row[0]], ds) for row in READABLE
                   if row[0] in names],
        "correlated": [[names.index(a), names.index(b), value] for (a, b), value in tied.items()],
    }  # fmt: skip


def _ignition(ds: Dataset) -> dict[str, Any] | None:
    """Heights at which the landing motor lights; 0 where it never does."""
    if "ignition_height" not in ds:
        return None
    height = ds["ignition_height"].to_numpy()
    lit = np.isfinite(height)
    return _packed(np.where(lit, height, 0.0), np.ones_like(lit)) if lit.any() else None


def _score(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 * (1.0 + confidence)))


def _input(row: tuple[str, str, str, str], number: Number, ds: Dataset) -> dict[str, Any]:
    key, label, unit, size = row
    values = ds[key.replace(".", "__")].to_numpy()
    factor, offset = conversion(unit, number.unit)
    packed = _packed(values, np.isfinite(values))
    natural = number.law.kind in FROM_ZERO
    ends = (0.0 if natural else packed["low"], packed["high"])
    low, high = (in_unit(end, number.unit, unit) for end in ends)
    spread = number.law.spread() / factor
    return {
        "name": key, "label": label, "unit": unit, "size": size, "factor": factor,
        "offset": offset, "kind": number.law.kind, "parameters": list(number.law.parameters),
        "natural": natural, "values": packed,
        "range": f"{plain(low, 4 if low > 100.0 else 2)} to {plain(high)} {unit}",
        "example": plain(in_unit(number.value, number.unit, unit), 4)
        if number.value else plain(0.5 * (low + high), 2),
        "doubt": plain(0.3 * spread, 1),
    }  # fmt: skip


def _packed(values: Floats, known: NDArray[np.bool_]) -> dict[str, Any]:
    """16 bits a value between the least and the largest; what is not known becomes the least."""
    there = values[known]
    low, high = (float(there.min()), float(there.max())) if there.size else (0.0, 0.0)
    width = high - low if high > low else 1.0
    steps = np.rint(STEPS * (np.where(known, values, low) - low) / width)
    return {"low": low, "high": high, "text": _text(steps.astype("<u2"))}


def unpacked(packed: dict[str, Any]) -> Floats:
    """Values as the page reads them."""
    steps = np.frombuffer(base64.b64decode(packed["text"]), dtype="<u2").astype(np.float64)
    return np.asarray(packed["low"] + (packed["high"] - packed["low"]) * steps / STEPS)


def _text(array: NDArray[Any]) -> str:
    return base64.b64encode(array.tobytes()).decode("ascii")


def _json(data: dict[str, Any]) -> str:
    """JSON that can stand inside a page: no character that could end the element it is in."""
    assert all(math.isfinite(x) for i in data["inputs"] for x in i["parameters"])
    return json.dumps(data, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
