"""Moisture of timber from the resistance between two pins, with the circuit of wiring.md.

Resistance of Douglas fir at 27 C: W. L. James, Electric moisture meters for wood, USDA Forest Service FPL-GTR-6 (1988).
Correction for temperature: M. Pfaff and P. Garrahan, Forest Products Journal 36 (1986) 3. Both are quoted from memory;
spruce and pine differ by up to 2 % of moisture content, which is also the best such pins can do.
"""

import math
import time

import machine

# Megohms at 7 %, 8 %, ... 25 %.
MEGOHMS = (22400, 4780, 1660, 630, 265, 120, 60, 33, 18.6, 11.2, 7.1, 4.6, 3.09, 2.14, 1.51, 1.1, 0.79, 0.6, 0.46)
FIRST_PCT = 7

SETTLE_MS = 100


def moisture(megohms):
    """% of dry mass; the ends of the table stand for everything beyond them."""
    last = len(MEGOHMS) - 1
    if megohms >= MEGOHMS[0]:
        return float(FIRST_PCT)
    if megohms <= MEGOHMS[last]:
        return float(FIRST_PCT + last)
    i = 0
    while megohms < MEGOHMS[i + 1]:
        i += 1
    part = math.log(MEGOHMS[i] / megohms) / math.log(MEGOHMS[i] / MEGOHMS[i + 1])
    return FIRST_PCT + i + part


def corrected(pct, temperature_c):
    """Cold wood conducts less and seems drier than it is."""
    t = temperature_c
    return (pct + 0.567 - 0.0260 * t + 0.000051 * t * t) / (0.881 * math.pow(1.0056, t))


def megohms_between(reference, forward, backward, full):
    """Volts at the node with the resistor's end high, and with the far pin high; `full` is what high is.

    Half the sum of the logarithms: a voltage of the wood's own adds to one and takes from the other.
    """
    for volts in (forward, backward):
        if not 0.01 * full < volts < 0.99 * full:
            raise ValueError("timber: the pins are open or shorted, or the wood is outside 8 to 25 %")
    one = forward / (full - forward)
    other = (full - backward) / backward
    return reference * math.sqrt(one * other)


def volts_at(adc, high, low):
    high.value(1)
    low.value(0)
    time.sleep_ms(SETTLE_MS)
    volts = adc.read_uv() / 1000000
    high.value(0)
    return volts


def read(wiring, temperature_c):
    pin_a = machine.Pin(wiring["pin_a"], machine.Pin.OUT)
    pin_b = machine.Pin(wiring["pin_b"], machine.Pin.OUT)
    adc = machine.ADC(machine.Pin(wiring["pin_in"]), atten=machine.ADC.ATTN_11DB)
    forward = volts_at(adc, pin_a, pin_b)
    backward = volts_at(adc, pin_b, pin_a)
    megohms = megohms_between(wiring["reference_megohm"], forward, backward, wiring["high_v"])
    return {"timber_moisture_pct": corrected(moisture(megohms), temperature_c)}
