"""Faults: a section kept for them. No fault can be written yet; any key in it is a mistake."""

from __future__ import annotations

from sim.scenario.declare import Part


class Faults(Part):
    """Reserved; may stand in a file but has no keys yet."""
