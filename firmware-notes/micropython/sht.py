"""SHT3x and SHT4x: temperature and humidity over I2C. Commands, waiting times and formulas are the data sheets'."""

import time

# command for the highest repeatability, ms until the result is ready, humidity at raw 0, humidity span
CHIPS = {
    "sht3x": (b"\x24\x00", 16, 0.0, 100.0),
    "sht4x": (b"\xfd", 9, -6.0, 125.0),
}

# coomb keeps humidities of up to 105 %: an over-read tells something about the sensor.
HIGHEST_HUMIDITY = 105.0


def crc8(data):
    """Checksum of a data word: polynomial 0x31, start 0xff."""
    crc = 0xFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = ((crc << 1) ^ 0x31) & 0xFF if crc & 0x80 else crc << 1
    return crc


def word(frame, start):
    if crc8(frame[start : start + 2]) != frame[start + 2]:
        raise ValueError("SHT: checksum is wrong; shorten the lead or fit pull-up resistors")
    return frame[start] << 8 | frame[start + 1]


def temperature(raw):
    return -45.0 + 175.0 * raw / 65535.0


def humidity(chip, raw):
    _, _, low, span = CHIPS[chip]
    return min(HIGHEST_HUMIDITY, max(0.0, low + span * raw / 65535.0))


def read(i2c, chip, address):
    command, wait_ms, _, _ = CHIPS[chip]
    i2c.writeto(address, command)
    time.sleep_ms(wait_ms)
    frame = i2c.readfrom(address, 6)
    return {"temperature_c": temperature(word(frame, 0)), "humidity_pct": humidity(chip, word(frame, 3))}
