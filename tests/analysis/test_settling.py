"""How figures settle: both kinds of bounds against their own rooms, and what they promise."""

import numpy as np
import pytest

from sim.analysis.landing_box import landing_box
from sim.analysis.settling import RULE, STATISTICS, Flown, figures, growing, settling, spread
from sim.analysis.stopping import Aim, verdict
from sim.analysis.touchdown import touchdown

FIXED, FREE = RULE.index("fixed_size"), RULE.index("any_time")


def test_settling__the_last_is_what_the_whole_ensemble_says(ensemble):
    ds = ensemble(400, failed=(5, 4, 3, 2, 1, 0, 1))
    found = settling(ds, points=8)
    assert found["flights"].to_numpy()[-1] == 400
    box, contact = landing_box(ds), touchdown(ds)
    last = found.isel(flights=-1).sel(rule="fixed_size")
    assert np.allclose(last["success"], contact["success"])
    for name, percent in (("radius_95", 95.0), ("circular_error_probable", 50.0)):
        assert np.allclose(last[name], box["miss"].sel(percent=percent)), name


def test_figures__any_time_costs_more_and_holds_the_other(ensemble, random):
    flown = Flown(random.random(900) < 0.8, random.random(900), random.random(900))
    found = figures(flown, 0.95)
    assert np.all(found[:, FREE, 0] < found[:, FIXED, 0])
    assert np.all(found[:, FREE, 2] > found[:, FIXED, 2])
    assert np.array_equal(found[:, FREE, 1], found[:, FIXED, 1])


@pytest.mark.slow
def test_figures__whoever_keeps_looking_is_right_with_one_kind_only(random, covers):
    """Looked at after every 20 flights of 1,000: how often the truth is ever left out."""
    looks, trials, chance = range(20, 1001, 20), 400, 0.8
    held = np.zeros(len(RULE), dtype=int)
    for _ in range(trials):
        good = random.random(1000) < chance
        seen = np.array([
            figures(Flown(good[:n], np.ones(n), np.ones(n)), 0.9)[0][:, [0, 2]] for n in looks
        ])  # fmt: skip
        held += np.all((seen[:, :, 0] <= chance) & (seen[:, :, 1] >= chance), axis=0)
    covers(held[FREE], trials, 0.9)
    assert held[FIXED] < 0.8 * trials  # which is why there are two kinds


def test_growing__ends_at_all_of_them():
    assert growing(1000, 5)[-1] == 1000
    assert growing(7, 5) == [7]
    assert growing(5000, 9) == sorted(set(growing(5000, 9)))


def test_spread__is_the_larger_side():
    assert spread("success", np.array([0.7, 0.8, 0.85])) == pytest.approx(0.1)
    assert spread("radius_95", np.array([4.0, 5.0, 7.0])) == pytest.approx(0.4)
    assert spread("radius_95", np.array([4.0, 5.0, np.inf])) == np.inf


def level(success, others=0.01):
    rows = np.ones((len(STATISTICS), len(RULE), 3)) * np.array([1.0 - others, 1.0, 1.0 + others])
    rows[0] = success
    return rows


def test_verdict__stops_when_all_is_known_and_the_claim_is_decided():
    known = level((0.79, 0.80, 0.81))
    assert verdict([known], 500, Aim(0.05, 0.7), independent=True).may_stop is True
    assert verdict([known], 500, Aim(0.05, 0.7), independent=True).claims == ("shown",)
    assert verdict([known], 500, Aim(0.05, 0.9), independent=True).claims == ("refuted",)
    still = verdict([known], 500, Aim(None, 0.8), independent=True)
    assert (still.may_stop, still.claims) == (False, ("open",))
    loose = verdict([known, level((0.7, 0.8, 0.9))], 500, Aim(0.05, None), independent=True)
    assert loose.may_stop is False
    assert set(loose.open) == {"success"}
    assert loose.about == pytest.approx(2000, abs=1)  # twice too wide: four times as many
    assert verdict([known], 500, Aim(), independent=False).may_stop is None
    assert verdict([], 0, Aim(), independent=True).may_stop is False
