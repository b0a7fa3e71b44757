"""Loading, defaults, layers, settings from outside, and replaced values."""

import math
import pickle
import re
import tomllib
from pathlib import Path

import numpy as np
import pint
import pytest
from small_scenario import SMALL, write_small

from sim.errors import UserMistake
from sim.scenario import load_scenario
from sim.scenario.amounts import read_amount
from sim.scenario.catalogue import PARTS, describe_keys, spec_for
from sim.scenario.declare import QuantitySpec
from sim.scenario.laws import Law

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"
DEG = math.pi / 180


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


@pytest.fixture
def small(tmp_path):
    return load_scenario(write_small(tmp_path))


# the demonstration vehicle


def test_heron__has_every_key_it_gives(heron):
    tree = tomllib.loads(HERON.read_text(encoding="utf-8"))

    def leaves(table, path=""):
        for key, value in table.items():
            name = f"{path}{key}"
            if isinstance(value, dict) and name in {*PARTS, *(p.split(".")[0] for p in PARTS)}:
                yield from leaves(value, name + ".")
            else:
                yield name

    skip = ("title", "correlated")
    for name in leaves({k: v for k, v in tree.items() if k not in (*skip, "success")}):
        axes = [n for n in heron.numbers if n.rpartition(".")[0] == name]
        known = name in heron.numbers or name in heron.choices or name in heron.curves or axes
        assert known, name
        for number in [name] if name in heron.numbers else axes:
            assert heron.numbers[number].given
            assert heron.numbers[number].line


def test_heron__numbers_are_in_si(heron):
    # against pint, for every plain quantity with a unit of one name
    registry = pint.UnitRegistry()
    names = {"deg": "degree", "h": "hour", "%": "percent"}
    checked = 0
    tree = tomllib.loads(HERON.read_text(encoding="utf-8"))
    for name, number in heron.numbers.items():
        raw = tree
        for key in name.split("."):
            raw = raw.get(key) if isinstance(raw, dict) else None
        match = re.fullmatch(r"([-+.\de]+) ([A-Za-z%]+)", raw) if isinstance(raw, str) else None
        if match and match[2] not in ("g", "mg", "ug"):
            unit = names.get(match[2], match[2])
            expected = registry.Quantity(float(match[1]), unit).to_base_units().magnitude
            assert number.value == pytest.approx(expected, rel=1e-12), name
            checked += 1
    assert checked > 40


def test_numbers__laws_are_in_si(small):
    numbers = small.numbers
    assert numbers["vehicle.dry_mass"].law == Law("normal", (1.26, 0.006))
    assert numbers["site.temperature"].value == pytest.approx(288.15)
    assert numbers["site.pressure"].value == pytest.approx(101325)
    assert numbers["launch_pad.tilt"].law.parameters == pytest.approx((0.3 * DEG,))
    assert numbers["vehicle.axial_inertia"].law.parameters == pytest.approx((1.3e-3, 6.5e-5))
    assert numbers["inertial.gyro.bias.y"].law.parameters[1] == pytest.approx(0.8 * DEG)
    assert numbers["inertial.gyro.noise"].value == pytest.approx(0.007 * DEG)
    assert numbers["inertial.gyro.noise"].unit == "rad/s/sqrt(Hz)"
    assert numbers["inertial.gyro.instability"].value == pytest.approx(8 * DEG / 3600)
    assert small.choices["legs.count"] == 4
    assert small.choices["flight_computer.schedule_gains"] is True


def test_success__and_groups(tmp_path):
    text = SMALL + 'tilt = "< 8 deg"\nfirst_contact = "foot"\n'
    small = load_scenario(write_small(tmp_path, text))
    limits = {limit.variable: limit for limit in small.success}
    assert limits["tilt"].high == pytest.approx(8 * DEG)
    assert not limits["tilt"].high_included
    assert limits["inside_landing_pad"].flag is True
    assert limits["first_contact"].flag == "foot"
    names, matrix = small.correlation_matrix()
    assert names == ("landing_motor.label_bias", "vehicle.dry_mass")
    assert matrix.tolist() == [[1.0, 0.5], [0.5, 1.0]]


