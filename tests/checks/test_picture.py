"""Sharpness that pulses, and sharpness that goes away over the move."""

from dataclasses import replace

import numpy as np
import pytest

from cropmove.checks.picture import fine_detail, swing_of
from cropmove.geometry import Size
from cropmove.limits import Limits
from cropmove.picture.kernels import KERNELS, kernel_named
from cropmove.shot import Delivery


def with_kernel(shot, name):
    return replace(shot, delivery=replace(shot.delivery, kernel=name))


def widened(shot, least):
    """The same keys, none of them narrower than `least`."""
    keys = tuple(
        replace(k, framing=replace(k.framing, width=max(k.framing.width, least))) for k in shot.keys
    )
    return replace(shot, keys=keys)


def test_a_width_that_the_still_has_no_room_for_is_not_advised(shot, key, one, found):
    # At the left edge of the still there are 10 px to spare; the sharp kernel asks for hundreds.
    large = Delivery(size=Size(3840, 2160), kernel="crisp")
    pulsing = shot(key(1, 1960, 2000, 3900), key(49, 2160, 2000, 3900), delivery=large)
    assert one(pulsing, "pulsing").remedy == 'kernel = "steady" under [delivery]'
    assert found(with_kernel(pulsing, "steady"), "pulsing") == ()


def test_the_swing_is_that_of_the_taps_summed_by_hand():
    # Lanczos-3, sinc(x) sinc(x / 3) within ±3 (Duchon 1979), at every hundredth of a pixel.
    def sharpness(phase):
        x = phase + np.arange(-3, 3)
        taps = np.where(abs(x) < 3, np.sinc(x) * np.sinc(x / 3), 0)
        return np.sqrt(((taps / taps.sum()) ** 2).sum())

    all_of = [sharpness(phase) for phase in np.arange(100) / 100]
    swing = (max(all_of) - min(all_of)) / np.mean(all_of)
    assert swing_of(kernel_named("crisp"), 1.0) == pytest.approx(swing, rel=0.01)


def test_a_kernel_that_passes_nothing_beyond_half_the_sampling_rate_does_not_swing():
    assert swing_of(kernel_named("steady"), kernel_named("steady").floor) < 0.01


def test_a_slow_move_at_native_scale_with_a_sharp_kernel_pulses(pan, one, found):
    native = pan(0.1, 48, width=1920)
    crisp = with_kernel(native, "crisp")
    finding = one(crisp, "pulsing")
    assert finding.measured == pytest.approx(12, abs=0.1)
    assert found(with_kernel(crisp, finding.figures["kernel"]), "pulsing") == ()
    assert found(native, "pulsing") == ()


@pytest.mark.parametrize("name", KERNELS)
def test_a_wider_framing_mends_it_with_every_kernel(pan, found, name):
    shot = with_kernel(pan(0.1, 48, width=1920), name)
    for finding in found(shot, "pulsing"):
        wide = finding.figures["width"]
        assert found(widened(shot, wide), "pulsing") == ()
        assert len(found(widened(shot, wide - 60), "pulsing")) == 1


def test_where_every_position_comes_up_within_a_few_pixels_nothing_pulses(pan, found):
    # At 1.5 still pixels to a delivered one the position goes round in two pixels.
    plain = with_kernel(pan(0.1, 48, width=1.5 * 1920), "plain")
    assert swing_of(kernel_named("plain"), 1.5) > 0.02
    assert found(plain, "pulsing") == ()
    assert len(found(with_kernel(pan(0.1, 48, width=2 * 1920), "plain"), "pulsing")) == 1


def test_a_camera_that_stands_does_not_pulse(shot, key, found):
    still = shot(key(1, 3000, 2000, 1920), frames=24)
    assert found(with_kernel(still, "crisp"), "pulsing") == ()


def test_the_blur_of_a_still_takes_the_published_share_of_contrast():
    # A Gaussian of standard deviation s leaves exp(-2 π² s² f²) of a wave of f cycles a pixel
    # (Fourier transform of a Gaussian); at native scale, f = 1/4 and s = 0.6 that is 0.641. A
    # kernel whose band is wide open adds about a hundredth.
    assert fine_detail(kernel_named("crisp"), 1.0) == pytest.approx(
        np.exp(-2 * (np.pi * 0.6 * 0.25) ** 2), rel=0.02
    )


def test_a_push_in_from_far_to_native_softens(shot, key, one, found):
    push = shot(key(1, 3000, 2000, 6000), key(241, 3000, 2000, 1920))
    finding = one(push, "softening")
    assert finding.measured > 27
    width = finding.figures["width"]
    assert found(widened(push, width), "softening") == ()
    assert len(found(widened(push, width * 0.97), "softening")) == 1


def test_a_gentle_push_in_is_let_be(shot, key, found):
    assert found(shot(key(1, 3000, 2000, 6000), key(97, 3000, 2000, 3000)), "softening") == ()


def test_a_short_push_in_near_native_scale_softens_a_little(shot, key, one):
    # From 2208 px to 1920 the scale goes from 0.87 to 1. The blur of a still alone leaves
    # exp(-2 π² 0.6² f²) of a wave of f = scale / 4: 0.7146 and 0.6412, which is 10.3 % less.
    push = shot(key(1, 3000, 2000, 2208), key(97, 3000, 2000, 1920), limits=Limits(softening=8))
    crisp = with_kernel(push, "crisp")
    assert one(crisp, "softening").measured == pytest.approx(10.3, abs=1)


def test_the_limits_can_be_changed(shot, key, found):
    push = shot(key(1, 3000, 2000, 6000), key(241, 3000, 2000, 1920))
    assert found(replace(push, limits=Limits(softening=60)), "softening") == ()
    crisp = replace(push, delivery=Delivery(size=push.delivery.size, kernel="crisp"))
    assert found(replace(crisp, limits=Limits(swing=13)), "pulsing") == ()
