"""Bounds of landing pads that stay true although one looks and may fly on."""

import numpy as np
import pytest

from sim.analysis.circle import Circle, Rectangle, circle_distance, rectangle_excess
from sim.analysis.pad_size import flights_for_slack, pad_sizes
from sim.analysis.planned import planned_looks


def make(ensemble, points):
    ds = ensemble(len(points))
    ds["miss_east"][:], ds["miss_north"][:] = points[:, 0], points[:, 1]
    ds["miss_distance"][:] = np.hypot(points[:, 0], points[:, 1])
    return ds


def bivariate(random, size):
    return random.standard_normal((size, 2)) * (1.0, 0.5) + (0.4, -0.2)


def heavy(random, size):
    wide = np.where(random.random(size) < 0.1, 6.0, 1.0)
    return random.standard_normal((size, 2)) * wide[:, None]


def discrete(random, size):
    return random.integers(-3, 4, (size, 2)).astype(float)


def hold(truth, found):
    """Share of the law that the circle and the rectangle hold."""
    row = {name: float(found[name]) for name in found.data_vars}
    circle = Circle(row["circle_east"], row["circle_north"], row["circle_radius"])
    box = Rectangle(row["rectangle_east"], row["rectangle_north"], row["rectangle_azimuth"],
                    0.5 * row["rectangle_length"], 0.5 * row["rectangle_width"])  # fmt: skip
    round_one = np.mean(circle_distance(circle, truth) <= circle.radius + 1e-9)
    return round_one, np.mean(rectangle_excess(box, truth) <= 1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("law", [bivariate, heavy, discrete])
def test_pad_sizes__coverage_at_all_planned_looks(law, random, covers, ensemble):
    """The pilot plans the looks; a bound that is wrong at any of them is a miss. 150 of each law.

    All looks are judged, whether one would have stopped before them or not, so this holds for every
    rule of stopping.
    """
    trials, share, confidence, hits = 150, 0.8, 0.9, {"circle": 0, "rectangle": 0}
    truth, planned = law(random, 100_000), []
    for _ in range(trials):
        points = law(random, 900)
        first = flights_for_slack(make(ensemble, points[:100]), share=share, confidence=confidence,
                                  within=0.35)  # fmt: skip
        looks = planned_looks(first, 800, least=60)
        planned.append(len(looks))
        good = np.array([True, True])
        for look in looks:
            found = pad_sizes(
                make(ensemble, points[: 100 + look.flights]), foot_radius=0.0, probability=[share],
                confidence=confidence, pilot=100, risk=look.risk,
            ).isel(probability=0)  # fmt: skip
            # the share held is known to four standard errors of 100,000 flights
            good &= np.array(hold(truth, found)) >= share - 0.005
        for name, held in zip(hits, good, strict=True):
            hits[name] += int(held)
    if law is bivariate:
        assert np.mean(planned) > 1.5
    for count in hits.values():
        covers(count, trials, confidence)


def test_flights_for_slack__foretells_the_slack(ensemble, random):
    """At the number of flights foretold, the slack is what was asked, on average over pilots."""
    slack = []
    for _ in range(20):
        points = bivariate(random, 12_000)
        within = 0.1
        wanted = flights_for_slack(make(ensemble, points[:2000]), share=0.9, confidence=0.95,
                                   within=within)  # fmt: skip
        assert 200 < wanted < 10_000
        found = pad_sizes(
            make(ensemble, points[: 2000 + int(wanted)]), foot_radius=0.0, probability=[0.9],
            confidence=0.95, pilot=2000,
        ).isel(probability=0)  # fmt: skip
        slack.append(max(float(found["circle_slack"]), float(found["rectangle_slack"])))
    assert np.mean(slack) == pytest.approx(within, rel=0.2)


def test_flights_for_slack__unknown_if_too_few_stand(ensemble, random):
    ds = make(ensemble, bivariate(random, 100))
    ds["outcome"][:] = 2
    assert np.isinf(flights_for_slack(ds, share=0.9, confidence=0.95, within=0.1))


def test_pad_sizes__slack_is_bound_minus_quantile(ensemble, random):
    points = bivariate(random, 4000)
    found = pad_sizes(make(ensemble, points), foot_radius=0.3, probability=[0.9],
                      confidence=0.95, pilot=500).isel(probability=0)  # fmt: skip
    centre = np.array([float(found["circle_east"]), float(found["circle_north"])])
    reach = np.sort(np.hypot(*(points[500:] - centre).T))
    shown = float(found["circle_radius"]) - float(found["circle_slack"])
    assert shown == pytest.approx(np.quantile(reach, 0.9) + 0.3, abs=1e-9)
    assert 0.0 < float(found["circle_slack"]) < 0.2
    assert 0.0 < float(found["rectangle_slack"]) < 0.2


def test_pad_sizes__infinite_slack_without_a_bound(ensemble, random):
    found = pad_sizes(make(ensemble, bivariate(random, 60)), foot_radius=0.0, probability=[0.99],
                      confidence=0.95, pilot=30)  # fmt: skip
    assert np.isinf(float(found["circle_slack"][0]))
