"""How long does a comparable launch take in a general-purpose integrator? For a ratio beside benches/launch.rs.

The same number of states (15), linear aerodynamics with a stall, a rate and attitude loop, servo lag, a thrust that falls
with airspeed, and a gust series; 6 s at 400 steps a second.
  scipy: solve_ivp RK45 with the step held to 1/400 s, the controller held over each step as on the real thing.
  numba: the same right-hand side compiled, classical Runge-Kutta of fourth order and Adams-Bashforth of two steps.
Run: python3 launch_compare.py   (needs numpy, scipy, numba). User CPU time, best of three. One thread.
"""

import time

import numba
import numpy as np
from scipy.integrate import solve_ivp

M, G, RHO, S, C, B = 1.335, 9.80665, 1.225, 0.33, 0.19, 1.8
I = np.array([0.10, 0.09, 0.18])
H, T = 1.0 / 400.0, 6.0
N = int(T / H)


def gusts(seed):
    rng = np.random.default_rng(seed)
    keep = np.exp(-H / np.array([4.0, 4.0, 0.5]))
    out, x = np.zeros((N + 1, 3)), np.zeros(3)
    for i in range(N + 1):
        x = keep * x + np.sqrt(1 - keep**2) * rng.normal(size=3)
        out[i] = x * np.array([1.0, 1.0, 0.5])
    return out - np.array([3.0, 0.0, 0.0])


@numba.njit(cache=False)
def rate(x, wind, command, out):
    q0, q1, q2, q3 = x[6], x[7], x[8], x[9]
    r00, r01, r02 = 1 - 2 * (q2 * q2 + q3 * q3), 2 * (q1 * q2 - q0 * q3), 2 * (q1 * q3 + q0 * q2)
    r10, r11, r12 = 2 * (q1 * q2 + q0 * q3), 1 - 2 * (q1 * q1 + q3 * q3), 2 * (q2 * q3 - q0 * q1)
    r20, r21, r22 = 2 * (q1 * q3 - q0 * q2), 2 * (q2 * q3 + q0 * q1), 1 - 2 * (q1 * q1 + q2 * q2)
    u = x[3] - (r00 * wind[0] + r10 * wind[1] + r20 * wind[2])
    v = x[4] - (r01 * wind[0] + r11 * wind[1] + r21 * wind[2])
    w = x[5] - (r02 * wind[0] + r12 * wind[1] + r22 * wind[2])
    speed = max(np.sqrt(u * u + v * v + w * w), 0.15)
    alpha, beta = np.arctan2(w, u), np.arcsin(v / speed)
    qs = 0.5 * RHO * speed * speed * S
    p, q, r = x[10], x[11], x[12]
    stalled = 1.0 / (1.0 + np.exp(-(alpha - 0.21) / 0.025))
    sa, ca = np.sin(alpha), np.cos(alpha)
    cl = (0.35 + 4.9 * alpha) * (1 - stalled) + stalled * 1.3 * sa * ca + 0.4 * x[14]
    cd = 0.03 + 0.05 * (cl - 0.3) ** 2 * (1 - stalled) + stalled * 1.3 * sa * sa
    thrust = x[13] * max(9.0 - 0.45 * speed, 0.0)
    fx = qs * (cl * sa - cd * ca) + thrust
    fy = qs * -0.35 * beta
    fz = qs * (-cl * ca - cd * sa)
    hb, hc = B / (2 * speed), C / (2 * speed)
    l = qs * B * (-0.08 * beta - 0.5 * p * hb + 0.12 * r * hb - 0.3 * command[0])
    m = qs * C * (0.02 - 0.6 * alpha - 10.0 * q * hc - 1.0 * x[14])
    n = qs * B * (0.07 * beta - 0.04 * p * hb - 0.1 * r * hb)
    out[0] = r00 * x[3] + r01 * x[4] + r02 * x[5]
    out[1] = r10 * x[3] + r11 * x[4] + r12 * x[5]
    out[2] = r20 * x[3] + r21 * x[4] + r22 * x[5]
    out[3] = fx / M + r20 * G - (q * x[5] - r * x[4])
    out[4] = fy / M + r21 * G - (r * x[3] - p * x[5])
    out[5] = fz / M + r22 * G - (p * x[4] - q * x[3])
    out[6] = 0.5 * (-q1 * p - q2 * q - q3 * r)
    out[7] = 0.5 * (q0 * p + q2 * r - q3 * q)
    out[8] = 0.5 * (q0 * q + q3 * p - q1 * r)
    out[9] = 0.5 * (q0 * r + q1 * q - q2 * p)
    out[10] = (l - (I[2] - I[1]) * q * r) / I[0]
    out[11] = (m - (I[0] - I[2]) * p * r) / I[1]
    out[12] = (n - (I[1] - I[0]) * p * q) / I[2]
    out[13] = (1.0 - x[13]) / 0.2
    out[14] = (command[1] - x[14]) / 0.03


