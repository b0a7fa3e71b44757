"""setdown: dispersions of small rockets that land on their motors.

    import sim

    heron = sim.load_scenario("scenarios/heron.toml")
    outcomes, trace = sim.fly(heron)
    ensemble = sim.disperse(heron, flights=1000)
    swept = sim.sweep(heron, "launch_pad.tilt=0..1 deg/11", flights=500)

All but `load_scenario` return xarray datasets. Names are imported when they are first used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sim.ensemble.fly_one import fly
    from sim.ensemble.run import disperse, sweep
    from sim.scenario import load_scenario

__all__ = ["disperse", "fly", "load_scenario", "sweep"]

_HOMES = {
    "load_scenario": "sim.scenario",
    "fly": "sim.ensemble.fly_one",
    "disperse": "sim.ensemble.run",
    "sweep": "sim.ensemble.run",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
