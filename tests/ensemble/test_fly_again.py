import numpy as np
import pytest
import xarray as xr

from sim.ensemble import fly_runs
from sim.ensemble.fly_again import fly_again, stored_scenario
from sim.errors import UserMistake
from sim.scenario import load_scenario


@pytest.fixture(scope="module")
def heron():
    from pathlib import Path

    return load_scenario(Path(__file__).parents[2] / "scenarios" / "heron.toml")


def _stored(scenario, size=6):
    return xr.Dataset(
        {
            "launch_pad__tilt": ("run", np.linspace(0.0, 0.01, size),
                                 {"scenario_key": "launch_pad.tilt"}),
            "touchdown_speed": ("run", np.arange(float(size))),
            "tilt": ("run", np.full(size, np.nan)),
        },
        coords={"run": np.arange(10, 10 + size)},
        attrs={"scenario": scenario.text, "seed": 7},
    )  # fmt: skip


def test_stored_scenario__is_the_one_that_was_flown(heron):
    assert stored_scenario(_stored(heron)).digest == heron.digest


@pytest.mark.parametrize(
    ("text", "said"), [("", "carries no scenario"), ("[vehicle]\nlength = 3 parsec", "cannot read")]
)
def test_stored_scenario__that_cannot_be_read_is_explained(text, said):
    with pytest.raises(UserMistake, match=said) as caught:
        stored_scenario(xr.Dataset(attrs={"scenario": text}))
    assert "/tmp" not in str(caught.value)


def test_fly_again__flies_the_draws_of_the_file_and_tells_which_differ(heron, monkeypatch):
    asked = []

    def stub(scenario, seed, run, values, *, every, width):
        asked.append((seed, run, float(values["launch_pad.tilt"][0])))
        speed = run - 10.0 if run != 12 else 99.0
        out = {"touchdown_speed": np.array([speed]), "tilt": np.array([np.nan]),
               "contact_time": np.array([9.0])}  # fmt: skip
        return out, {"time": np.arange(4) * 0.005 * every}

    monkeypatch.setattr(fly_runs, "fly_trace", stub)
    told = []
    ds = _stored(heron)
    found = fly_again(ds, heron, 4, progress=lambda done, total: told.append((done, total)))
    assert [one[:2] for one in asked] == [(7, 10), (7, 11), (7, 12), (7, 13)]
    assert [one[2] for one in asked] == ds["launch_pad__tilt"].to_numpy()[:4].tolist()
    assert found.differing == 1
    assert found.contact == [9.0] * 4
    assert told[-1] == (4, 4)
    assert len(fly_again(ds, heron, 100).runs) == 6
