"""The landing box from invented ensembles, failed flights included."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from sim.analysis.landing_box import PAD_STATES, landing_box, pad_radius
from sim.analysis.radial import normal_radius
from sim.errors import UserMistake

INF = np.inf


def _state(box):
    return PAD_STATES[int(box["landing_pad_state"])]


def test_landing_box__percentiles_count_flights_that_never_came_down(ensemble):
    ds = ensemble(size=1000, failed=(0, 0, 0, 0, 10, 5, 15))
    box = landing_box(ds)
    assert (int(box["flights"]), int(box["came_down"]), int(box["not_down"])) == (1000, 970, 30)
    miss = np.sort(np.nan_to_num(ds["miss_distance"].to_numpy(), nan=INF))
    found = box["miss"].sel(percent=95, bound=["lower", "upper"]).to_numpy()
    # ranks 936 and 964 of 1000 for the 95th percentile at 95 % (binomial; R5.4)
    assert found == pytest.approx([miss[935], miss[963]])
    assert box["miss"].sel(percent=95, bound="estimate") == pytest.approx(
        miss[949] + 0.05 * (miss[950] - miss[949])
    )
    assert np.isinf(box["miss"].sel(percent=99, bound=["estimate", "upper"])).all()
    assert list(box["miss_rank"].sel(percent=95)) == [936, 964]
    assert float(box["miss_confidence"].sel(percent=95)) == pytest.approx(0.9581, abs=5e-5)


def test_landing_box__a_number_beside_a_numerical_failure_still_counts_as_far(ensemble):
    """A stale miss left in a flight that failed must not be read as a landing."""
    ds = ensemble(size=100, failed=(0, 0, 0, 0, 0, 0, 30))
    ds["miss_distance"] = ds["miss_distance"].fillna(0.0)
    box = landing_box(ds)
    assert int(box["not_down"]) == 30
    assert np.isinf(box["miss"].sel(percent=80, bound="estimate"))


def test_landing_box__one_sided_bound_of_fifty_nine_is_the_largest(ensemble):
    """n = 59 is the least that bounds the 95th percentile at 95 %: Wilks (1941); R5.2."""
    ds = ensemble(size=59)
    largest = float(ds["miss_distance"].max())
    assert float(landing_box(ds)["miss_95_upper"]) == largest
    assert float(landing_box(ds.isel(run=slice(58)))["miss_95_upper"]) == INF


def test_landing_box__bias_covariance_and_ellipse(ensemble):
    ds = ensemble(size=500)
    box = landing_box(ds)
    east, north = ds["miss_east"].to_numpy(), ds["miss_north"].to_numpy()
    centred = box["covariance"].sel(about="centre").to_numpy()
    assert centred == pytest.approx(np.cov(east, north))
    about_mark = box["covariance"].sel(about="mark").to_numpy()
    assert about_mark[0, 0] == pytest.approx(np.mean(east**2))
    assert about_mark[0, 1] == pytest.approx(np.mean(east * north))
    bias = box["bias"].sel(bound="estimate").to_numpy()
    assert bias == pytest.approx([east.mean(), north.mean()])
    assert float(box["bias_distance"]) == pytest.approx(np.hypot(*bias))
    sigma = box["sigma"].sel(about="centre").to_numpy()
    assert sigma**2 == pytest.approx(np.linalg.eigvalsh(centred)[::-1])
    # the wide axis of the invented law is east: azimuth near 90 deg, six standard errors
    assert float(box["azimuth"].sel(about="centre")) == pytest.approx(np.pi / 2, abs=0.35)
    assert box["ellipse_scale"].to_numpy() == pytest.approx([1.177410, 2.447747], abs=6e-7)


def test_landing_box__centred_radii_do_not_feel_the_bias(ensemble):
    ds = ensemble(size=2000, bias=(30.0, -40.0), sigma=(1.0, 1.0))
    box = landing_box(ds)
    radii = box["circular_error_probable"].sel(bound="estimate").to_numpy()
    assert radii[0] == pytest.approx(50.0, abs=0.2)
    # circular normal: CEP 1.17741 sigma (Rayleigh; R5.17); standard error 0.7213 / sqrt(n) of it
    # for the sample median (R5.25): five of them
    assert radii[1] == pytest.approx(1.17741, rel=5 * 0.7213 / np.sqrt(2000))
    inside = box["radius_95"].sel(about="centre")
    assert inside.sel(bound="lower") < 2.447747 * 1.05
    assert inside.sel(bound="upper") > 2.447747 * 0.95


def test_landing_box__says_whether_the_ellipse_may_be_believed(ensemble, random):
    ds = ensemble(size=800)
    assert float(landing_box(ds)["normal_p_value"]) > 1e-6
    stretch = np.where(random.random(800) < 0.1, 6.0, 1.0)
    for name in ("miss_east", "miss_north", "miss_distance"):
        ds[name] = ds[name] * stretch
    box = landing_box(ds)
    assert int(box["normal"]) == 0
    assert float(box["normal_p_value"]) < 1e-6
    assert np.all((box["ellipse_found"] > 0.3) & (box["ellipse_found"] < 1.0))


def test_landing_box__shares_and_centred_radii_are_of_all_flights(ensemble):
    """With six flights in ten lost, no ellipse holds more than four in ten, and half is nowhere."""
    box = landing_box(ensemble(size=500, failed=(0, 0, 0, 0, 0, 0, 300)))
    assert float(box["ellipse_found"].sel(share=0.95)) <= 0.4
    assert np.isinf(box["circular_error_probable"].sel(bound="estimate")).all()


def test_landing_box__normal_radius_from_the_fitted_law(ensemble):
    ds = ensemble(size=4000, bias=(0.5, 0.0), sigma=(1.0, 0.4))
    truth = [normal_radius(p, 1.0, 0.4, (0.5, 0.0)) for p in (0.5, 0.95)]
    assert landing_box(ds)["normal_radius"].to_numpy() == pytest.approx(truth, rel=0.06)


def test_landing_box__pad_counts_leg_spread_and_flights_not_on_their_feet(ensemble):
    ds = ensemble(size=1000, failed=(5, 4, 3, 2, 1, 1, 1))
    box = landing_box(ds, foot_radius=0.28)
    assert int(box["on_feet"]) == 1000 - 4 - 3 - 2 - 1 - 1 - 1
    assert _state(box) == "attained"
    reach = ds["miss_distance"].to_numpy() + 0.28
    reach[ds["outcome"].to_numpy() > 1] = INF
    # one-sided rank: least u with P(binomial(1000, 0.95) >= u) <= 0.05
    rank = next(u for u in range(1001) if special.bdtrc(u - 1, 1000, 0.95) <= 0.05)
    assert float(box["landing_pad_radius"]) == np.sort(reach)[rank - 1]
    assert "landing_pad_radius" not in landing_box(ds)
    told = ds.assign_attrs(scenario='[legs]\nfoot_radius = "0.28 m"')
    assert landing_box(told).equals(box)


@pytest.mark.parametrize(
    ("size", "failed", "state"),
    [
        (58, 0, "too_few_flights"),
        (59, 0, "attained"),
        (59, 1, "not_shown"),
        (59, 4, "not_attainable"),
    ],
)
def test_landing_box__pad_says_what_stands_in_the_way(ensemble, size, failed, state):
    ds = ensemble(size=size, failed=(0, 0, failed, 0, 0, 0, 0))
    box = landing_box(ds, foot_radius=0.3)
    assert _state(box) == state
    assert np.isfinite(float(box["landing_pad_radius"])) == (state == "attained")
    assert int(box["landing_pad_flights_needed"]) == 59


def test_landing_box__contact_by_the_nozzle_is_not_on_the_feet(ensemble):
    ds = ensemble(size=100)
    ds["contact_point"][:7] = 2
    assert int(landing_box(ds)["on_feet"]) == 93


def test_landing_box__an_outcome_it_does_not_know_is_not_on_its_feet(ensemble):
    ds = ensemble(size=100)
    ds["outcome"][:9] = 8
    ds["outcome"].attrs["flag_values"] = np.arange(9, dtype=np.int8)
    ds["outcome"].attrs["flag_meanings"] += " bounced_away"
    box = landing_box(ds)
    assert (int(box["on_feet"]), int(box["came_down"])) == (91, 100)


def test_landing_box__reads_a_file_without_flag_attributes(ensemble):
    ds = ensemble(size=60, failed=(1, 1, 1, 1, 1, 1, 1))
    expected = landing_box(ds, foot_radius=0.3)
    for name in ("outcome", "contact_point"):
        ds[name].attrs.clear()
    assert landing_box(ds, foot_radius=0.3).equals(expected)


def test_landing_box__no_flight_came_down(ensemble):
    box = landing_box(ensemble(size=80, failed=(0, 0, 0, 0, 80, 0, 0)), foot_radius=0.3)
    assert np.isinf(box["miss"].sel(bound="estimate")).all()
    assert np.isnan(box["bias"].sel(bound="estimate")).all()
    assert _state(box) == "not_attainable"


def test_landing_box__every_number_carries_its_unit(ensemble):
    box = landing_box(ensemble(size=100), foot_radius=0.3)
    for name, variable in box.data_vars.items():
        assert "units" in variable.attrs or "flag_meanings" in variable.attrs, name


def test_landing_box__mistakes_are_said(ensemble):
    ds = ensemble(size=60)
    with pytest.raises(UserMistake, match="miss_east, miss_north"):
        landing_box(ds.drop_vars(["miss_east", "miss_north"]))
    with pytest.raises(UserMistake, match="swept over launch_pad_tilt"):
        landing_box(ds.expand_dims(launch_pad_tilt=[0.0, 0.1]))
    with pytest.raises(UserMistake, match="no flights"):
        landing_box(ds.isel(run=slice(0)))
    with pytest.raises(UserMistake, match="weights"):
        landing_box(ds.assign(weight=("run", np.linspace(0.5, 1.5, 60))))
    landing_box(ds.assign(weight=("run", np.ones(60))))


def test_landing_box__leaves_the_ensemble_as_it_was(ensemble):
    ds = ensemble(size=60, failed=(1, 1, 1, 1, 1, 1, 1))
    before = ds.copy(deep=True)
    landing_box(ds, foot_radius=0.3)
    assert ds.identical(before)


# ---- coverage; false-alarm rate 1e-6 each --------------------------------------------------------


def _pad_laws(random, size):
    """Distance of the outermost foot, and the law's share within a radius, flights failing 2 %."""
    failed = random.random(size) < 0.02
    biased = np.hypot(0.8 + random.standard_normal(size), random.standard_normal(size))
    yield np.where(failed, INF, biased), lambda r: 0.98 * special.chndtr(r * r, 2, 0.64)
    wide = np.where(random.random(size) < 0.1, 9.0, 1.0)
    tailed = wide * np.sqrt(-2.0 * np.log(random.random(size)))

    def held(r):
        return 0.98 * (0.9 * -np.expm1(-0.5 * r * r) + 0.1 * -np.expm1(-0.5 * (r / 9.0) ** 2))

    yield np.where(failed, INF, tailed), held
    steps = random.poisson(4.0, size).astype(float)
    yield np.where(failed, INF, steps), lambda r: 0.98 * special.pdtr(np.floor(r), 4.0)


def test_pad_radius__takes_the_share_claimed_as_often_as_claimed(random, covers):
    """The true share of all flights that a radius takes is at least 90 %, 19 times of 20."""
    trials, hits = 2000, np.zeros(3, dtype=int)
    for _ in range(trials):
        for law, (sample, held) in enumerate(_pad_laws(random, 150)):
            radius, _, _ = pad_radius(sample, 0.90, 0.95)
            hits[law] += radius == INF or held(radius) >= 0.90
    for count in hits.tolist():
        covers(count, trials, 0.95)


def test_landing_box__centred_radius_covers_although_its_centre_is_estimated(ensemble, covers):
    """Circular error probable about the mean, 40 flights, truth 1.17741 sigma (Rayleigh; R5.17).

    Taking the sample mean as given costs a little: 93 % is allowed. False-alarm rate 1e-6.
    """
    trials, hits = 60, 0
    for _ in range(trials):
        box = landing_box(ensemble(size=40, sigma=(1.0, 1.0)))
        low, _, high = box["circular_error_probable"].sel(about="centre").to_numpy()
        hits += low <= 1.177410 <= high
    covers(hits, trials, 0.93)