def test_success__without_a_word_is_feet_first(tmp_path):
    head, _, _ = SMALL.partition("[success]")
    (limit,) = load_scenario(write_small(tmp_path, head)).success
    assert (limit.variable, limit.flag) == ("first_contact", "foot")


def test_heron__curves_are_as_logged(heron):
    logged = np.loadtxt(HERON.parent / "heron_landing.csv", delimiter=",")
    np.testing.assert_array_equal(heron.curves["landing_motor.curve"], logged)
    with pytest.raises(ValueError, match="read-only"):
        heron.curves["landing_motor.curve"][0, 0] = 1.0


def test_heron__text_reproduces_it_alone(heron, tmp_path):
    copy = tmp_path / "copy.toml"
    copy.write_text(heron.text, encoding="utf-8")
    again = load_scenario(copy)
    assert again.digest == heron.digest
    assert again.title == heron.title
    assert again.text == heron.text


def test_heron__survives_pickling(heron):
    again = pickle.loads(pickle.dumps(heron))
    assert again.digest == heron.digest
    assert again.with_values({"launch_pad.tilt": 0.01}).digest != heron.digest


# defaults


def test_absent_parts__are_there_and_do_nothing(tmp_path):
    path = tmp_path / "body.toml"
    path.write_text(
        '[vehicle]\nlength = "1 m"\ndiameter = "75 mm"\ndry_mass = "1.5 kg"\ncg = "0.5 m"\n'
        'axial_inertia = "0.004 kg m2"\ntransverse_inertia = "0.12 kg m2"\n'
        '[start]\nmode = "free"\nrate_z = "2 rad/s"\n[site]\ngravity = "none"\n'
        '[aerodynamics]\nlaw = "none"\n'
    )
    body = load_scenario(path)
    for part, model in PARTS.items():
        present = part in (
            "site", "vehicle", "aerodynamics", "launch_pad", "start", "flight", "surface"
        )  # fmt: skip
        assert body.has(part) is present, part
        for key, spec in model.specs().items():
            if isinstance(spec, QuantitySpec):
                for axis in spec.axes or ("",):
                    name = f"{part}.{key}.{axis}".rstrip(".")
                    number = body.numbers[name]
                    assert present or number.law.kind == "fixed", name
                    assert present or not number.given
    assert body.numbers["start.rate_z"].value == 2.0
    assert body.numbers["throttle.authority"].value == 0.0
    assert body.numbers["landing_motor.impulse_factor"].value == 1.0
    assert body.numbers["inertial.gyro.bias.x"].value == 0.0
    assert body.numbers["inertial.accelerometer.noise"].value == 0.0
    assert body.choices["legs.count"] == 0
    assert body.choices["flight_computer.kind"] == "none"
    assert body.choices["wind.turbulence"] == "none"
    assert body.success == ()
    assert body.title == "body"


def test_has__unknown_part(small):
    with pytest.raises(KeyError):
        small.has("wings")


def test_defaults__have_a_source_and_can_be_read():
    rows = describe_keys()
    assert len({row.key for row in rows}) == len(rows)
    for row in rows:
        assert row.doc, row.key
        assert row.required or row.source or not row.default, row.key
        _, _, _, spec = spec_for(row.key)
        if isinstance(spec, QuantitySpec):
            if spec.default is not None:
                read_amount(spec.default, spec.dimension, spec.sign)
            if spec.absent is not None:
                assert not read_amount(spec.absent, spec.dimension).law.varies
            if spec.required:
                assert spec.absent is not None or row.key.startswith("vehicle."), row.key
            if spec.believed is not None:
                assert not read_amount(spec.believed, spec.dimension).law.varies


