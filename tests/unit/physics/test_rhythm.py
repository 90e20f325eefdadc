"""The speed of a spin from what repeats once a turn."""

import numpy as np
import pytest
from tests.made_up_spin import PEAK_RAD_S, passes, sound, speed_rad_s

from pourwright.physics.spin.rhythm import beat_power, follow_rhythm, loudness, peak_heard


@pytest.fixture(scope="module")
def heard():
    return follow_rhythm(*loudness(sound(np.random.default_rng(2)), 8000.0))


def test_the_speed_is_found_within_its_stated_error(heard):
    true = speed_rad_s(heard.time_s)
    apart = np.abs(heard.speed_rad_s - true) / heard.sigma_rad_s
    assert len(heard.time_s) > 50
    assert np.mean(apart < 1.645) > 0.9
    assert np.sqrt(np.mean((heard.speed_rad_s / true - 1) ** 2)) < 0.015
    assert np.median(heard.sigma_rad_s / true) < 0.03


def test_the_beat_grows_as_it_was_made_to(heard):
    flat = follow_rhythm(*loudness(sound(np.random.default_rng(2), power=1.0), 8000.0))
    assert beat_power(heard) == pytest.approx(2.0, abs=0.6)
    assert beat_power(flat) == pytest.approx(1.0, abs=0.4)


def test_two_clicks_a_turn_give_the_same_speed_when_that_is_said():
    time_s = np.arange(0, 12, 1 / 240)
    once = passes(time_s)
    angle = np.concatenate([[0], np.cumsum(np.diff(time_s) * speed_rad_s(time_s)[1:])])
    twice = np.exp(6 * (np.cos(2 * angle) - 1))
    one, two = follow_rhythm(once, 240.0), follow_rhythm(twice, 240.0, per_turn_count=2)
    spots = np.interp([4.0, 8.0], two.time_s, two.speed_rad_s)
    assert np.interp([4.0, 8.0], one.time_s, one.speed_rad_s) == pytest.approx(spots, rel=0.02)


def test_noise_alone_has_no_rhythm():
    assert follow_rhythm(np.random.default_rng(1).normal(size=5000), 250.0) is None


def test_nothing_moving_has_no_rhythm():
    assert follow_rhythm(np.ones(5000), 250.0) is None


def test_the_peak_is_found_within_its_error_also_in_a_noisy_room(heard):
    noisy = follow_rhythm(*loudness(sound(np.random.default_rng(9), noise=0.3), 8000.0))
    for rhythm in (heard, noisy):
        peak, sigma = peak_heard(rhythm)
        assert abs(peak - PEAK_RAD_S) < 1.645 * sigma
        assert sigma < 0.03 * peak