@numba.njit(cache=False)
def control(x, command):
    q0, q1, q2, q3 = x[6], x[7], x[8], x[9]
    roll = np.arctan2(2 * (q2 * q3 + q0 * q1), 1 - 2 * (q1 * q1 + q2 * q2))
    pitch = np.arcsin(min(max(2 * (q0 * q2 - q1 * q3), -1.0), 1.0))
    command[0] = min(max(-(0.1 * (-3.0 * roll - x[10]) - 0.05 * x[10]), -0.3), 0.3)
    command[1] = min(max(-(0.15 * (3.0 * (0.3 - pitch) - x[11])), -0.3), 0.3)


@numba.njit(cache=False)
def start(x):
    x[:] = 0.0
    x[2], x[3], x[6], x[8], x[13] = -1.8, 7.5, 0.999, 0.0436, 1.0


@numba.njit(cache=False)
def classical(wind, x):
    k1, k2, k3, k4, c = np.zeros(15), np.zeros(15), np.zeros(15), np.zeros(15), np.zeros(2)
    start(x)
    for i in range(N):
        control(x, c)
        rate(x, wind[i], c, k1)
        rate(x + 0.5 * H * k1, wind[i], c, k2)
        rate(x + 0.5 * H * k2, wind[i], c, k3)
        rate(x + H * k3, wind[i], c, k4)
        for j in range(15):
            x[j] += H / 6 * (k1[j] + 2 * k2[j] + 2 * k3[j] + k4[j])


@numba.njit(cache=False)
def two_step(wind, x):
    k, before, c = np.zeros(15), np.zeros(15), np.zeros(2)
    start(x)
    for i in range(N):
        control(x, c)
        rate(x, wind[i], c, k)
        for j in range(15):
            x[j] += H * (1.5 * k[j] - 0.5 * before[j]) if i else H * k[j]
            before[j] = k[j]


def general(wind):
    x, out, c = np.zeros(15), np.zeros(15), np.zeros(2)
    start(x)
    for i in range(N):
        control(x, c)

        def f(_, y):
            rate(y, wind[i], c, out)
            return out.copy()

        x = solve_ivp(f, (0.0, H), x, method="RK45", first_step=H, rtol=1e-6, atol=1e-6).y[:, -1]
    return x


def measured(name, each, count):
    best = float("inf")
    for _ in range(3):
        begin = time.process_time()
        for i in range(count):
            each(winds[i % len(winds)])
        best = min(best, time.process_time() - begin)
    print(f"{name:38} {1e6 * best / count / T:12.1f} microseconds of CPU a launch-second")


winds = [gusts(seed) for seed in range(8)]
x = np.zeros(15)
classical(winds[0], x), two_step(winds[0], x), general(winds[0][:, :])
measured("scipy solve_ivp, compiled right side", general, 1)
measured("numba, Runge-Kutta 4 (gusts given)", lambda w: classical(w, x), 300)
measured("numba, Adams-Bashforth 2 (gusts given)", lambda w: two_step(w, x), 300)
