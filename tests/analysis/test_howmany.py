"""How many flights a claim needs."""

from __future__ import annotations

import pytest
from scipy import stats

from sim.analysis.howmany import howmany
from sim.errors import UserMistake
from tests.outside import outside_check


def test_howmany__three_sigma_and_others():
    """0.9986501 and 0.9973002 are the normal 3-sigma levels (R5.33); N = 1705, 852 at 90 %.

    Hanson and Beard, NASA/TP-2010-216447 (method); R5.6 with p rounded to 0.99865 and 0.9973.
    """
    one_sided, two_sided = stats.norm.cdf(3.0), 2.0 * stats.norm.cdf(3.0) - 1.0
    assert (one_sided, two_sided) == pytest.approx((0.9986501, 0.9973002), abs=6e-8)
    for exact, rounded, needed in ((one_sided, 0.99865, 1705), (two_sided, 0.9973, 852)):
        found = howmany(success=rounded, confidence=0.90)["runs_needed"]
        assert int(found.sel(failures=0)) == needed
        assert abs(int(howmany(success=exact, confidence=0.90)["runs_needed"][0]) - needed) <= 1


def test_howmany__whether_flights_at_hand_show_it():
    result = howmany(success=0.95, confidence=0.90, runs=1000, failed=40)
    assert int(result["failures_allowed"]) == 40  # R5.7, same source
    assert bool(result["shown"])
    assert not bool(howmany(success=0.95, confidence=0.90, runs=1000, failed=41)["shown"])
    assert int(howmany(success=0.99865, confidence=0.9, runs=1000)["failures_allowed"]) == -1


def test_howmany__chance_that_the_claim_comes_out():
    result = howmany(success=0.9, expected=0.97, failures=(0, 2))
    expected = [stats.binom.cdf(0, 29, 0.03), stats.binom.cdf(2, 61, 0.03)]
    outside_check(
        what="chance that 29 and 61 flights show a success of 0.9, true success 0.97",
        source="scipy.stats.binom", expected=expected, got=result["chance_to_show"].to_numpy(),
        relative=1e-6, unit="1",
    )  # fmt: skip


@pytest.mark.parametrize(
    "wrong",
    [
        {"success": 95},
        {"success": 0.95, "confidence": 1.0},
        {"success": 0.95, "failures": (-1,)},
        {"success": 0.95, "expected": 2.0},
        {"success": 0.95, "runs": 0},
        {"success": 0.95, "failed": 3},
        {"success": 0.95, "runs": 2, "failed": 3},
    ],
)
def test_howmany__mistakes_are_said(wrong):
    with pytest.raises(UserMistake, match="is"):
        howmany(**wrong)
