"""Composes 2000 weather reports by the code form and decodes them with a general-purpose decoder.

Needs Python 3 and `pip install metar==2.0.2` (BSD-3-Clause). Writes decoded.txt:
report | direction deg or VRB | mean kt | gust kt | visibility m | weather | cloud m | temperature C | dew point C | QNH hPa
"""

import random

from metar import Metar

r = random.Random(20260621)
STATIONS = ["XAAA", "XBBQ", "KXYZ", "CXYZ", "YXXX", "LXXA", "X1AB"]
PRECIPITATION = ["RA", "SN", "DZ", "SG", "PL", "RASN", "DZRA", "SNRA", "SHRA", "SHSN", "TSRA", "TSSN", "TSRAGR", "SHGS", "FZRA", "FZDZ", "TSGR", "SHRASN"]
OTHER = ["BR", "FG", "HZ", "FU", "DU", "SA", "VA", "MIFG", "BCFG", "PRFG", "FZFG", "BLSN", "DRSN", "BLDU", "BLSA", "DRSA", "PO", "SQ", "TS", "VCSH", "VCTS", "VCFG", "IC", "PY", "SS", "DS"]


def wind():
    kind = r.random()
    unit = r.choice(["KT"] * 8 + ["MPS"] * 2)
    if kind < 0.08:
        return "00000" + unit
    speed = r.randint(1, 25) if r.random() < 0.9 else r.randint(26, 60)
    if unit == "MPS":
        speed = max(1, speed // 2)
    gust = f"G{speed + r.randint(4, 20):02d}" if r.random() < 0.25 else ""
    if kind < 0.18:
        return f"VRB{speed:02d}{gust}{unit}"
    direction = r.randint(1, 36) * 10
    text = f"{direction:03d}{speed:02d}{gust}{unit}"
    if r.random() < 0.2:
        a, b = (direction - r.randint(3, 8) * 10) % 360, (direction + r.randint(3, 8) * 10) % 360
        text += f" {a:03d}V{b:03d}"
    return text


def clouds():
    if r.random() < 0.12:
        return r.choice(["NSC", "SKC", "CLR", "NCD"])
    if r.random() < 0.06:
        return f"VV{r.randint(0, 20):03d}"
    height, out = 0, []
    for _ in range(r.randint(1, 3)):
        height += r.randint(1, 60)
        kind = r.choice([""] * 10 + ["CB", "TCU"])
        out.append(f"{r.choice(['FEW', 'SCT', 'BKN', 'OVC'])}{height:03d}{kind}")
    return " ".join(out)


def weather():
    out = []
    if r.random() < 0.35:
        out.append(r.choice(["", "", "-", "+"]) + r.choice(PRECIPITATION))
    if r.random() < 0.3:
        out.append(r.choice(OTHER))
    return " ".join(out)


def temperature(value):
    return f"M{-value:02d}" if value < 0 else f"{value:02d}"


def report():
    american = r.random() < 0.45
    parts = [r.choice(["METAR", "METAR", "METAR", "SPECI"])] if r.random() < 0.9 else []
    parts.append(r.choice(STATIONS))
    parts.append(f"{r.randint(1, 28):02d}{r.randint(0, 23):02d}{r.randint(0, 59):02d}Z")
    if r.random() < 0.2:
        parts.append("AUTO")
    elif r.random() < 0.04:
        parts.append("COR")
    parts.append(wind())
    body = weather()
    if american:
        parts.append(r.choice(["10SM", "7SM", "5SM", "3SM", "2 1/2SM", "1 3/4SM", "1/2SM", "M1/4SM", "3/4SM", "1SM", "15SM"]))
        if r.random() < 0.1:
            parts.append(r.choice(["R28L/2600FT", "R04R/3000VP6000FT", "R17/M0600FT"]))
        parts += [body, clouds()]
    elif r.random() < 0.15:
        parts.append("CAVOK")
    else:
        parts.append(r.choice(["9999", "9999", "9999", "8000", "6000", "4500", "3000", "1500", "0800", "0350", "5000 1500SW"]))
        if r.random() < 0.1:
            parts.append(r.choice(["R24/P1500U", "R06L/0450N", "R20R/0400V0900D"]))
        parts += [body, clouds()]
    air = r.randint(-30, 42)
    parts.append(f"{temperature(air)}/{temperature(air - r.randint(0, 25))}")
    parts.append(f"A{r.randint(2840, 3070)}" if american else f"Q{r.randint(960, 1045):04d}")
    if not american and r.random() < 0.2:
        parts.append(r.choice(["NOSIG", "BECMG 9999", "TEMPO 3000 SHRA BKN012", "BECMG FM0930 TL1030 24015KT"]))
    if american and r.random() < 0.3:
        parts.append(r.choice(["RMK AO2 SLP162", "RMK AO1", "RMK AO2 PK WND 28030/1817 RAB22"]))
    return " ".join(p for p in parts if p)


def number(value, digits=1):
    return "-" if value is None else f"{value:.{digits}f}"


def decoded(text):
    o = Metar.Metar(text, month=7, year=2026, strict=False)
    direction = "-" if o.wind_speed is None else "VRB" if o.wind_dir is None else f"{o.wind_dir.value():.0f}"
    mean = None if o.wind_speed is None else o.wind_speed.value("KT")
    gust = None if o.wind_gust is None else o.wind_gust.value("KT")
    seen = None if o.vis is None else o.vis.value("M")
    said = " ".join("".join(part or "" for part in w) for w in o.weather) or "none"
    sky = " ".join(
        f"{cover}{'' if height is None else f'{height.value(chr(77)):.0f}'}{kind or ''}" for cover, height, kind in o.sky
    )
    temp = None if o.temp is None else o.temp.value("C")
    dew = None if o.dewpt is None else o.dewpt.value("C")
    qnh = None if o.press is None else o.press.value("HPA")
    return [text, direction, number(mean, 3), number(gust, 3), number(seen, 0), said, sky or "none", number(temp), number(dew), number(qnh)]


with open("decoded.txt", "w", encoding="ascii") as out:
    out.write("# report | direction | mean kt | gust kt | visibility m | weather | cloud m | temperature C | dew point C | QNH hPa\n")
    for _ in range(2000):
        out.write(" | ".join(decoded(report())) + "\n")
