#!/usr/bin/env python3
"""Checks an evidence pack with the Python standard library alone.

    python3 check.py [FOLDER]        FOLDER is the unpacked pack; without it, the folder this file is in

It checks the digests of all files, the chain of sealed days, and works dew-point margins, surface humidity, temperature
factors and risk hours out again from the raw readings. It was written from the published equations and the method in
data/method.txt, not from the program that made the pack. Exit status: 0 all as stated, 1 something differs, 2 no pack.
"""
import bisect
import csv
import datetime
import hashlib
import json
import math
import os
import statistics
import sys

HOUR = 3600_000
faults = []


def fault(text):
    faults.append(text)
    print("  WRONG  " + text)


def sha256_of(path):
    digest = hashlib.sha256()
    with open(path, "rb") as file:
        for block in iter(lambda: file.read(1 << 20), b""):
            digest.update(block)
    return digest.hexdigest()


def sha256_text(text):
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


# ---- files -------------------------------------------------------------------------------------------------------


def manifest(folder, name):
    """RFC 8493, 2.1.3: a digest, white space, a path on each line."""
    listed = {}
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        for line in file:
            digest, path = line.rstrip("\n").split(None, 1)
            if path.startswith("/") or ".." in path.split("/"):
                fault("%s names a path outside the pack: %s" % (name, path))
                continue
            listed[path] = digest
    return listed


def check_files(folder):
    print("Files")
    for name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        for path, digest in manifest(folder, name).items():
            whole = os.path.join(folder, *path.split("/"))
            if not os.path.isfile(whole):
                fault("%s is missing" % path)
            elif sha256_of(whole) != digest:
                fault("%s was changed" % path)
    listed = manifest(folder, "manifest-sha256.txt")
    for where, _, names in os.walk(os.path.join(folder, "data")):
        for name in names:
            path = os.path.relpath(os.path.join(where, name), folder).replace(os.sep, "/")
            if path not in listed:
                fault("%s is in no manifest" % path)
    statement = os.path.join(folder, "signature", "statement.txt")
    if not os.path.isfile(statement):
        fault("signature/statement.txt is missing")
    else:
        with open(statement, encoding="utf-8") as file:
            text = file.read()
        if sha256_of(os.path.join(folder, "tagmanifest-sha256.txt")) not in text:
            fault("signature/statement.txt speaks of another tagmanifest-sha256.txt")
    print("  the signature itself needs OpenSSL: see README.txt, 2")


# ---- tables ------------------------------------------------------------------------------------------------------


def text_of(cell):
    return json.loads(cell) if cell.startswith('"') else cell


def table(folder, path):
    whole = os.path.join(folder, "data", *path.split("/"))
    if not os.path.isfile(whole):
        return []
    with open(whole, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def millis(text):
    return int(datetime.datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=datetime.timezone.utc).timestamp() * 1000 + 0.5)


def optional(text):
    return None if text == "" else millis(text)


def iso(time):
    moment = datetime.datetime.fromtimestamp(time / 1000, datetime.timezone.utc)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + "%03dZ" % (time % 1000)


# ---- the chain of days -------------------------------------------------------------------------------------------


def check_chain(folder, series, raw):
    print("Chain of days")
    chain_path = os.path.join(folder, "data", "provenance", "chain.csv")
    with open(chain_path, encoding="utf-8") as file:
        rows = [line.rstrip("\n").split(",") for line in file][1:]
    with open(os.path.join(folder, "data", "provenance", "series-days.csv"), encoding="utf-8") as file:
        day_lines = [line for line in file][1:]
    with open(os.path.join(folder, "data", "provenance", "journal.txt"), encoding="utf-8") as file:
        journal = [line for line in file]
    by_day = {}
    for line in day_lines:
        by_day.setdefault(line.split(",", 1)[0], []).append(line)
    previous = "0" * 64
    for row in rows:
        day, readings, digest, first, last, changes, before, entry = row
        if before != previous or sha256_text(",".join(row[:7]) + "\n") != entry:
            fault("chain.csv is broken at %s" % day)
        previous = entry
        lines = sorted(by_day.get(day, []))
        if sha256_text("".join(lines)) != digest:
            fault("series-days.csv is not what the chain sealed on %s" % day)
        part = journal[int(first) - 1 : int(last)] if first else []
        if sha256_text("".join(part)) != changes:
            fault("journal.txt is not what the chain sealed on %s" % day)
    print("  %d days" % len(rows))
    arrived = {}
    for one in series:
        for time, value, day in raw.get(one["id"], []):
            arrived.setdefault((day, one["sensor"], one["quantity"]), []).append((time, value))
    windows = {(one["sensor"], one["quantity"]): json.loads(one["windows"]) for one in series}
    whole = 0
    for line in day_lines:
        day, sensor, quantity, count, first, last, digest = line.rstrip("\n").split(",")
        spans = windows.get((sensor, quantity), [])
        if not any(start <= millis(first) and millis(last) < end for start, end in spans):
            continue
        whole += 1
        lines = ["%s,%s,%s,%s\n" % (sensor, quantity, time, value) for time, value in sorted(arrived.pop((day, sensor, quantity), []))]
        if sha256_text("".join(lines)) != digest:
            fault("readings of sensor %s (%s) that arrived on %s are not those that were sealed" % (sensor, quantity, day))
    sealed = {row[0] for row in rows}
    spoken = {tuple(line.split(",")[:3]) for line in day_lines}
    for day, sensor, quantity in arrived:
        if day in sealed and (day, sensor, quantity) not in spoken:
            fault("readings of sensor %s (%s) are said to have arrived on %s, when none did" % (sensor, quantity, day))
    print("  %d of %d days of a series are whole in this pack and were summed up again" % (whole, len(day_lines)))


