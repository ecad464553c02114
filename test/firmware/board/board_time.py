"""Stand-in for `time` as MicroPython has it: the board's clock counts from power-up until it is set."""

import world


def epoch():
    return world.FROM_1970_TO_2000 if world.scenario.get("epoch", 2000) == 2000 else 0


def time():
    if world.clock_error is None:
        return int(world.now) - int(world.powered_at)
    return int(world.now + world.clock_error) - epoch()


def gmtime(seconds):
    return (1970 if epoch() == 0 else 2000, 1, 1, 0, 0, 0, 5, 1)


def sleep_ms(ms):
    world.now += ms / 1000


def ticks_ms():
    return int(world.now * 1000) & 0x3FFFFFFF


def ticks_diff(later, earlier):
    return (later - earlier + 0x20000000 & 0x3FFFFFFF) - 0x20000000
