"""Stand-in for the NTP client: it sets the board's clock to the world's true time."""

import world

host = ""


def settime():
    if not world.ntp_here():
        raise OSError(110)
    world.moment()
    world.clock_error = 0.0
