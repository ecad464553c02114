"""UTC in whole seconds since 1970, and whether it can be believed."""

import time

# Some boards count from 2000, some from 1970.
FROM_1970 = 946684800 if time.gmtime(0)[0] == 2000 else 0

# 2026-01-01T00:00:00Z. A clock that is earlier was never set since the battery was put in.
SET_FROM = 1767225600


def now():
    return int(time.time()) + FROM_1970


def is_set(instant):
    return instant >= SET_FROM


def set_from_network(host):
    """Sets the clock. Returns the seconds it was put forward by, or None when the network does not tell the time."""
    import ntptime

    ntptime.host = host
    for _ in range(3):
        before = now()
        try:
            ntptime.settime()
        except (OSError, OverflowError, IndexError):
            continue
        after = now()
        if is_set(after):
            return after - before
    return None
