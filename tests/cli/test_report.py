"""The verb `report`: where it writes, what it refuses, and what it says."""

import json

import pytest

pytestmark = pytest.mark.slow  # what they share with other tests is fast there

BLANK = '<svg viewBox="0 0 4 3"><path d="M0 0h4v3z"/></svg>'


@pytest.fixture(autouse=True)
def undrawn(monkeypatch):
    """Leave figures blank: they are drawn in the tests of the page."""
    from sim.report.page import drawing

    monkeypatch.setattr(drawing, "_saved", lambda name, size, paint: BLANK)


@pytest.fixture(scope="module")
def files():
    """Ensembles that tests have flown already, by what was set and the seed."""
    return {}


@pytest.fixture
def flown(heron, stubbed, here, files):
    """Fly a small ensemble of the stub; returns its name."""
    from sim.ensemble.run import disperse
    from sim.scenario import load_scenario

    def fly(name="out.nc", *sets, seed=1):
        if (sets, seed) not in files:
            scenario = load_scenario(heron, sets)
            disperse(scenario, flights=64, out=name, seed=seed, fly=stubbed.fly).close()
            files[sets, seed] = (here / name).read_bytes()
        (here / name).write_bytes(files[sets, seed])
        return name

    return fly


def test_report__writes_beside_the_ensemble_and_answers(setdown, flown, here):
    shown = setdown("report", flown(), "--traces", 30)
    assert shown.exit_code == 0, shown.stderr
    assert "of flights succeed" in shown.stdout
    text = (here / "out.html").read_text(encoding="utf-8")
    for words in (
        '<html lang="en">', "Where it comes down", "Believed against true", "[vehicle] uncertain",
        "Clopper", "30 of 64 flights", "range safety officer",
    ):  # fmt: skip
        assert words in text, words
    assert "did not come out as the file has them" not in text


def test_report__does_not_write_over_a_page_unasked(setdown, flown, here):
    name = flown()
    (here / "out.html").write_text("mine")
    refused = setdown("report", name, "--traces", 0)
    assert refused.exit_code == 2
    assert "--replace" in refused.stderr
    assert (here / "out.html").read_text() == "mine"
    assert setdown("report", name, "--traces", 0, "--replace").exit_code == 0
    assert "of flights succeed" in (here / "out.html").read_text(encoding="utf-8")
    kept = (here / "out.nc").read_bytes()
    assert setdown("report", name, "-o", name, "--replace").exit_code == 2
    assert (here / "out.nc").read_bytes() == kept


def test_report__names_all_mistakes_at_once(setdown, flown, here):
    name = flown()
    shown = setdown("report", name, name, "other.nc", "-o", "nowhere/page.html")
    assert shown.exit_code == 2
    for words in ("3 ensembles", "given twice", "nowhere does not exist"):
        assert words in shown.stderr, words
    assert list(here.glob("*.html")) == []


@pytest.mark.slow
def test_report__flown_by_another_version_is_said(setdown, flown, here, stubbed, monkeypatch):
    from sim.ensemble import fly_runs

    name = flown()

    def other(scenario, seed, run, values, **more):
        found, series = stubbed.fly_trace(scenario, seed, run, values)
        return found | {"touchdown_speed": found["touchdown_speed"] + 0.1}, series

    monkeypatch.setattr(fly_runs, "fly_trace", other)
    assert setdown("report", name, "--traces", 25).exit_code == 0
    assert "another version of setdown flew" in (here / "out.html").read_text(encoding="utf-8")


def test_report__unfinished_is_refused_with_advice_or_shown_with_a_warning(
    setdown, heron, stubbed, here, monkeypatch
):
    from sim.ensemble import fly_runs

    def stops(scenario, seed, runs, values, width=8):
        if runs[0] >= 32:
            raise KeyboardInterrupt
        return stubbed.fly(scenario, seed, runs, values)

    monkeypatch.setattr(fly_runs, "fly_runs", stops)
    setdown("disperse", heron, "-n", 64, "-o", "out.nc", "--workers", 1)
    refused = setdown("report", "out.nc")
    assert refused.exit_code == 2
    assert "--unfinished" in refused.stderr
    assert not (here / "out.html").exists()
    assert setdown("report", "out.nc", "--unfinished", "--traces", 0).exit_code == 0
    assert "UNFINISHED ensemble: 32 of 64" in (here / "out.html").read_text(encoding="utf-8")


def test_report__of_a_file_that_is_none_of_ours(setdown, here):
    import xarray as xr

    (here / "words.nc").write_text("not netCDF at all")
    xr.Dataset({"a": ("x", [1.0])}).to_netcdf(here / "foreign.nc", engine="netcdf4")
    for name, said in (("words.nc", "cannot be read as netCDF"),
                       ("foreign.nc", "not an ensemble of setdown"),
                       ("missing.nc", "does not exist")):  # fmt: skip
        shown = setdown("report", name)
        assert shown.exit_code == 2, name
        assert said in shown.stderr
        assert "Traceback" not in shown.stderr
    assert list(here.glob("*.html")) == []