def test_default__says_its_source(small):
    number = small.numbers["landing_motor.impulse_factor"]
    assert not number.given
    assert number.line is None
    assert number.law == Law("normal", (1.0, 0.02))
    assert "R7.6" in number.source
    assert small.numbers["stage.mass"].source == "there is no [stage]"


def test_given__says_where(small):
    number = small.numbers["vehicle.dry_mass"]
    assert number.given
    assert number.source.endswith(f"small.toml, line {number.line}")


def test_tick__follows_the_control_rate(tmp_path):
    path = write_small(tmp_path)
    assert load_scenario(path).numbers["flight.tick"].value == 0.005
    quick = load_scenario(path, ["flight_computer.control_rate=500 Hz"])
    assert quick.numbers["flight.tick"].value == 0.002
    slow = load_scenario(path, ["flight.tick=10 ms"])
    assert slow.numbers["flight_computer.control_rate"].value == 100.0
    assert quick.with_values({"flight_computer.control_rate": 250.0}).numbers[
        "flight.tick"
    ].value == pytest.approx(0.004)


# belief


def test_believed__is_the_nominal_value_unless_told(small):
    assert small.numbers["vehicle.dry_mass"].believed == 1.26
    heavy = small.with_values({"vehicle.dry_mass": 1.4})
    assert heavy.numbers["vehicle.dry_mass"].believed == 1.4


def test_believed__of_an_error_is_none_of_it(tmp_path):
    path = write_small(tmp_path)
    for scenario in (
        load_scenario(path, ["launch_pad.tilt=0.5 deg", "landing_motor.impulse_factor=0.9"]),
        load_scenario(path).with_values(
            {"launch_pad.tilt": "0.5 deg", "landing_motor.impulse_factor": 0.9}
        ),
    ):
        assert scenario.numbers["launch_pad.tilt"].value == pytest.approx(0.5 * DEG)
        assert scenario.numbers["launch_pad.tilt"].believed == 0.0
        assert scenario.numbers["landing_motor.impulse_factor"].believed == 1.0


def test_believed__given_is_kept_beside_a_new_truth(tmp_path):
    told = 'tilt = { value = { half_normal = "0.3 deg" }, believed = "0.1 deg" }'
    text = SMALL.replace('tilt = { half_normal = "0.3 deg" }', told)
    scenario = load_scenario(write_small(tmp_path, text))
    assert scenario.numbers["launch_pad.tilt"].believed == pytest.approx(0.1 * DEG)
    for values in ({"launch_pad.tilt": 0.01}, {"launch_pad.tilt.spread": 0.01}):
        changed = scenario.with_values(values)
        assert changed.numbers["launch_pad.tilt"].believed == pytest.approx(0.1 * DEG)


# layers


def write_day(folder, text):
    write_small(folder)
    path = folder / "today.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_base__is_overridden_key_by_key(tmp_path):
    day = write_day(
        tmp_path, 'base = "small.toml"\ntitle = "Today"\n[vehicle]\ndry_mass = "1.3 kg"\n'
    )
    today = load_scenario(day)
    assert today.title == "Today"
    assert today.numbers["vehicle.dry_mass"].law == Law("fixed", (1.3,))
    assert today.numbers["vehicle.dry_mass"].source.endswith("today.toml, line 4")
    assert today.numbers["vehicle.cg"].source.endswith("small.toml, line 8")
    assert today.curves["landing_motor.curve"].shape == (6, 2)


def test_base__is_relative_to_the_file_and_so_are_curves(tmp_path, monkeypatch):
    write_small(tmp_path)
    inner = tmp_path / "days" / "monday"
    inner.mkdir(parents=True)
    (inner / "am.toml").write_text('base = "../../small.toml"\n')
    monkeypatch.chdir(tmp_path / "days")
    assert load_scenario("monday/am.toml").has("landing_motor")


