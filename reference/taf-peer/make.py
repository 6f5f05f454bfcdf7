"""Composes 400 forecasts by the code form and decodes them with a general-purpose decoder.

Needs Python 3 and `pip install metar-taf-parser-mivek==1.13.1` (MIT). Writes decoded.txt, a line a forecast:
forecast | part | part ...; a part is kind@from-to#direction mean gust#weather#cloud ft, days and hours as coded.
"""

import random

from metar_taf_parser.parser.parser import TAFParser

r = random.Random(20260622)
WEATHER = ["", "", "", "-RA", "RA", "+SHRA", "TSRA", "-SN", "BR", "FG", "HZ", "-DZ BR", "SHSN", "FZRA", "VCSH", "BLSN"]


def wind():
    if r.random() < 0.08:
        return "00000KT"
    speed = r.randint(1, 30)
    gust = f"G{speed + r.randint(5, 20):02d}" if r.random() < 0.3 else ""
    direction = "VRB" if r.random() < 0.1 else f"{r.randint(1, 36) * 10:03d}"
    return f"{direction}{speed:02d}{gust}KT"


def clouds():
    if r.random() < 0.15:
        return r.choice(["NSC", "SKC"])
    height, out = 0, []
    for _ in range(r.randint(1, 3)):
        height += r.randint(2, 50)
        out.append(f"{r.choice(['FEW', 'SCT', 'BKN', 'OVC'])}{height:03d}{r.choice([''] * 6 + ['CB'])}")
    return " ".join(out)


def whole():
    if r.random() < 0.15:
        return f"{wind()} CAVOK"
    return " ".join(p for p in [wind(), r.choice(["9999", "8000", "4000", "1500", "P6SM", "5SM"]), r.choice(WEATHER), clouds()] if p)


def some():
    parts = [wind() if r.random() < 0.6 else "", r.choice(["9999", "6000", "3000", ""]), r.choice(WEATHER), clouds() if r.random() < 0.5 else ""]
    return " ".join(p for p in parts if p) or wind()


def clock(day, hour):
    # The end of a day is hour 24 of it, its beginning hour 0 of the next.
    return f"{day + hour // 24:02d}{hour % 24:02d}"


def end(day, hour):
    return f"{day + (hour - 1) // 24:02d}{(hour - 1) % 24 + 1:02d}"


def forecast():
    day, begin = r.randint(2, 25), r.choice([0, 6, 12, 18])
    length = r.choice([9, 24, 30])
    text = [r.choice(["TAF", "TAF AMD", "TAF COR"]), r.choice(["XAAA", "KXYZ", "X1AB"]), f"{day:02d}{max(begin - 1, 0):02d}30Z"]
    text += [f"{clock(day, begin)}/{end(day, begin + length)}", whole()]
    hour = begin
    for _ in range(r.randint(0, 4)):
        a = hour + r.randint(1, 4)
        b = a + r.randint(1, 4)
        if b > begin + length:
            break
        kind = r.choice(["BECMG", "TEMPO", "FM", "PROB30", "PROB40", "PROB30 TEMPO", "PROB40 TEMPO"])
        if kind == "FM":
            text.append(f"FM{clock(day, a)}{r.choice(['00', '30'])} {whole()}")
        else:
            text.append(f"{kind} {clock(day, a)}/{end(day, b)} {some()}")
        hour = a
    return " ".join(text)


def part(p, kind):
    v = p.validity
    if kind == "FM":
        time = f"{v.start_day:02d}{v.start_hour:02d}{v.start_minutes:02d}-"
    else:
        time = f"{v.start_day:02d}{v.start_hour:02d}-{v.end_day:02d}{v.end_hour:02d}"
    w = p.wind
    blows = "-" if w is None else f"{'VRB' if w.degrees is None else w.degrees} {w.speed} {w.gust or '-'}"
    said = ",".join(
        (c.intensity.value if c.intensity else "") + (c.descriptive.value if c.descriptive else "") + "".join(x.value for x in c.phenomenons)
        for c in p.weather_conditions
    )
    sky = ",".join(f"{c.quantity.name}{c.height or ''}{c.type.name if c.type else ''}" for c in p.clouds)
    return f"{kind}@{time}#{blows}#{said or '-'}#{sky or '-'}"


with open("decoded.txt", "w", encoding="ascii") as out:
    out.write("# forecast | kind@from-to#direction mean gust#weather#cloud ft | ...\n")
    for _ in range(400):
        text = forecast()
        taf = TAFParser().parse(text)
        parts = [part(taf, "BASE")]
        for t in taf.trends:
            kind = t.type.name
            # A trend of its own kind carries the probability beside it.
            parts.append(part(t, f"PROB{t.probability}" + (" TEMPO" if kind == "TEMPO" else "") if t.probability else kind))
        out.write(" | ".join([text] + parts) + "\n")