def test_report__of_a_damaged_file_says_so(setdown, flown, here):
    name = flown()
    whole = bytearray((here / name).read_bytes())
    spot = whole.find(b"\x78\x01", 4096)  # the first block that zlib packed
    assert spot > 0
    for start in range(spot, len(whole) - 64, 997):
        whole[start : start + 16] = b"\xff" * 16
    (here / name).write_bytes(whole)
    shown = setdown("report", name, "--traces", 0)
    assert shown.exit_code == 2, shown.output
    assert any(words in shown.stderr for words in ("is damaged", "cannot be read"))
    assert not (here / "out.html").exists()


def test_report__cut_short_file_says_so(setdown, flown, here):
    name = flown()
    whole = (here / name).read_bytes()
    (here / name).write_bytes(whole[: len(whole) // 2])
    shown = setdown("report", name)
    assert shown.exit_code == 2
    assert "cannot be read as netCDF" in shown.stderr


def test_report__lacking_variables_names_them(setdown, flown, here):
    import xarray as xr

    with xr.open_dataset(flown()) as ds:
        ds.drop_vars(["success", "tilt"]).to_netcdf(here / "less.nc", engine="netcdf4")
    shown = setdown("report", "less.nc")
    assert shown.exit_code == 2
    assert "success" in shown.stderr


@pytest.mark.slow
def test_report__two_ensembles_are_compared(setdown, flown, here):
    one = flown("one.nc")
    two = flown("two.nc", "launch_pad.tilt=1 deg")
    shown = setdown("report", one, two)
    assert shown.exit_code == 0, shown.stderr
    text = (here / "one_and_two.html").read_text(encoding="utf-8")
    assert "B minus A" in text
    assert "launch_pad.tilt" in text
    other = flown("three.nc", seed=9)
    refused = setdown("report", one, other)
    assert refused.exit_code == 2
    assert "seed" in refused.stderr


@pytest.mark.slow
@pytest.mark.parametrize("inputs", [1, 2])
def test_report__of_a_sweep_has_its_curves(setdown, heron, stubbed, here, inputs):
    vary = ["launch_pad.tilt=0..2 deg/3", "wind.speed=0, 2 m/s"][:inputs]
    from sim.ensemble.run import sweep
    from sim.scenario import load_scenario

    scenario = load_scenario(heron)
    sweep(scenario, vary, flights=24, out="out.nc", fly=stubbed.fly).close()
    shown = setdown("report", "out.nc")
    assert shown.exit_code == 0, shown.stderr
    text = (here / "out.html").read_text(encoding="utf-8")
    assert "24 flights at each level" in text
    assert "launch_pad.tilt" in text
    assert text.count("<figure") == 3 - inputs
    assert "Swept" in text


@pytest.mark.slow
def test_report__shows_the_budget_that_lies_beside(setdown, flown, here):
    name = flown()
    row = {"lower": 0.4, "estimate": 0.5, "upper": 0.625}
    shares = {"miss": {"wind.speed": row, "noise in flight": row | {"estimate": 0.25}}}
    budget = {
        "attributes": {"confidence": 0.95, "flights": 4096, "scenario_digest": "another"},
        "variables": {"total": {"value": shares}, "first": {"value": shares}},
    }
    beside = here / "out_budget.json"
    beside.write_text(json.dumps({"answer": "Largest source.", "budget": budget}))
    assert setdown("report", name, "--traces", 0).exit_code == 0
    text = (here / "out.html").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert "50.0 (40 to 62)" in text
    assert "is of another scenario" in text
    beside.write_text("{]")
    assert setdown("report", name, "--traces", 0, "--replace").exit_code == 0
    text = (here / "out.html").read_text(encoding="utf-8")
    assert "setdown budget SCENARIO --json" in text


@pytest.mark.slow
def test_report__json(setdown, flown, here):
    shown = setdown("report", flown(), "--json", "--traces", 0)
    found = json.loads(shown.stdout)
    assert found["page"] == "out.html"
    assert found["bytes"] == (here / "out.html").stat().st_size
    assert "of flights succeed" in found["answer"]


@pytest.mark.slow
def test_report__full_disk_leaves_the_old_page(setdown, flown, here, monkeypatch):
    from pathlib import Path

    name = flown()
    (here / "out.html").write_text("old")
    before = Path.write_text

    def full(self, text, **more):
        if self.name.endswith(".html.tmp"):
            before(self, text[:100], **more)
            raise OSError(28, "No space left on device")
        return before(self, text, **more)

    monkeypatch.setattr(Path, "write_text", full)
    shown = setdown("report", name, "--traces", 0, "--replace")
    assert shown.exit_code == 1
    assert "could not be written" in shown.stderr
    assert (here / "out.html").read_text() == "old"
    assert [p.name for p in here.iterdir() if p.suffix == ".tmp"] == []
