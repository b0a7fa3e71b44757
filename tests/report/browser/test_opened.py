"""The checks of pages find what they are for, on a page that has every fault."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.browser

BAD = """<!DOCTYPE html><html><head><title>Bad</title></head><body>
<p style="font-size: 9px">tiny words</p>
<svg viewBox="0 0 100 10" width="200"><text y="8" style="font-size: 3px">tiny drawing</text></svg>
<p style="width: 900px">wide words</p>
<img src="http://127.0.0.1:9/nothing.png">
<p style="color: #ccc; background: #fff">faint words</p>
<script>console.error("a complaint"); throw new Error("a fault");</script>
</body></html>"""


def test_checks__find_every_planted_fault(opened, tmp_path):
    path = tmp_path / "bad.html"
    path.write_text(BAD, encoding="utf-8")
    seen = opened(path, 390)
    assert any("127.0.0.1:9" in url for url in seen.asked)
    assert any("a complaint" in told for told in seen.complaints)
    assert any("a fault" in told for told in seen.complaints)
    small = " ".join(seen.too_small())
    assert "tiny words" in small
    assert "tiny drawing" in small
    assert any("wide words" in told for told in seen.beyond())
    faults = " ".join(seen.faults())
    for name in ("image-alt", "color-contrast", "html-has-lang"):
        assert name in faults