# ---- physics, from the equations ---------------------------------------------------------------------------------


def saturation_water(t):
    """ISO 13788:2012, E.1"""
    return 610.5 * math.exp(17.269 * t / (237.3 + t))


def saturation_ice(t):
    """ISO 13788:2012, E.2"""
    return 610.5 * math.exp(21.875 * t / (265.5 + t))


def saturation(t):
    return saturation_water(t) if t >= 0 else saturation_ice(t)


def dew_point(p):
    """ISO 13788:2012, E.3 and E.4"""
    logarithm = math.log(p / 610.5)
    if logarithm >= 0:
        return 237.3 * logarithm / (17.269 - logarithm)
    return 265.5 * logarithm / (21.875 - logarithm)


DRIEST = saturation_ice(-60)
WETTEST = 101325.0

# ---- from raw readings to readings that count (method.txt, 1) ----------------------------------------------------

POWER_ON, COMPANY, SPIKE = 85.0, 20.0, 10.0
LIMITS = {"temperature_c": (-60.0, 100.0), "humidity_pct": (0.0, 105.0)}


def without_wild(readings):
    """readings: list of (time, value) of one hour"""
    values = [value for _, value in readings]
    if not (max(values) == POWER_ON or max(values) - min(values) >= SPIKE):
        return readings
    kept = []
    for k, (time, value) in enumerate(readings):
        others = [other for j, other in enumerate(values) if j != k]
        if value == POWER_ON and not any(0 < abs(other - POWER_ON) <= COMPANY for other in others):
            continue
        real = [other for other in others if other != POWER_ON]
        if len(real) >= 2:
            middle = statistics.median(real)
            if abs(value - middle) >= SPIKE and all(abs(other - middle) <= SPIKE / 3 for other in real):
                continue
        kept.append((time, value))
    return kept


