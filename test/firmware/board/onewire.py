"""Stand-in for a 1-Wire bus with one DS18B20 on it."""

import world


def crc8(data):
    """Long division by x8 + x5 + x4 + 1, the bits taken lowest first."""
    rest = 0
    for byte in data:
        for bit in range(8):
            feedback = (byte >> bit & 1) ^ (rest & 1)
            rest = (rest >> 1) ^ (0x8C if feedback else 0)
    return rest


class OneWire:
    def __init__(self, pin):
        self.raw = 0x0550
        self.written = []

    def reset(self, required=False):
        self.written = []
        return not world.inside(world.scenario.get("dsFaults", []))

    def writebyte(self, value):
        self.written.append(value)
        if self.written == [0xCC, 0x44]:
            self.converted_from = world.now
            self.raw_next = world.ds_raw()

    def readinto(self, buffer):
        if self.written != [0xCC, 0xBE]:
            return
        if world.now - self.converted_from >= 0.75:
            self.raw = self.raw_next
        raw = self.raw & 0xFFFF
        head = bytes([raw & 0xFF, raw >> 8, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10])
        buffer[:] = head + bytes([crc8(head)])
