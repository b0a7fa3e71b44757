import numpy as np
import pytest

from sim.analysis.envelope import edge_holds, envelope


def test_envelope__is_of_the_flights_still_under_way():
    times = [np.arange(0.0, 1.01, 0.1)] * 30 + [np.arange(0.0, 2.01, 0.1)] * 10
    values = [np.full(len(t), float(i)) for i, t in enumerate(times)]
    found = envelope(times, values, shares=(0.0, 0.5, 1.0), step=0.1, least=20)
    assert found.time[-1] == pytest.approx(1.0)  # ten are too few after that
    assert found.flying.tolist() == [40] * len(found.time)
    assert found.rows[:, 0].tolist() == [0.0, 19.5, 39.0]
    later = envelope(times, values, shares=(0.5,), step=0.1, least=10)
    assert later.rows[0, -1] == pytest.approx(34.5)


def test_envelope__lies_between_samples():
    found = envelope([np.array([0.0, 1.0])] * 3, [np.array([0.0, 2.0])] * 3, step=0.25, least=1)
    assert found.rows[1] == pytest.approx(2.0 * found.time)


def test_envelope__of_too_few_flights_is_empty():
    found = envelope([np.arange(3.0)], [np.arange(3.0)], least=2)
    assert found.time.size == 0
    assert found.rows.shape == (3, 0)


def test_edge_holds__covers_the_share_below_a_percentile(random, covers):
    size, trials, share = 60, 2_000, 0.95
    low, high = edge_holds(size, share, 0.9)
    below = np.quantile(random.uniform(size=(trials, size)), share, axis=1)
    # between two order statistics the interpolated one is nearly, not exactly, of the beta law
    covers(int(np.sum((below >= low) & (below <= high))), trials, 0.88)
    assert np.mean((below >= low) & (below <= high)) < 0.92
    assert low < share < high