def test_base__may_have_a_base(tmp_path):
    write_day(tmp_path, 'base = "small.toml"\n[vehicle]\ndry_mass = "1.3 kg"\ncg = "0.5 m"\n')
    (tmp_path / "noon.toml").write_text('base = "today.toml"\n[vehicle]\ndry_mass = "1.4 kg"\n')
    noon = load_scenario(tmp_path / "noon.toml")
    assert noon.numbers["vehicle.dry_mass"].value == 1.4
    assert noon.numbers["vehicle.cg"].value == 0.5


def test_base__law_is_replaced_as_a_whole(tmp_path):
    day = write_day(
        tmp_path, 'base = "small.toml"\n[launch_pad]\ntilt = { uniform = ["0 deg", "1 deg"] }\n'
    )
    assert load_scenario(day).numbers["launch_pad.tilt"].law.kind == "uniform"


def test_base__number_fixed_today_leaves_its_group(tmp_path):
    day = write_day(tmp_path, 'base = "small.toml"\n[vehicle]\ndry_mass = "1.3 kg"\n')
    today = load_scenario(day)
    assert today.correlated == ()
    assert "correlated" not in today.text


def test_base__group_of_a_later_file_overrides(tmp_path):
    day = write_day(
        tmp_path,
        'base = "small.toml"\n[[correlated]]\n'
        'numbers = ["vehicle.dry_mass", "landing_motor.label_bias"]\ncorrelation = -0.25\n',
    )
    _, matrix = load_scenario(day).correlation_matrix()
    assert matrix[0, 1] == -0.25


def test_base__part_can_be_taken_out(tmp_path):
    day = write_day(tmp_path, 'base = "small.toml"\nwind = "none"\n')
    today = load_scenario(day)
    assert not today.has("wind")
    assert today.numbers["wind.speed"].law == Law("fixed", (0.0,))
    assert load_scenario(day, ["wind.speed=3 m/s"]).has("wind")
    (tmp_path / "copy.toml").write_text(today.text)
    assert load_scenario(tmp_path / "copy.toml").digest == today.digest


def test_base__success_line_can_be_taken_out(tmp_path):
    day = write_day(tmp_path, 'base = "small.toml"\n[success]\ntouchdown_speed = "none"\n')
    assert [limit.variable for limit in load_scenario(day).success] == ["inside_landing_pad"]


def test_set__takes_toml_or_plain_text(tmp_path):
    path = write_small(tmp_path)
    scenario = load_scenario(
        path,
        [
            "launch_pad.tilt=0.3 deg",
            'vehicle.dry_mass="1.3 kg +/- 1 g"',
            "legs.count = 3",
            'launch_pad.heading={ uniform = ["0 deg", "90 deg"] }',
            "wind.law=log",
            "success.tilt=< 5 deg",
            "landing_motor.impulse_factor=1.05",
        ],
    )
    assert scenario.numbers["launch_pad.tilt"].value == pytest.approx(0.3 * DEG)
    assert scenario.numbers["launch_pad.tilt"].source == "--set"
    assert scenario.numbers["vehicle.dry_mass"].law == Law("normal", (1.3, 0.001))
    assert scenario.choices["legs.count"] == 3
    assert scenario.numbers["launch_pad.heading"].law.kind == "uniform"
    assert scenario.choices["wind.law"] == "log"
    assert scenario.success[-1].variable == "tilt"
    assert scenario.numbers["landing_motor.impulse_factor"].value == 1.05


def test_set__later_wins(tmp_path):
    scenario = load_scenario(write_small(tmp_path), ["wind.speed=1 m/s", "wind.speed=2 m/s"])
    assert scenario.numbers["wind.speed"].value == 2.0


def test_set__one_axis_of_a_vector_leaves_the_others(tmp_path):
    scenario = load_scenario(write_small(tmp_path), ["inertial.gyro.bias.x=1 deg/s"])
    spread = Law("normal", (0.0, 0.8 * DEG))
    assert scenario.numbers["inertial.gyro.bias.x"].law.kind == "fixed"
    for axis in "yz":
        law = scenario.numbers[f"inertial.gyro.bias.{axis}"].law
        assert law.parameters == pytest.approx(spread.parameters)


