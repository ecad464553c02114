"""Joins the Wi-Fi for as long as it takes to send."""

import time

import network

STATION = 0


def join(name, password, within_s=20):
    """Raises OSError when the network cannot be joined in that time."""
    station = network.WLAN(STATION)
    station.active(True)
    station.connect(name, password)
    for _ in range(within_s * 10):
        if station.isconnected():
            return
        time.sleep_ms(100)
    leave()
    raise OSError("the Wi-Fi cannot be joined; check name, password and distance")


def leave():
    station = network.WLAN(STATION)
    station.disconnect()
    station.active(False)
