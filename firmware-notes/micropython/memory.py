"""What has to outlast a sleep and may be lost when the battery is changed: it stands in the clock chip's own memory."""

import json
import random

import machine


def recall():
    """life: number of this stretch of power. wait: wakes to let pass before sending. failures: of sending, in a row."""
    try:
        kept = json.loads(machine.RTC().memory())
        return {"life": kept["life"], "wait": kept["wait"], "failures": kept["failures"]}
    except (ValueError, KeyError, TypeError):
        return {"life": random.getrandbits(30), "wait": 0, "failures": 0}


def remember(state):
    machine.RTC().memory(json.dumps(state).encode())
