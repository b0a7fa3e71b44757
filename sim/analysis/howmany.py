"""How many flights a claim needs, and how many of them may fail."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sim.analysis.order_statistics import binomial_at_most, check_share
from sim.analysis.proportions import claim_confidence, failures_allowed, runs_needed
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

FAILURES = (0, 1, 2, 3, 4, 5, 10)


def howmany(
    *,
    success: float,
    confidence: float = 0.95,
    failures: Sequence[int] = FAILURES,
    expected: float | None = None,
    runs: int | None = None,
    failed: int | None = None,
) -> Dataset:
    """Tell the runs needed and the failures allowed to claim a success probability.

    Parameters
    ----------
    success, confidence : float [1]
        The claim: success at least this, with this confidence.
    failures : sequence of int
        For which to give the runs needed.
    expected : float [1], optional
        Success one believes in; adds the chance that the claim comes out (`chance_to_show`).
    runs : int, optional
        Flights at hand; adds the failures allowed among them, -1 if none can show the claim.
    failed : int, optional
        Failures among `runs`; adds the confidence that they attain and whether they show the claim.

    Returns
    -------
    Dataset
        runs_needed(failures), and what was asked for besides.

    Raises
    ------
    UserMistake
        If a probability or a count is out of range.

    Notes
    -----
    Least N with P(binomial(N, 1 - success) <= failures) <= 1 - confidence: Wilks (1941); Hanson and
    Beard, NASA/TP-2010-216447. The number of runs is fixed beforehand; flying on until the claim
    comes out spoils it (see `sim.analysis.sequential`).
    """
    import xarray as xr

    try:
        check_share("success", success)
        check_share("confidence", confidence)
        if expected is not None:
            check_share("expected", expected)
        needed = [runs_needed(success, confidence, count) for count in failures]
    except ValueError as error:
        raise UserMistake(str(error)) from error
    entries: dict[str, Any] = {
        "runs_needed": (
            ("failures",),
            needed,
            {"units": "1", "long_name": "least runs that show the claim with so many failures"},
        )
    }
    if expected is not None:
        entries["chance_to_show"] = (
            ("failures",),
            [
                binomial_at_most(count, size, 1.0 - expected)
                for count, size in zip(failures, needed, strict=True)
            ],
            {"units": "1", "long_name": "probability that these runs show it"},
        )
    if runs is not None:
        if runs < 1:
            raise UserMistake(f"runs is {runs}; there must be at least one")
        entries["failures_allowed"] = (
            (),
            failures_allowed(runs, success, confidence),
            {"units": "1", "comment": "-1: so few runs cannot show the claim"},
        )
    if failed is not None:
        if runs is None or not 0 <= failed <= runs:
            raise UserMistake(f"failed is {failed}; give runs too, and at least as many")
        attained = claim_confidence(failed, runs, success)
        entries["confidence_attained"] = ((), attained, {"units": "1"})
        entries["shown"] = ((), attained >= confidence)
    attrs = {"title": "how many flights", "success": success, "confidence": confidence}
    coords = {"failures": ("failures", list(failures), {"units": "1"})}
    return xr.Dataset(entries, coords=coords, attrs=attrs)
