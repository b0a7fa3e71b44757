"""Cells of grids on screen, and the best of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from xarray import DataArray


def best_place(success: DataArray) -> dict[str, int]:
    """Place of the best estimate in a grid; of equals the first."""
    middle = success.sel(bound="estimate")
    flat = int(np.argmax(middle.to_numpy()))
    place = np.unravel_index(flat, middle.shape)
    return {str(dim): int(i) for dim, i in zip(middle.dims, place, strict=True)}


def success_cell(row: Any) -> str:
    """Success in percent with its bounds in brackets."""
    low, middle, high = (100.0 * float(x) for x in row)
    return f"{middle:.0f} ({low:.0f} to {high:.0f})"
