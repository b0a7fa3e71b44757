import numpy as np
import pytest
from scipy import stats

from sim.analysis.ranks import noise_level, rank_correlations, ranked_inputs


def test_rank_correlations__are_those_of_scipy_ties_too(random):
    inputs = np.vstack([random.normal(size=400), random.integers(0, 3, 400).astype(float)])
    outcome = inputs[0] ** 3 + random.normal(size=400)
    found = rank_correlations(inputs, outcome)
    for row, value in zip(inputs, found, strict=True):
        assert value == pytest.approx(stats.spearmanr(row, outcome).statistic, abs=1e-12)


def test_rank_correlations__of_what_does_not_vary_are_not_known(random):
    found = rank_correlations(np.vstack([np.ones(50), random.normal(size=50)]), np.arange(50.0))
    assert np.isnan(found[0])
    assert np.isfinite(found[1])


def test_noise_level__is_rarely_passed_by_any_of_many_unrelated_inputs(random, covers):
    level, trials = noise_level(200, 30, 0.9), 400
    quiet = sum(
        np.abs(rank_correlations(random.normal(size=(30, 200)), random.normal(size=200))).max()
        < level
        for _ in range(trials)
    )
    covers(quiet, trials, 0.9)
    assert quiet < trials  # nor so high that nothing ever passes


def test_ranked_inputs__finds_the_cause_and_leaves_out_flights_that_never_came_down(ensemble):
    ds = ensemble(failed=(0, 0, 0, 0, 5, 0, 5))
    ds["vehicle__dry_mass"] = ("run", 3.0 * ds["tilt"].fillna(0.0).to_numpy(),
                               {"scenario_key": "vehicle.dry_mass"})  # fmt: skip
    found = ranked_inputs(ds, confidence=0.95)
    assert found["input"].to_numpy().tolist() == ["vehicle.dry_mass"]
    assert float(found["correlation"].sel(quantity="tilt").item()) == pytest.approx(1.0)
    assert int(found["flights"].sel(quantity="tilt")) == 390


def test_ranked_inputs__without_inputs_or_landings_is_empty(ensemble):
    assert ranked_inputs(ensemble()).sizes["quantity"] == 0
