"""Philox against its authors' known answers; moments, tails and independence of what it feeds.

Statistical checks run at a fixed seed, each limit wide enough that a sound generator passes one of
several thousand seeds not (4.5 to 5 standard errors), or at a stated level.
"""

import numpy as np
import pytest
from lane_kernels import RANDOM_NAMES, VALUES, random_flights
from scipy import stats

from sim.lanes import (
    kernel,
    lane_types,
    load,
    normal_pair,
    normal_quad,
    random,
    spread,
    store,
    uniform_pair,
    uniform_quad,
    word_of,
)

# Random123's kat_vectors; J. K. Salmon et al., Parallel random numbers: as easy as 1, 2, 3, SC11,
# 2011; reference R13.3. Counter, key, answer.
KNOWN = (
    ((0, 0, 0, 0), (0, 0), (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)),
    ((0xFFFFFFFF,) * 4, (0xFFFFFFFF,) * 2, (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)),
    (
        (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344),
        (0xA4093822, 0x299F31D0),
        (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1),
    ),
)
SEED = np.uint64(0xFEDCBA9876543210)
LOW = np.uint64(0xFFFFFFFF)


@kernel
def block(lanes, counters, key, out):
    c0, c1 = load(lanes, counters, 0), load(lanes, counters, 1)
    c2, c3 = load(lanes, counters, 2), load(lanes, counters, 3)
    a, b, c, d = random.random_block(c0, c1, c2, c3, key[0], key[1])
    store(out, 0, a & LOW)
    store(out, 1, b & LOW)
    store(out, 2, c & LOW)
    store(out, 3, d & LOW)


