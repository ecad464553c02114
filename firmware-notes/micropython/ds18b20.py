"""DS18B20: temperature on a 1-Wire bus. Commands and the scratchpad's layout are the data sheet's."""

import time

SKIP_ROM = 0xCC
CONVERT = 0x44
READ_SCRATCHPAD = 0xBE
CONVERSION_MS = 750

# 85 °C is what the chip holds after power-up, before its first conversion. No ceiling is that warm.
POWER_UP_RAW = 0x0550


def crc8(data):
    """Checksum of 1-Wire: polynomial x8 + x5 + x4 + 1, lowest bit first."""
    crc = 0
    for byte in data:
        for _ in range(8):
            mix = (crc ^ byte) & 1
            crc >>= 1
            if mix:
                crc ^= 0x8C
            byte >>= 1
    return crc


def temperature(scratchpad):
    """C of the nine bytes of a scratchpad."""
    if crc8(scratchpad) != 0:
        raise ValueError("DS18B20: checksum is wrong; check the joints and the 4.7 kilo-ohm resistor")
    # A data wire lying on ground reads as nine zeros, whose checksum is right: the constant bits tell.
    if scratchpad[4] & 0x9F != 0x1F:
        raise ValueError("DS18B20: the data wire touches ground")
    raw = scratchpad[1] << 8 | scratchpad[0]
    if raw == POWER_UP_RAW:
        raise ValueError("DS18B20: it did not measure; its supply is weak")
    if raw & 0x8000:
        raw -= 0x10000
    return raw / 16.0


def select(bus, rom):
    if rom is None:
        if not bus.reset():
            raise ValueError("DS18B20: nothing answers; check the three wires")
        bus.writebyte(SKIP_ROM)
    else:
        bus.select_rom(rom)


def read(bus, rom=None):
    """rom: the eight bytes of one chip's number where several share the wire; None where it is alone."""
    select(bus, rom)
    bus.writebyte(CONVERT)
    time.sleep_ms(CONVERSION_MS)
    select(bus, rom)
    bus.writebyte(READ_SCRATCHPAD)
    scratchpad = bytearray(9)
    bus.readinto(scratchpad)
    return {"temperature_c": temperature(scratchpad)}
