"""Stand-in for the pins, the sensors on them and deep sleep."""

import world


class Pin:
    IN = 0
    PULL_UP = 1

    def __init__(self, number, *options):
        self.number = number

    def value(self):
        return 1


class ADC:
    ATTN_11DB = 3

    def __init__(self, pin, atten):
        pass

    def read_uv(self):
        return world.battery_microvolts()


class WDT:
    def __init__(self, timeout):
        pass


class RTC:
    def memory(self, data=None):
        if data is None:
            return world.rtc_memory
        world.moment()
        world.rtc_memory = bytes(data)


def sealed(raw):
    """Two bytes and their checksum, worked bit by bit from the data sheet's polynomial x8 + x5 + x4 + 1 = 0x131."""
    rest = (raw << 8) ^ (0xFF << 16)
    for bit in range(23, 7, -1):
        if rest >> bit & 1:
            rest ^= 0x131 << (bit - 8)
    return bytes([raw >> 8, raw & 0xFF, rest])


class I2C:
    def __init__(self, number, scl, sda, freq):
        self.asked = None

    def writeto(self, address, data):
        faults = world.scenario.get("shtFaults", [])
        if world.inside(faults):
            raise OSError(19)
        self.asked = (address, bytes(data))

    def readfrom(self, address, count):
        if self.asked != (world.scenario["shtAddress"], b"\xfd") or address != world.scenario["shtAddress"]:
            raise OSError(19)
        return (sealed(world.sht_temperature_raw()) + sealed(world.sht_humidity_raw()))[:count]


def deepsleep(ms):
    world.now += ms / 1000
    raise world.Asleep()