def by_hour(readings):
    hours = {}
    for time, value in readings:
        hours.setdefault(time // HOUR, []).append((time, value))
    return hours


def correction(calibrations, time):
    applies = None
    for one in calibrations:
        if one["from"] <= time:
            applies = one
    return applies


def corrected(value, one, quantity):
    if one is None:
        return value
    x1, y1, x2, y2 = one["points"]
    if x2 is None:
        value = value + (y1 - x1)
    else:
        value = y1 + (y2 - y1) / (x2 - x1) * (value - x1)
    if quantity in LIMITS:
        low, high = LIMITS[quantity]
        value = min(high, max(low, value))
    return value


def slots(readings, interval):
    """Share of an hour that readings speak for."""
    twelfths = math.ceil(interval / 300 - 0.1)
    length = next((k for k in (1, 2, 3, 4, 6) if twelfths <= k), 12)
    return {(time % HOUR) // (HOUR // 12) // length for time, _ in readings}, length


def coverage(parts):
    spoken = set()
    for readings, interval in parts:
        found, length = slots(readings, interval)
        for slot in found:
            spoken.update(range(slot * length, (slot + 1) * length))
    return len(spoken) / 12


def nearest(times, time):
    """Index of the nearest, the later of two equally near."""
    k = bisect.bisect_left(times, time)
    if k == len(times):
        return k - 1
    if k == 0:
        return 0
    return k if times[k] - time <= time - times[k - 1] else k - 1


class Place:
    def __init__(self, row):
        self.id = row["id"]
        self.kind = row["kind"]
        self.faces = row["faces_place"]
        self.temperature = {}  # hour -> [(readings, interval)]
        self.humidity = {}
        self.on_limit = set()
        self.pairs = {}  # hour -> [(time, pressure, temperature)]

    def mean(self, hour):
        values = [value for readings, _ in self.temperature.get(hour, []) for _, value in readings]
        return math.fsum(values) / len(values) if values else None

    def covered(self, what, hour):
        return coverage(what.get(hour, []))


def build_places(folder, series, raw):
    places = {row["id"]: Place(row) for row in table(folder, "story/places.csv")}
    calibrations = {}
    for row in table(folder, "story/calibrations.csv"):
        if row["withdrawn_at_utc"] == "":
            number = lambda key: float(row[key]) if row[key] else None
            calibrations.setdefault(row["series"], []).append(
                {"from": millis(row["from_utc"]), "points": [number(k) for k in ("reading_1", "reference_1", "reading_2", "reference_2")]}
            )
    for own in calibrations.values():
        own.sort(key=lambda one: one["from"])
    stays = [
        (row["sensor"], row["place"], millis(row["from_utc"]), optional(row["to_utc"])) for row in table(folder, "story/placements.csv")
    ]
    of_sensor = {}
    for one in series:
        if one["quantity"] not in LIMITS:
            continue
        interval = float(one["interval_s"]) if one["interval_s"] else 600.0
        hours = by_hour([(millis(time), float(value)) for time, value, _ in raw.get(one["id"], [])])
        for hour, readings in hours.items():
            if one["quantity"] == "temperature_c":
                readings = without_wild(readings)
            fixed = [(time, corrected(value, correction(calibrations.get(one["id"], []), time), one["quantity"])) for time, value in readings]
            for sensor, place, start, end in stays:
                if sensor != one["sensor"] or place not in places:
                    continue
                piece = [(time, value) for time, value in fixed if start <= time and (end is None or time < end)]
                if not piece:
                    continue
                if one["quantity"] == "humidity_pct":
                    piece = [(time, min(value, 100.0)) for time, value in piece]
                kind = "temperature" if one["quantity"] == "temperature_c" else "humidity"
                getattr(places[place], kind).setdefault(hour, []).append((piece, interval))
                of_sensor.setdefault((place, sensor, hour), {}).setdefault(kind, []).extend(piece)
    for (place, _, hour), both in of_sensor.items():
        warm = sorted(both.get("temperature", []))
        if not warm:
            continue
        times = [time for time, _ in warm]
        for time, humidity in sorted(both.get("humidity", [])):
            t = warm[nearest(times, time)][1]
            p = humidity / 100 * saturation_water(t)
            if DRIEST <= p <= WETTEST:
                places[place].pairs.setdefault(hour, []).append((time, p, t))
    for place in places.values():
        for pairs in place.pairs.values():
            pairs.sort()
    return places


SURFACES = ("ceiling-surface", "control-surface")
WETTABLE = SURFACES + ("behind-lining", "loft-air", "loft-timber")


def hour_of(places, place, hour):
    """margin, least margin, surface humidity, factor outdoors, factor loft of one hour; None: not known"""
    first = lambda kind: next((one for one in places.values() if one.kind == kind), None)
    rooms = first("room-air")
    faced = places.get(place.faces) if place.faces else rooms
    air = faced if place.kind in SURFACES else place
    pairs = []
    if place.kind in SURFACES:
        if air is not None and hour in air.pairs:
            samples = air.pairs[hour]
            times = [time for time, _, _ in samples]
            own = sorted(reading for readings, _ in place.temperature.get(hour, []) for reading in readings)
            pairs = [(samples[nearest(times, time)][1], value) for time, value in own]
    else:
        pairs = [(p, t) for _, p, t in place.pairs.get(hour, [])]
    counts = (
        bool(pairs)
        and air is not None
        and place.covered(place.temperature, hour) >= 0.5
        and air.covered(air.humidity, hour) >= 0.5
        and air.covered(air.temperature, hour) >= 0.5
    )
    margin = least = humidity = None
    if counts and place.kind in WETTABLE:
        margins = [t - dew_point(p) for p, t in pairs]
        margin, least = math.fsum(margins) / len(margins), min(margins)
        humidity = math.fsum(100 * p / saturation(t) for p, t in pairs) / len(pairs)

    def factor(cold):
        inside = rooms if place.kind == "behind-lining" else faced
        if place.kind not in SURFACES + ("behind-lining",) or inside is None or cold is None:
            return None
        if any(one.covered(one.temperature, hour) < 0.5 for one in (place, inside, cold)):
            return None
        ts, ti, te = place.mean(hour), inside.mean(hour), cold.mean(hour)
        if abs(ti - te - 5) < 1e-9:
            place.on_limit.add(hour)  # rounding in the last digit decides whether the hour has a factor
        return (ts - te) / (ti - te) if ti - te >= 5 else None

    return margin, least, humidity, factor(first("outdoor-air")), factor(first("loft-air"))


COLUMNS = ("margin_mean_k", "margin_min_k", "surface_humidity_mean_pct", "factor_outdoor", "factor_loft")
TOLERANCE = 1e-6  # nothing is printed to more than three digits behind the point


def check_hours(folder, places):
    print("Hours")
    counted = {}
    for place in places.values():
        rows = table(folder, "hours/place-%s.csv" % place.id)
        worst = dict.fromkeys(COLUMNS, 0.0)
        wrong = 0
        for row in rows:
            hour = millis(row["hour_utc"]) // HOUR
            values = hour_of(places, place, hour)
            for name, value in zip(COLUMNS, values):
                stated = float(row[name]) if row[name] else None
                if (stated is None) != (value is None):
                    if name.startswith("factor") and hour in place.on_limit:
                        continue
                    wrong += 1
                    if wrong <= 3:
                        fault("place %s, %s: %s is %s, worked out here %s" % (place.id, row["hour_utc"], name, row[name] or "empty", value))
                elif value is not None:
                    worst[name] = max(worst[name], abs(stated - value))
                    if abs(stated - value) > TOLERANCE:
                        wrong += 1
                        if wrong <= 3:
                            fault("place %s, %s: %s is %s, worked out here %.6f" % (place.id, row["hour_utc"], name, row[name], value))
            margin, _, humidity, _, _ = values
            mean = place.mean(hour)
            risk = None if humidity is None or mean is None else (mean > 0 and humidity >= 80 - 1e-9)
            wet = None if margin is None else margin <= 0
            for name, value in (("risk_hour", risk), ("condensation_hour", wet)):
                if row[name] != ("" if value is None else "true" if value else "false"):
                    # a value on the limit may fall on either side by rounding in the last digit
                    near = humidity is not None and abs(humidity - 80) < 1e-6 if name == "risk_hour" else margin is not None and abs(margin) < 1e-6
                    if not near:
                        wrong += 1
                        fault("place %s, %s: %s is %s, worked out here %s" % (place.id, row["hour_utc"], name, row[name] or "empty", value))
            if row["left_out"] == "false":
                counted.setdefault(place.id, []).append((hour * HOUR, row["risk_hour"] == "true", row["condensation_hour"] == "true"))
        if wrong > 3:
            fault("place %s: %d figures of its hours differ" % (place.id, wrong))
        shown = ", ".join("%s %.1e" % (name, worst[name]) for name in COLUMNS if worst[name] > 0)
        print("  place %s (%s): %d hours; largest differences: %s" % (place.id, place.kind, len(rows), shown or "none"))
    return counted


def check_figures(folder, counted, places):
    print("Figures")
    zone_name = text_of(table(folder, "story/dwelling.csv")[0]["zone"])
    try:
        from zoneinfo import ZoneInfo

        zone = ZoneInfo(zone_name)
    except Exception:
        print("  left out: this Python does not know the time zone %s" % zone_name)
        return
    figures = {text_of(row["id"]): row for row in table(folder, "figures.csv")}
    compared = 0
    for place, hours in counted.items():
        tallies = {}
        for time, risk, wet in hours:
            local = datetime.datetime.fromtimestamp(time / 1000, zone)
            year = local.year if local.month >= 10 else local.year - 1
            tally = tallies.setdefault("%d/%02d" % (year, (year + 1) % 100), [0, 0, set()])
            tally[0] += risk
            tally[1] += wet
            if wet and (local.hour >= 18 or local.hour < 8):
                evening = local.date() if local.hour >= 18 else local.date() - datetime.timedelta(days=1)
                tally[2].add(evening)
        for name, (risk, wet, nights) in tallies.items():
            for what, value in (("risk-hours", risk), ("condensation-hours", wet), ("condensation-nights", len(nights))):
                row = figures.get("place-%s.winter-%s.%s" % (place, name, what))
                if row is None:
                    continue
                compared += 1
                if float(row["value"]) != value:
                    fault("figure %s is %s, worked out here %d" % (row["id"], row["value"], value))
    print("  %d counts of risk hours, condensation hours and nights worked out again" % compared)


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    if not os.path.isfile(os.path.join(folder, "manifest-sha256.txt")):
        print("%s is no unpacked evidence pack" % folder)
        return 2
    check_files(folder)
    series = table(folder, "story/series.csv")
    raw = {}
    for one in series:
        rows = table(folder, "readings/series-%s.csv" % one["id"])
        raw[one["id"]] = [(row["time_utc"], row[one["quantity"]], row["arrived_on"]) for row in rows]
    check_chain(folder, series, raw)
    places = build_places(folder, series, raw)
    counted = check_hours(folder, places)
    check_figures(folder, counted, places)
    print("%d wrong" % len(faults) if faults else "All as stated.")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