def test_set__spread(tmp_path):
    path = write_small(tmp_path)
    scenario = load_scenario(path, ['vehicle.dry_mass.spread="10 g"', "vehicle.dry_mass=1.5 kg"])
    assert scenario.numbers["vehicle.dry_mass"].law == Law("normal", (1.5, 0.01))
    with pytest.raises(UserMistake, match="has no unit"):
        load_scenario(path, ["vehicle.dry_mass.spread=10"])


def test_vector__axes_given_apart_and_the_rest_by_default(tmp_path):
    text = SMALL.replace(
        'bias = "0 deg/s +/- 0.8 deg/s"', 'bias = { x = "1 deg/s", y = "2 deg/s +/- 1 deg/s" }'
    )
    numbers = load_scenario(write_small(tmp_path, text)).numbers
    assert numbers["inertial.gyro.bias.x"].value == pytest.approx(DEG)
    assert numbers["inertial.gyro.bias.y"].law.kind == "normal"
    assert not numbers["inertial.gyro.bias.z"].given


# digest


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "Small"', 'title = "Other"  # another name'),
        ('length = "1.00 m"', '\n\nlength   =   "1.00 m"   # comment'),
        ('length = "1.00 m"\ndiameter = "76 mm"', 'diameter = "76 mm"\nlength = "1.00 m"'),
        ('dry_mass = "1.260 kg +/- 6 g"', 'dry_mass = "1.26 kg +/- 0.006 kg"'),
        ('law = "power"', ""),
        ("correlation = 0.5", 'correlation = "50 %"'),
        ("count = 4", "count = 4"),
    ],
)
def test_digest__is_blind_to_how_it_is_written(tmp_path, small, old, new):
    other = load_scenario(write_small(tmp_path, SMALL.replace(old, new, 1)))
    assert other.digest == small.digest


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('length = "1.00 m"', 'length = "1.001 m"'),
        ("+/- 6 g", "+/- 7 g"),
        ("count = 4", "count = 3"),
        ('tilt = { half_normal = "0.3 deg" }',
         'tilt = { value = { half_normal = "0.3 deg" }, believed = "0.1 deg" }'),
        ('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "<= 2.5 m/s"'),
        ("correlation = 0.5", "correlation = 0.6"),
        ('[wind]\nspeed = "2.5 m/s +/- 0.8 m/s"\nlaw = "power"\n', ""),
    ],
)  # fmt: skip
def test_digest__sees_what_decides_a_flight(tmp_path, small, old, new):
    assert old in SMALL
    other = load_scenario(write_small(tmp_path, SMALL.replace(old, new, 1)))
    assert other.digest != small.digest


def test_digest__sees_the_curve(tmp_path, small):
    path = write_small(tmp_path)
    curve = tmp_path / "thrust.csv"
    curve.write_text("# another comment\n" + curve.read_text().replace(",", ";"))
    assert load_scenario(path).digest == small.digest
    curve.write_text(curve.read_text().replace("36.0", "36.1"))
    assert load_scenario(path).digest != small.digest


# replaced values


def test_with_values__si_number_or_text(small):
    for value in (0.005, f"{0.005 / DEG!r} deg"):
        changed = small.with_values({"launch_pad.tilt": value})
        assert changed.numbers["launch_pad.tilt"].law.kind == "fixed"
        assert changed.numbers["launch_pad.tilt"].value == pytest.approx(0.005, rel=1e-15)
    assert small.numbers["launch_pad.tilt"].law.kind == "half_normal"
    assert changed.digest != small.digest


def test_with_values__to_what_it_was_is_the_same_scenario(small):
    there = small.with_values({"wind.speed": "3 m/s"})
    back = there.with_values({"wind.speed": "2.5 m/s +/- 0.8 m/s"})
    assert back.digest == small.digest