@kernel
def series(lanes, seed, flights, source, out):
    """Four normals a tick for the flights of one group: out (4 n, width)."""
    flight = load(lanes, flights, 0)
    for tick in range(len(out) // 4):
        a, b, c, d = normal_quad(seed, flight, source, tick)
        store(out, 4 * tick, a)
        store(out, 4 * tick + 1, b)
        store(out, 4 * tick + 2, c)
        store(out, 4 * tick + 3, d)


@pytest.mark.parametrize("width", [1, 4])
@pytest.mark.parametrize(("counter", "key", "answer"), KNOWN)
def test_random_block__known_answers(counter, key, answer, width):
    counters = np.repeat(np.array(counter, np.uint64)[:, None], width, axis=1)
    out = np.empty((4, width), np.uint64)
    block(lane_types(width), counters, np.array(key, np.uint64), out)
    assert (out == np.array(answer, np.uint64)[:, None]).all()


@pytest.mark.parametrize(("counter", "key", "answer"), KNOWN)
def test_random_block__known_answers_in_plain_python(counter, key, answer):
    words = random.random_block(*(np.uint64(n) for n in (*counter, *key)))
    assert tuple(int(word & LOW) for word in words) == answer


def test_random_bits__key_is_the_seed_and_counter_the_flight_count_source(by_width):
    wide = [int(n) for n in by_width[8]["random_words"][:, 1]]
    flight = random_flights()[1]  # has bits in its upper half too
    assert int(flight) >> 32 == 256
    counter = (flight & LOW, flight >> np.uint64(32), 7, 7)
    key = (SEED & LOW, SEED >> np.uint64(32))
    words = [int(w & LOW) for w in random.random_block(*(np.uint64(n) for n in (*counter, *key)))]
    assert wide == [words[0] << 32 | words[1], words[2] << 32 | words[3]]


def drawn(by_width, name):
    return by_width[8]["randoms"][RANDOM_NAMES.index(name)]


@pytest.mark.parametrize("name", ["uniform0", "uniform1", "quad_uniform0", "quad_uniform3"])
def test_uniform__kolmogorov_smirnov(by_width, name):
    values = drawn(by_width, name)
    assert 0.0 < values.min() < values.max() < 1.0
    # 0.1 % level, 1.949 / sqrt(n): Smirnov, Annals of Mathematical Statistics 19 (1948)
    assert stats.kstest(values, "uniform").statistic < 1.949 / np.sqrt(VALUES)


def test_uniform_quad__is_a_half_and_the_word_over_two_to_the_32(by_width):
    words = by_width[8]["random_words"]
    first, fourth = words[0] >> np.uint64(32), words[1] & LOW
    assert np.array_equal(drawn(by_width, "quad_uniform0"), (first + 0.5) / 2.0**32)
    assert np.array_equal(drawn(by_width, "quad_uniform3"), (fourth + 0.5) / 2.0**32)


def test_uniform_pair__is_both_words_of_the_block(by_width):
    ours = uniform_pair(SEED, random_flights()[1], 7, 7)
    assert ours == (drawn(by_width, "uniform0")[1], drawn(by_width, "uniform1")[1])


def test_normal_pair__is_box_and_muller_by_numpy(by_width):
    u, v = drawn(by_width, "uniform0"), drawn(by_width, "uniform1")
    radius = np.sqrt(-2.0 * np.log(u))
    assert np.allclose(drawn(by_width, "pair0"), radius * np.cos(2 * np.pi * v), rtol=0, atol=1e-14)
    assert np.allclose(drawn(by_width, "pair1"), radius * np.sin(2 * np.pi * v), rtol=0, atol=1e-14)


def by_numpy(a, b):
    """What normal_quad makes of two 32-bit words, in full precision."""
    radius = np.sqrt(-2.0 * np.log((a + 0.5) / 2.0**32))
    angle = np.pi / 2 * ((b % 2**30) + 0.5) / 2.0**30
    sign = 1.0 - 2.0 * (b >> np.uint64(31)), 1.0 - 2.0 * (b >> np.uint64(30) & np.uint64(1))
    return sign[0] * radius * np.cos(angle), sign[1] * radius * np.sin(angle)


def test_normal_quad__is_box_and_muller_by_numpy_to_ten_digits(by_width):
    flights = random_flights()
    zero = np.zeros_like(flights)
    words = random.random_block(
        flights, flights >> np.uint64(32), zero + np.uint64(2), zero + np.uint64(3),
        zero + (SEED & LOW), zero + (SEED >> np.uint64(32)),
    )  # fmt: skip
    a, b, c, d = (word & LOW for word in words)
    wanted = (*by_numpy(a, b), *by_numpy(c, d))
    for name, values in zip(("quad0", "quad1", "quad2", "quad3"), wanted, strict=True):
        assert np.abs(drawn(by_width, name) - values).max() < 5e-10


def test_normal_quad__extreme_words_stay_finite_and_of_the_right_sign():
    largest = np.sqrt(-2.0 * np.log(2.0**-33))  # 6.76, of the uniform 2**-33
    for word in (0, 1, 2**32 - 1, 2**32 - 2, 2**31):
        for turn in (0, 2**30 - 1, 2**30, 2**31, 2**32 - 1):
            ours = random._normals_of_words(np.uint64(word), np.uint64(turn))
            wanted = by_numpy(np.uint64(word), np.uint64(turn))
            assert np.allclose(ours, wanted, rtol=1e-10, atol=5e-10)
            assert np.hypot(*ours) <= largest * (1 + 1e-10)
    # the smallest radius: log near 1 must keep its relative accuracy, or be below zero
    minus_log = random._minus_log(np.uint64(2**32 - 1))
    assert minus_log == pytest.approx(-np.log1p(-(2.0**-33)), rel=1e-10)


@pytest.fixture(scope="module")
def ensemble():
    """Normals of shape (4 normals, ticks, 4 flights) for two sources and two seeds."""
    flights = np.array([[0, 1, 2, 2**33]], np.uint64)

    def draw(seed, source):
        out = np.empty((4 * 40_000, 4))
        series(lane_types(4), np.uint64(seed), flights, np.uint64(source), out)
        return out.reshape(-1, 4, 4).transpose(1, 0, 2)

    return {(seed, source): draw(seed, source) for seed, source in ((1, 1), (1, 2), (2, 1))}


def test_normal_quad__moments(ensemble):
    """Standard errors of n normals: mean 1/sqrt(n), variance sqrt(2/n), and so on; R13.10."""
    values = ensemble[1, 1].ravel()
    n = len(values)
    assert abs(values.mean()) < 5 / np.sqrt(n)
    assert abs(values.var() - 1.0) < 5 * np.sqrt(2 / n)
    assert abs(stats.skew(values)) < 5 * np.sqrt(6 / n)
    assert abs(stats.kurtosis(values)) < 5 * np.sqrt(24 / n)


def test_normal_quad__kolmogorov_smirnov_each_of_the_four(ensemble):
    for values in ensemble[1, 1].reshape(4, -1):
        assert stats.kstest(values, "norm").statistic < 1.949 / np.sqrt(values.size)  # 0.1 % level


@pytest.mark.parametrize("beyond", [1.0, 2.0, 3.0, 4.0])
def test_normal_quad__tails(ensemble, beyond):
    values = np.abs(ensemble[1, 1].ravel())
    chance = 2 * stats.norm.sf(beyond)
    expected = chance * values.size
    assert abs((values > beyond).sum() - expected) < 5 * np.sqrt(expected * (1 - chance))


def test_normals__independent_between_sources_flights_ticks_and_within_a_block(ensemble):
    first, other_source, other_seed = ensemble[1, 1], ensemble[1, 2], ensemble[2, 1]
    pairs = [(first, other_source), (first, other_seed), (first[:, 1:], first[:, :-1])]
    pairs += [(first[:, :, i], first[:, :, j]) for i in range(4) for j in range(i)]
    pairs += [(first[i], first[j]) for i in range(4) for j in range(i)]
    for one, other in pairs:
        for p, q in ((one, other), (one**2, other**2)):  # squares: the two share no radius
            correlation = np.corrcoef(p.ravel(), q.ravel())[0, 1]
            assert abs(correlation) < 4.5 / np.sqrt(p.size)


def test_normals__do_not_depend_on_the_company(ensemble):
    """One flight alone, bit for bit as in the group of four; R13.12."""
    out = np.empty((4 * 100, 1))
    series(lane_types(1), np.uint64(1), np.array([[2]], np.uint64), np.uint64(1), out)
    assert np.array_equal(out.reshape(-1, 4).T, ensemble[1, 1][:, :100, 2])


def test_draws__take_signed_numbers_and_lanes():
    @kernel
    def draw(lanes, flights, out):
        flight = load(lanes, flights, 0)
        count = spread(lanes, 5)
        a, _, _, _ = uniform_quad(-1, flight, 3, count)
        b, _ = normal_pair(word_of(-1), word_of(flight), np.uint64(3), np.uint64(5))
        store(out, 0, a)
        store(out, 1, b)

    out = np.empty((2, 4))
    draw(lane_types(4), np.arange(4).reshape(1, 4), out)
    for flight in range(4):
        assert out[0, flight] == uniform_quad(-1, flight, 3, 5)[0]
        assert out[1, flight] == normal_pair(np.uint64(2**64 - 1), flight, 3, 5)[0]
