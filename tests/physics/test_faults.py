"""Faults of sensors and computer, as the world sees them, one step at a time."""

from types import SimpleNamespace

import pytest

from sim.physics.faults import let_out, silence, spoil_inertial
from sim.physics.motor import INFINITE

CHANNELS = ("rate_x", "rate_y", "rate_z", "force_x", "force_y", "force_z")


def readings(time, first):
    return SimpleNamespace(time=time, **{c: first + i for i, c in enumerate(CHANNELS)})


def spoiled(first, *, number=1.0, holds=0.0, gain=1.0, step=0.0, limit=1e30, time=2.0, kept=0.0):
    p = SimpleNamespace(channel_from=1.0, channel_number=number, channel_holds=holds,
                        channel_gain=gain, channel_step=step, channel_limit=limit)  # fmt: skip
    w = SimpleNamespace(channel_kept=kept)
    sample = readings(time, first)
    spoil_inertial(p, w, sample)
    return sample, w, p


@pytest.mark.parametrize("number", range(6))
def test_channel__dead_reads_zero_and_the_others_go_on(number):
    sample, _, _ = spoiled(10.0, number=float(number), gain=0.0)
    expected = [0.0 if i == number else 10.0 + i for i in range(6)]
    assert [getattr(sample, c) for c in CHANNELS] == expected


def test_channel__stuck_keeps_its_last_sound_reading():
    before, w, p = spoiled(3.0, holds=1.0, time=0.9)
    assert before.rate_y == 4.0  # sound before the onset
    for first in (7.0, -5.0):
        sample = readings(1.5, first)
        spoil_inertial(p, w, sample)
        assert sample.rate_y == 4.0
        assert (sample.rate_x, sample.force_z) == (first, first + 5.0)


def test_channel__clips_at_its_limit_on_both_sides():
    assert spoiled(10.0, limit=2.0)[0].rate_y == 2.0
    assert spoiled(-10.0, limit=2.0)[0].rate_y == -2.0
    assert spoiled(0.5, limit=2.0)[0].rate_y == 1.5


def test_channel__steps_by_what_was_drawn():
    assert spoiled(10.0, step=0.25)[0].rate_y == 11.25
    assert spoiled(10.0, step=0.25, time=0.5)[0].rate_y == 11.0


def commands():
    return SimpleNamespace(
        gimbal_y=1.0, gimbal_z=1.0, wheel_x=1.0, wheel_y=1.0, wheel_z=1.0, throttle=0.6,
        ignite_ascent=1.0, ignite_landing=1.0, separate=1.0, open_legs=1.0, open_petals=1.0,
        open_parachute=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(("time", "out"), [(0.99, False), (1.0, True), (1.79, True), (1.8, False)])
def test_reset__nothing_is_commanded_while_the_computer_is_out(time, out):
    command = commands()
    silence(time, SimpleNamespace(reset_from=1.0, reset_until=1.8), command)
    silent = (command.gimbal_y, command.wheel_z, command.ignite_landing, command.open_legs)
    assert silent == ((0.0,) * 4 if out else (1.0,) * 4)
    assert command.throttle == (1.0 if out else 0.6)  # plates fall out of the plume


def test_parachute__fills_after_its_delay_and_never_without_a_command():
    p = SimpleNamespace(chute_area=0.9, chute_delay=0.4, chute_time=0.5)
    w = SimpleNamespace(chute_at=INFINITE, chute_open=0.0)
    let_out(1.0, SimpleNamespace(open_parachute=0.0), p, w)
    assert w.chute_at == INFINITE
    for time, share in ((2.0, 0.0), (2.39, 0.0), (2.65, 0.5), (2.9, 1.0), (3.5, 1.0)):
        let_out(time, SimpleNamespace(open_parachute=1.0), p, w)
        assert w.chute_open == pytest.approx(share, abs=1e-9), time
    assert w.chute_at == pytest.approx(2.4)