def test_with_values__spread(small):
    changed = small.with_values(
        {"vehicle.dry_mass.spread": 0.02, "launch_pad.tilt.spread": "1 deg"}
    )
    assert changed.numbers["vehicle.dry_mass"].law == Law("normal", (1.26, 0.02))
    assert changed.numbers["launch_pad.tilt"].law.spread() == pytest.approx(DEG)
    both = small.with_values({"vehicle.dry_mass.spread": "10 g", "vehicle.dry_mass": "1.5 kg"})
    assert both.numbers["vehicle.dry_mass"].law == Law("normal", (1.5, 0.01))


def test_with_values__temperature_spread_is_a_difference(tmp_path):
    scenario = load_scenario(write_small(tmp_path))
    changed = scenario.with_values({"site.temperature.spread": "2 degC"})
    assert changed.numbers["site.temperature"].law == Law("normal", (288.15, 2.0))


def test_with_values__vector_draws_the_sign_of_each_axis(small):
    changed = small.with_values({"inertial.gyro.bias": "1 deg/s"})
    for axis in "xyz":
        number = changed.numbers[f"inertial.gyro.bias.{axis}"]
        assert number.law.kind == "sign"
        assert number.law.parameters == pytest.approx((DEG,))
        assert number.value == 0.0
    calm = small.with_values({"inertial.gyro.bias": 0.0})
    assert calm.numbers["inertial.gyro.bias.x"].law == Law("fixed", (0.0,))
    wide = small.with_values({"inertial.gyro.bias.spread": 0.01})
    assert wide.numbers["inertial.gyro.bias.z"].law == Law("normal", (0.0, 0.01))
    one = small.with_values({"inertial.gyro.bias.x": 0.01})
    assert one.numbers["inertial.gyro.bias.x"].law == Law("fixed", (0.01,))
    assert one.numbers["inertial.gyro.bias.y"].law.kind == "normal"


def test_with_values__default_becomes_given(small):
    changed = small.with_values({"landing_motor.misalignment": "0.5 deg"})
    assert changed.numbers["landing_motor.misalignment"].given
    assert changed.numbers["landing_motor.misalignment"].source == "with_values"


def test_with_values__choices(small):
    changed = small.with_values({"legs.count": 3, "wind.law": "log"})
    assert (changed.choices["legs.count"], changed.choices["wind.law"]) == (3, "log")


def test_with_values__text_reproduces_it(small, tmp_path):
    changed = small.with_values(
        {"inertial.gyro.bias": 0.01, "launch_pad.tilt.spread": 0.004, "legs.count": 5,
         "vehicle.dry_mass": 1.3}
    )  # fmt: skip
    copy = tmp_path / "copy.toml"
    copy.write_text(changed.text, encoding="utf-8")
    assert load_scenario(copy).digest == changed.digest


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"launch_pad.tlit": 1.0}, 'did you mean "launch_pad.tilt"'),
        ({"launch_pad.tlit.spread": 1.0}, 'did you mean "launch_pad.tilt"'),
        ({"inertial.gyro.bias.w": 1.0}, "no number"),
        ({"landing_motor.curve": 1.0}, "no number"),
        ({"stage.mass": 1.0}, r"no \[stage\]"),
        ({"launch_pad.tilt": "1 kg"}, "an angle is expected"),
        ({"vehicle.dry_mass": -1.0}, "above zero"),
        ({"vehicle.dry_mass.spread": -1.0}, "below zero"),
        ({"vehicle.dry_mass.spread": 1.0}, "truncated_normal"),
        ({"legs.count": 2}, "3 or more"),
        ({"legs.count.spread": 1}, "no quantity"),
        ({"wind.law": "powr"}, 'did you mean "power"'),
        ({"inertial.gyro.bias": "fast"}, "is not a number"),
    ],
)
def test_with_values__mistakes_are_the_users(small, values, words):
    with pytest.raises(UserMistake, match=words):
        small.with_values(values)
