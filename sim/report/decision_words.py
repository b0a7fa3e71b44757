"""Words and numbers that the decision answers share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sim.report.display import amount, plain, unit_for

if TYPE_CHECKING:
    from xarray import Dataset

ALIGNMENT = {
    "plumb": "trusts the launch pad to be plumb",
    "levelled": "levels by its accelerometers",
    "measured": "is told the launch pad's tilt, measured",
}
ZEROING = {
    "none": "no accelerometer zeroed",
    "nose_axis": "the accelerometer along the nose zeroed",
    "all_axes": "all accelerometers zeroed",
}


def share(value: float) -> str:
    """Write a probability as a percentage with the digits that it has: 0.9973 as 99.73 %."""
    return f"{plain(100.0 * value, 6)} %"


def level_amount(key: str, value: float, unit: str, largest: float, digits: int = 3) -> str:
    """Write a level of an input in the unit that suits the largest of its levels."""
    shown = unit_for(key.removesuffix(".spread"), unit, largest)
    return amount(value, unit, shown, digits, difference=shown != unit)


def alignment_sentence(about: Dataset) -> str:
    """Name the alignment and the zeroing in use."""
    attitude, zeroing = (str(about.attrs[name]) for name in ("alignment", "zeroing"))
    return (
        f"Alignment {attitude} ({ALIGNMENT[attitude]}); zeroing {zeroing} ({ZEROING[zeroing]})."
    )
