"""One wake of the station: measure, keep, now and then send, sleep."""

import json
import os
import time

import buffer
import clock
import ds18b20
import machine
import memory
import mqtt
import sht
import timber
import wifi

DECIMALS = {"temperature_c": 2, "humidity_pct": 2, "timber_moisture_pct": 1, "battery_v": 3}

# A dead access point must not empty the battery: after failures the tries get rarer, up to this many times.
RAREST_TRY = 8


def wake(settings):
    began = time.ticks_ms()
    stay = machine.Pin(settings.PIN_STAY_AWAKE, machine.Pin.IN, machine.Pin.PULL_UP).value() == 0
    if not stay:
        machine.WDT(timeout=120000)
    try:
        work(settings)
    except Exception as error:
        note(error)
    if stay:
        print("staying awake: the stay-awake pin is on ground")
        return
    spent = time.ticks_diff(time.ticks_ms(), began)
    machine.deepsleep(max(1000, settings.MEASURE_EVERY_S * 1000 - spent))


def work(settings):
    state = memory.recall()
    waiting = buffer.Buffer(settings.BUFFER_FOLDER, settings.BUFFER_FILES, settings.BUFFER_LINES)
    taken = clock.now()
    readings = measure(settings)
    if clock.is_set(taken):
        waiting.keep(taken, readings)
        readings = []
    if state["wait"] > 0:
        state["wait"] -= 1
    else:
        try:
            send(settings, waiting, state, taken, readings)
            state["failures"] = 0
        except Exception as error:
            note(error)
            state["failures"] += 1
        state["wait"] = settings.SEND_EVERY * min(RAREST_TRY, 1 << min(state["failures"], 8)) - 1
    if readings:
        waiting.keep("?%d:%d" % (state["life"], taken), readings)
    memory.remember(state)


def send(settings, waiting, state, taken, readings):
    """readings: those just taken by a clock that is not set. Takes out of it what is kept or acknowledged."""
    wifi.join(settings.WIFI_NAME, settings.WIFI_PASSWORD)
    try:
        forward = clock.set_from_network(settings.NTP_HOST)
        if forward is not None:
            waiting.date(state["life"], forward)
            if readings:
                waiting.keep(taken + forward, readings)
                readings.clear()
        deliver(settings, waiting, readings)
    finally:
        wifi.leave()


def deliver(settings, waiting, readings):
    link = mqtt.Link(
        settings.BROKER_HOST,
        settings.BROKER_PORT,
        "%s-%s" % (settings.DWELLING, settings.CHANNELS[0]["sensor"]),
        settings.BROKER_USER,
        settings.BROKER_PASSWORD,
        last_will(settings),
        settings.CA_FILE,
    )
    try:
        # Without a clock the time of receipt is the best there is, so these go first, one by one and once.
        while readings:
            sensor, body = readings[0]
            link.publish(topic(settings, sensor), "{%s}" % body)
            del readings[0]
        for name in waiting.files():
            messages = waiting.ready(name)
            for sensor in messages:
                link.publish(topic(settings, sensor), "[%s]" % ",".join(messages[sensor]))
            waiting.sent(name)
    except OSError:
        link.drop()
        raise
    link.close()


def last_will(settings):
    """If the connection breaks, the broker reports the voltage the battery had when it was made."""
    if settings.BATTERY is None:
        return None
    return topic(settings, settings.BATTERY["sensor"]), "{%s}" % as_text(battery(settings.BATTERY))


def topic(settings, sensor):
    return "coomb/%s/%s" % (settings.DWELLING, sensor)


def measure(settings):
    """Pairs of sensor and quantities as text. A sensor that fails is left out and noted; the others still count."""
    found = []
    temperatures = {}
    for channel in settings.CHANNELS:
        quantities = {}
        try:
            quantities.update(read(settings, channel, temperatures))
            temperatures[channel["sensor"]] = quantities.get("temperature_c")
        except Exception as error:
            note(error)
        if settings.BATTERY is not None and settings.BATTERY["sensor"] == channel["sensor"]:
            quantities.update(battery(settings.BATTERY))
        if quantities:
            found.append((channel["sensor"], as_text(quantities)))
    return found


def read(settings, channel, temperatures):
    """temperatures: of the channels before this one, by sensor."""
    chip = channel["chip"]
    if chip == "ds18b20":
        import onewire

        bus = onewire.OneWire(machine.Pin(settings.PIN_ONE_WIRE))
        rom = channel.get("rom")
        return ds18b20.read(bus, None if rom is None else bytes.fromhex(rom))
    if chip in sht.CHIPS:
        i2c = machine.I2C(0, scl=machine.Pin(settings.PIN_SCL), sda=machine.Pin(settings.PIN_SDA), freq=50000)
        return sht.read(i2c, chip, channel["address"])
    if chip == "timber":
        beside = temperatures.get(channel["beside"])
        if beside is None:
            raise ValueError("timber: no temperature of the wood from %s" % channel["beside"])
        return timber.read(channel, beside)
    raise ValueError("settings: no driver for the chip %s" % chip)


def battery(wiring):
    volts = machine.ADC(machine.Pin(wiring["pin"]), atten=machine.ADC.ATTN_11DB).read_uv() * wiring["ratio"] / 1000000
    return {"battery_v": volts}


def as_text(quantities):
    """JSON without its braces. Decimals are cut here, once, so that a reading sent twice is the same to the digit."""
    return ",".join('"%s":%.*f' % (name, DECIMALS[name], quantities[name]) for name in sorted(quantities))


def note(error):
    """Says what went wrong, over USB and in a file that a person can read later."""
    print(error)
    try:
        if os.stat("trouble.txt")[6] > 8192:
            os.rename("trouble.txt", "trouble-older.txt")
    except OSError:
        pass
    with open("trouble.txt", "a") as file:
        file.write("%d %s\n" % (clock.now(), json.dumps(str(error))))
