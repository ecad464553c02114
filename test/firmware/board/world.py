"""What stands around the simulated board: true time, weather at the sensors, Wi-Fi, an NTP service, and power cuts.

Values are functions of true time, so that a test can work out what every reading had to be.
"""

import json
import os

FROM_1970_TO_2000 = 946684800


class Asleep(BaseException):
    pass


scenario = {}
now = 0.0
powered_at = 0.0
clock_error = None
rtc_memory = b""
moments = 0


def power_up(settings):
    global scenario, now, powered_at, clock_error, rtc_memory
    scenario = settings
    now = float(settings["start"])
    powered_at = now
    clock_error = None
    rtc_memory = b""


def inside(spans):
    for start, end in spans:
        if start <= now < end:
            return True
    return False


def wifi_here():
    return not inside(scenario.get("wifiAway", []))


def ntp_here():
    return wifi_here() and not inside(scenario.get("ntpAway", []))


def step():
    return int(now) // 10


def sht_temperature_raw():
    return 20000 + step() * 37 % 8000


def sht_humidity_raw():
    return 25000 + step() * 53 % 20000


def ds_raw():
    return step() * 7 % 400 - 100


def battery_microvolts():
    return 2000000 - step() % 1000 * 100


def moment(half=None):
    """One thing that the outside world can see. At the chosen one the power fails, half-way through it."""
    global moments
    moments += 1
    if moments == scenario.get("cutAt", 0):
        if half is not None:
            half()
        report({"cut": moments, "time": int(now)})
        os._exit(9)


def report(what):
    print(json.dumps(what))
