"""A tiny scenario and a cheap flight, deterministic and with plain arithmetic, for these tests."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtri

from sim.errors import UserMistake

UNITS = {"deg": np.pi / 180, "m/s": 1.0, "": 1.0, "%": 0.01}


@dataclass(frozen=True)
class Law:
    kind: str
    parameters: tuple[float, ...]

    def quantile(self, u):
        if self.kind == "uniform":
            return self.parameters[0] + (self.parameters[1] - self.parameters[0]) * u
        if self.kind == "sign":
            return np.where(u < 0.5, -1.0, 1.0) * self.parameters[0]
        return self.parameters[0] + self.parameters[1] * ndtri(u)

    def spread(self):
        return {"fixed": 0.0, "sign": self.parameters[0]}.get(self.kind, self.parameters[-1])


@dataclass(frozen=True)
class Number:
    unit: str
    law: Law
    value: float = 0.0
    doc: str = "a number of the stand-in"
    source: str = "invented"


@dataclass(frozen=True)
class Group:
    names: tuple[str, ...]
    correlation: object


@dataclass(frozen=True)
class Limit:
    variable: str
    text: str


def normal(spread, unit="1"):
    return Number(unit, Law("normal", (0.0, spread)))


def fixed(value, unit="1"):
    return Number(unit, Law("fixed", (value,)), value)


def numbers():
    return {
        "launch_pad.tilt": normal(0.005, "rad"),
        "wind.speed": normal(1.0, "m/s"),
        "wind.direction": Number("rad", Law("uniform", (0.0, 6.0))),
        "sensor.bias.x": normal(0.1, "m/s2"),
        "sensor.bias.y": normal(0.1, "m/s2"),
        "gyro.noise": normal(0.1, "rad/s/sqrt(Hz)"),
        "vehicle.mass": fixed(1.3, "kg"),
    }


@dataclass(frozen=True)
class Scenario:
    numbers: dict[str, Number] = field(default_factory=numbers)
    correlated: tuple[Group, ...] = ()
    success: tuple[Limit, ...] = (
        Limit("touchdown_speed", "< 2.5 m/s"),
        Limit("tilt", "< 8 deg"),
    )
    title: str = "Stand-in"

    @property
    def text(self):
        lines = [f"{name} = {n.law.kind} {n.law.parameters}" for name, n in self.numbers.items()]
        return "\n".join(lines)

    @property
    def digest(self):
        return hashlib.sha256(self.text.encode()).hexdigest()

    def with_values(self, values):
        changed = dict(self.numbers)
        for key, given in values.items():
            amount, _, unit = str(given).partition(" ")
            value = float(amount) * UNITS[unit]
            base = key.removesuffix(".spread")
            axes = [n for n in self.numbers if n.startswith(base + ".")]
            if base in changed and base != key:
                changed[base] = replace(changed[base], law=Law("normal", (0.0, value)))
            elif key in changed:
                changed[key] = replace(changed[key], law=Law("fixed", (value,)), value=value)
            elif axes:
                for name in axes:
                    changed[name] = replace(changed[name], law=Law("sign", (value,)))
            else:
                raise UserMistake(f"unknown number {key}")
        return replace(self, numbers=changed)


def fly(scenario, seed, runs, values):
    """Outcomes from the inputs by additions and products alone; run 7 fails numerically."""
    tilt = values.get("launch_pad.tilt", scenario.numbers["launch_pad.tilt"].value)
    wind = values.get("wind.speed", scenario.numbers["wind.speed"].value)
    noise = ((runs * 2654435761 + seed) % 1000) / 1000.0
    speed = np.abs(wind) + 100.0 * np.abs(tilt) + noise
    failed = runs == 7
    return {
        "outcome": np.where(failed, 7, (runs % 3).astype(np.int8)),
        "success": ((speed < 2.5) & ~failed).astype(np.int8),
        "touchdown_speed": np.where(failed, np.nan, speed),
        "miss_distance": 1.71 * np.abs(tilt) / 0.0035 + 0.0 * runs,
        "failed_time": np.where(failed, 1.5, np.nan),
    }


def fly_trace(scenario, seed, run, values):
    time = np.arange(0.0, 1.0 + 0.1 * run, 0.1)
    return {}, {name: time * (run + 1) for name in ("time", "east", "north", "up", "tilt")} | {
        "time": time
    }
