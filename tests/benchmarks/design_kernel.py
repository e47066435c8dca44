"""Designs the steady kernel: the sharpest curve that neither pulses nor wanders nor rings much.

Run ``python tests/benchmarks/design_kernel.py``; it prints the coefficients that
`cropmove/picture/kernels.py` holds, and what they reach. Needs scipy and the test pictures.

The curve is a sum of cosines over its support, k(x) = Σ c_j cos(π j x / R) for |x| < R, which has
no slope at its ends, and no height there either by one linear condition. Its transform H is then
known in closed form. At native scale a frequency f of the still comes out as
H(f) + H(1 − f)·exp(2πi·phase): the second part is what makes a slow pan pulse. The curve sought
is the sharpest one for which, over all sub-pixel positions,

- sharpness swings by no more than `SWING` along one axis, for a picture whose gradient is equally
  strong at all frequencies and for the spectra of real photographs; and no frequency by itself
  has more than `BEAT` of H(f)·H(1 − f);
- a hard one-pixel step overshoots by no more than `RINGING`;
- no frequency is raised by more than `RISE`, none below `FLAT` cycles a pixel lowered by more
  than `DIP`, and nothing of more than `STOP` passes from 0.6 cycles a pixel on;
- taps add up to 1 within `SUM` and their centre stays put within `WANDER` pixels.

Sharpness is the root of the sum of squared taps (Parseval, for the even gradient).
"""

from __future__ import annotations

import numpy as np
import skimage.data
from scipy.optimize import minimize
from sklearn.datasets import load_sample_image

RADIUS, TERMS = 4.0, 10
SWING, BEAT, RINGING = 0.0035, 0.09, 0.0995
RISE, DIP, FLAT, STOP = 0.09, 0.15, 0.3, 0.06
SUM, WANDER = 0.001, 0.004

PHASES = np.arange(64) / 64
PIXELS = np.arange(-48, 48)
FREQUENCIES = np.linspace(0, 0.5, 51)
BEYOND = np.linspace(0.6, 2, 60)


def curve(c: np.ndarray, x: np.ndarray) -> np.ndarray:
    """The sum of cosines, zero from the radius on."""
    angles = np.pi * np.minimum(np.abs(x), RADIUS)[..., None] / RADIUS
    return np.where(np.abs(x) < RADIUS, np.cos(angles * np.arange(c.size)) @ c, 0.0)


def taps(c: np.ndarray) -> np.ndarray:
    """Taps at every position (rows), before normalising."""
    return curve(c, PIXELS + PHASES[:, None])


def response(c: np.ndarray, f: np.ndarray) -> np.ndarray:
    """H(f): each cosine on its support has two sinc peaks."""
    place, order = 2 * RADIUS * f[:, None], np.arange(c.size)
    return RADIUS * (np.sinc(place - order) + np.sinc(place + order)) @ c


def normal(weights: np.ndarray) -> np.ndarray:
    return weights / weights.sum(axis=1, keepdims=True)


def sharpness(c: np.ndarray) -> np.ndarray:
    """Sharpness at every position."""
    return np.sqrt((normal(taps(c)) ** 2).sum(axis=1))


def overshoot(c: np.ndarray) -> np.ndarray:
    """A hard step, at every position and pixel, less the height it steps to."""
    return np.cumsum(normal(taps(c)), axis=1).ravel() - 1


def spectrum(light: np.ndarray) -> np.ndarray:
    """How strong a picture's gradient is at each frequency along its rows."""
    window = np.hanning(light.shape[1])
    light = light - light.mean()
    along = np.abs(np.fft.rfft(np.diff(light, axis=1) * window[:-1], axis=1, n=1024)) ** 2
    across = np.abs(np.fft.rfft(np.diff(light, axis=0) * window, axis=1, n=1024)) ** 2
    power = along.mean(axis=0) + across.mean(axis=0)
    places = np.linspace(0, 0.5, power.size)
    near = np.abs(places - FREQUENCIES[:, None]) < 0.005
    return (near * power).sum(axis=1) / near.sum(axis=1)


def spectra() -> np.ndarray:
    """The even gradient, a soft picture, and photographs along both axes; each sums to 1."""
    pictures = [
        load_sample_image("china.jpg"), load_sample_image("flower.jpg"),
        skimage.data.astronaut(), skimage.data.chelsea(), skimage.data.camera(),
        skimage.data.retina()[300:1000, 300:1000],
    ]  # fmt: skip
    rows = [np.ones_like(FREQUENCIES), 1 / np.maximum(FREQUENCIES, 0.02) ** 2]
    for picture in pictures:
        share = picture / 255
        light = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
        grey = light.mean(axis=2) if light.ndim == 3 else light
        rows += [spectrum(grey), spectrum(grey.T)]
    return np.array([row / row.sum() for row in rows])


def limits(c: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """What must not be negative."""
    passed, folded, stopped = (response(c, f) for f in (FREQUENCIES, 1 - FREQUENCIES, BEYOND))
    beat = passed * folded
    swing = 2 * shares @ beat / (shares @ (passed**2 + folded**2))
    weights = taps(c)
    wander = (normal(weights) * (PIXELS + PHASES[:, None])).sum(axis=1)
    both = [(SWING, swing), (BEAT, beat), (STOP, stopped), (SUM, weights.sum(axis=1) - 1),
            (WANDER, wander), (0.002, passed[:1] - 1)]  # fmt: skip
    return np.concatenate(
        [
            RINGING - overshoot(c),
            1 + RISE - passed,
            passed[FREQUENCIES <= FLAT] - (1 - DIP),
            *(part for most, value in both for part in (most - value, most + value)),
        ]
    )


def design() -> np.ndarray:
    """The coefficients of the sharpest curve within the limits."""
    shares, ends = spectra(), (-1.0) ** np.arange(TERMS)
    x = np.linspace(0, RADIUS, 400)
    begun = 0.84 * np.sinc(x * 0.84) * np.cos(np.pi * x / RADIUS / 2) ** 2
    start = np.linalg.lstsq(np.cos(np.pi * x[:, None] / RADIUS * np.arange(TERMS)), begun)[0]
    found = minimize(
        lambda c: -sharpness(c).mean() - sharpness(c)[0],
        start,
        method="SLSQP",
        constraints=[
            {"type": "ineq", "fun": lambda c: limits(c, shares)},
            {"type": "eq", "fun": lambda c: ends @ c},
        ],
        options={"maxiter": 400, "ftol": 1e-10},
    )
    if limits(found.x, shares).min() < -1e-4:
        raise SystemExit(f"no curve keeps all limits: {found.message}")
    return np.asarray(found.x)


if __name__ == "__main__":
    c = design()
    sharp = sharpness(c)
    print(", ".join(f"{value:.6f}" for value in c))
    print(f"sharpness {sharp.mean():.4f}, swing {np.ptp(sharp) / sharp.mean():.2%},")
    print(f"ringing {overshoot(c).max():.2%}, passed at 0, 0.05 … 0.7 cycles a pixel:")
    print(response(c, np.linspace(0, 0.7, 15)).round(3))
