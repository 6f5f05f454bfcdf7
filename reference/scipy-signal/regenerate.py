"""Writes the check values of this folder anew. Needs numpy and scipy of the versions that SOURCE.toml names.

python regenerate.py
"""

import numpy as np
import scipy
from scipy import integrate, optimize, signal

RATE = 100.0


def noise(count, seed):
    """Even numbers of a plain congruential generator (Numerical Recipes' constants), so that no library decides them."""
    state, out = seed, []
    for _ in range(count):
        state = (1664525 * state + 1013904223) % 2**32
        out.append(state / 2**32 - 0.5)
    return np.array(out)


def rows(name, header, *columns):
    with open(name, "w", newline="\n") as f:
        f.write(header + "\n")
        for values in zip(*columns):
            f.write(",".join(repr(float(v)) for v in values) + "\n")


t = np.arange(1500) / RATE
x = 1.5 * np.sin(2 * np.pi * 7.3 * t) + 0.4 * np.sin(2 * np.pi * 31.0 * t) + noise(1500, 1) + 0.2
lag = 0.12
# The exact answer of a first-order lag to straight lines between samples.
keep = np.exp(-1 / RATE / lag)
ramp = 1 - lag * RATE * (1 - keep)
y = signal.lfilter([ramp, 1 - keep - ramp], [1, -keep], x - x[0])
y = y + 0.1 * noise(1500, 2)
rows("signal.csv", "x,y", x, y)

f, pxx = signal.welch(x, RATE, "hann", nperseg=256, noverlap=128)
_, pyy = signal.welch(y, RATE, "hann", nperseg=256, noverlap=128)
_, pxy = signal.csd(x, y, RATE, "hann", nperseg=256, noverlap=128)
_, cxy = signal.coherence(x, y, RATE, "hann", nperseg=256, noverlap=128)
rows("welch.csv", "frequency_hz,pxx,pyy,pxy_re,pxy_im,coherence", f, pxx, pyy, pxy.real, pxy.imag, cxy)
# An odd length that is no power of two, an overlap that is no half, and no detrending.
f, pxx = signal.welch(x, RATE, "hann", nperseg=225, noverlap=75, detrend=False)
rows("welch_odd.csv", "frequency_hz,pxx", f, pxx)

u = np.zeros(200)
u[20:60], u[60:100] = 1.0, -1.0
lagged = signal.lfilter([ramp, 1 - keep - ramp], [1, -keep], u)
rows("lag.csv", "u,y", u, lagged)

# Steady rate, logarithm of the time constant: output error of a first-order answer, by scipy's least squares.
def answer(p):
    k, tau = p[0], np.exp(p[1])
    e = np.exp(-1 / RATE / tau)
    r = 1 - tau * RATE * (1 - e)
    return k * signal.lfilter([r, 1 - e - r], [1, -e], u)


measured = answer([8.0, np.log(0.12)]) + 0.5 * noise(200, 3)
begin = np.exp(-np.arange(200) / RATE)


def residuals(p):
    # First state and constant are projected out, as linear least squares does it.
    e = np.exp(-1 / RATE / np.exp(p[1]))
    basis = np.stack([e ** np.arange(200), np.ones(200)], axis=1)
    left = measured - answer(p)
    return left - basis @ np.linalg.lstsq(basis, left, rcond=None)[0]


best = optimize.least_squares(residuals, [5.0, np.log(0.3)], xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=[1, 0.1])
freedom = 200 - 4
variance = (best.fun @ best.fun) / freedom
covariance = variance * np.linalg.inv(best.jac.T @ best.jac)
rows("first_order.csv", "u,measured", u, measured)
rows(
    "first_order_fit.csv",
    "steady_per_s,log_time_constant,steady_sd,log_time_constant_sd",
    [best.x[0]],
    [best.x[1]],
    [covariance[0, 0] ** 0.5],
    [covariance[1, 1] ** 0.5],
)
print(scipy.__version__, np.__version__, best.x, np.sqrt(np.diag(covariance)))
