"""Second implementation of the equations of docs/model/drydown.md, written apart from the Go code.

Prints the values of step.csv, run.csv and spread.csv. Run it with: python3 reference.py
"""
import math


def es(t):
    return 0.6108 * math.exp(17.27 * t / (t + 237.3))


SOYBEAN = dict(m0=60, kw=0.0085, kd=0.14, ms=12, qt=0.4, rc=0.92, ra=0.25, delta=1.5, sun=0.010, night=2.5,
               catch=0.10, film=0.30, uw=0.80, mx=60,
               emc=lambda t, h: (math.exp(2.87 - 0.0054 * t) / -math.log(h)) ** (1 / 1.38))
CORN = dict(m0=33, kw=0.0036, kd=0, ms=12, qt=1, rc=0.93, ra=0.5, delta=1.5, sun=0.006, night=1.0,
            catch=0.05, film=0.20, uw=0.05, mx=45,
            emc=lambda t, h: -math.log(-(t + 31.696) * math.log(h) / 374.34) / 0.18662)
CROPS = dict(soybean=SOYBEAN, corn=CORN)


def hour(p, db, free, rained, air):
    t, dew, sun, wind, cloud, rain = air
    w = 1 + 0.5 * wind
    ts = t + p["sun"] * sun / w if sun >= 20 else t - p["night"] * (1 - cloud) / w
    vapor = es(dew)
    hs = vapor / es(ts)
    free = min(p["film"], free + p["catch"] * rain)
    rained = rained or rain >= 0.1
    if hs >= 1:
        free = min(p["film"], free + 0.05)
    else:
        free = max(0, free - 0.0875 * (es(ts) - vapor) * w)
    rained = rained and free > 0
    he = p["rc"] if free > 0 else min(max(hs, 0.05), p["rc"])
    emc = p["emc"](ts, he)
    k = (p["kw"] + p["kd"] * math.exp(-db / p["ms"])) * (es(ts) / es(20)) ** p["qt"]
    if db > emc:
        db = emc + (db - emc) * math.exp(-k)
    elif db < emc - p["delta"]:
        wet = emc - p["delta"]
        db = wet - (wet - db) * math.exp(-p["ra"] * k)
    if rained and db < p["mx"]:
        db += p["uw"] * (1 - db / p["mx"])
    return db, free, rained, (ts, he, emc, k)


def september(i):
    h = i % 24
    t = 17 + 6.5 * math.cos(math.pi * (h - 15) / 12)
    sun = 750 * math.sin(math.pi * (h - 6) / 12) * (1 - 0.75 * 0.4) if 6 < h < 18 else 0
    return t, min(11, t), sun, 3.9 if 9 <= h <= 18 else 1.8, 0.4, 0


def dry(wb):
    return 100 * wb / (100 - wb)


def wet(db):
    return 100 * db / (100 + db)


print("one hour: crop, db after, free water, surface, humidity, emc, rate")
for crop, wb, air in [("soybean", 20, (24, 10, 600, 3, 0.2, 0)), ("soybean", 11, (8, 7.5, 0, 1, 0, 0)),
                      ("soybean", 13, (15, 14.5, 50, 2, 1, 3)), ("corn", 28, (22, 8, 550, 4, 0.3, 0))]:
    db, free, _, (ts, he, emc, k) = hour(CROPS[crop], dry(wb), 0, False, air)
    print(f"{crop} {db:.4f} {free:.4f} {ts:.4f} {he:.5f} {emc:.5f} {k:.5f}")

print("run: crop, day, % wet basis")
for crop, wb in [("soybean", 60), ("corn", 35)]:
    db, free, rained = dry(wb), 0, False
    for i in range(20 * 24):
        db, free, rained, _ = hour(CROPS[crop], db, free, rained, september(i))
        if (i + 1) % 24 == 0:
            print(f"{crop} {(i + 1) // 24} {wet(db):.3f}")

print("spread: day, mean and deviation of the strata at 14 h, mean at the scale")
shifts = [-1.463, -0.599, 0, 0.599, 1.463]
strata, free, rained = [150.0] * 5, 0, False
for i in range(24 * 23):
    for j, q in enumerate(shifts):
        after, free1, rained1, _ = hour(SOYBEAN, strata[j], free, rained, september(i))
        if i >= round(24 * (6 + q * 1.7)):
            strata[j] = after
    free, rained = free1, rained1
    if i % 24 == 14 and i // 24 in (10, 14, 18, 20, 22):
        each = [wet(s) for s in strata]
        mean = sum(each) / 5
        sd = math.sqrt(sum((x - mean) ** 2 for x in each) / 5)
        print(f"{i // 24} {mean:.2f} {sd:.2f} {wet(sum(strata) / 5):.2f}")
