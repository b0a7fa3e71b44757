"""Looks planned beforehand: the risks add up, and the bound is wrong no more often than that."""

import numpy as np
import pytest

from sim.analysis.order_statistics import upper_rank
from sim.analysis.planned import planned_looks
from sim.analysis.sequential import sequential_upper_rank


def test_planned_looks__spend_all_of_the_risk_and_no_more():
    for first, most in [(10.0, 1000), (999.5, 1000), (np.inf, 1000), (0.0, 7), (300.0, 40_000)]:
        looks = planned_looks(first, most)
        assert sum(look.risk for look in looks) == pytest.approx(1.0, abs=1e-12)
        assert looks[-1].flights == most
        assert np.all(np.diff([look.flights for look in looks]) > 0)


def test_planned_looks__one_look_if_all_flights_are_needed():
    assert planned_looks(np.inf, 500) == [(500, 1.0)]
    assert planned_looks(500.0, 500) == [(500, 1.0)]


def test_planned_looks__impossible():
    with pytest.raises(ValueError, match="cannot be"):
        planned_looks(10.0, 5, least=6)


def test_planned_looks__a_look_is_tighter_than_one_before_it():
    """Else a bound once not tight enough could not become so by flying on."""
    for share in (0.8, 0.95):
        over = [
            upper_rank(look.flights, share, 1.0 - 0.05 * look.risk) / look.flights - share
            for look in planned_looks(2000.0, 64_000)
        ]
        assert np.all(np.diff(over) < 0.0)


def test_planned_looks__bound_a_quantile_at_every_look(random, covers):
    """X(u) lies below the quantile just when u flights do: 20,000 sequences. False alarm 1e-6."""
    share, trials = 0.9, 20_000
    looks = planned_looks(400.0, 4000)
    assert len(looks) == 5
    steps = np.diff([0, *(look.flights for look in looks)])
    below = np.cumsum(random.binomial(steps, share, (trials, len(steps))), axis=1)
    ranks = [upper_rank(look.flights, share, 1.0 - 0.1 * look.risk) for look in looks]
    covers(int(np.all(below < ranks, axis=1).sum()), trials, 0.9)
    # fixed-sample bounds at each look, the mistake that this is about, do not hold together
    naive = [upper_rank(look.flights, share, 0.9) for look in looks]
    assert np.mean(np.all(below < naive, axis=1)) < 0.8


def test_planned_looks__far_tighter_than_a_bound_for_every_number_of_flights():
    share, look = 0.95, planned_looks(20_000.0, 40_000)[0]
    planned = upper_rank(look.flights, share, 1.0 - 0.05 * look.risk) - share * look.flights
    always = sequential_upper_rank(look.flights, share, 0.95) - share * look.flights
    assert (always / planned) ** 2 > 3.0  # in flights
