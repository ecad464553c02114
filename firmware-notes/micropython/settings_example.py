"""Copy this file to settings.py and fill it in. Keep settings.py off anything you share: it holds passwords."""

# Wi-Fi: 2.4 GHz, the only band these chips speak.
WIFI_NAME = "network name"
WIFI_PASSWORD = "network password"

# The computer coomb runs on, or the broker it listens to. 192.0.2.x stands for an address in your own network.
BROKER_HOST = "192.0.2.10"
BROKER_PORT = 1883
BROKER_USER = "sensors"
BROKER_PASSWORD = "a long password used nowhere else"

# A certificate authority's certificate in DER form switches TLS on (port 8883 by custom); None: no TLS.
CA_FILE = None

# Where the time comes from: your router, the computer coomb runs on, or a public NTP service near you.
NTP_HOST = "192.0.2.1"

# The dwelling's short name in coomb, and a sensor name for everything on this board that is measured.
DWELLING = "larch-cottage"
CHANNELS = (
    {"sensor": "slope-room", "chip": "sht4x", "address": 0x44},
    {"sensor": "slope-surface", "chip": "ds18b20"},
)
# Timber pins come after the bead beside them: {"sensor": "loft-rafter", "chip": "timber", "beside": "loft-bead",
# "pin_a": 25, "pin_b": 26, "pin_in": 34, "reference_megohm": 10.0, "high_v": 3.3}. A bead that shares its wire with
# others needs its number: {"sensor": "loft-bead", "chip": "ds18b20", "rom": "28ff641e0316041a"}.

# The channel whose messages carry the battery voltage; None on mains power. The ratio is that of the divider.
BATTERY = {"sensor": "slope-room", "pin": 35, "ratio": 2.0}

# Measure every five minutes, send every sixth time: twelve readings an hour, two transmissions an hour.
MEASURE_EVERY_S = 300
SEND_EVERY = 6

# Pins, by the numbers printed on most ESP32 boards.
PIN_SDA = 21
PIN_SCL = 22
PIN_ONE_WIRE = 4
# Connect this pin to ground before powering up to keep the board awake, so that you can talk to it over USB.
PIN_STAY_AWAKE = 13

# Readings wait here until they are acknowledged: at most BUFFER_FILES files of BUFFER_LINES lines.
BUFFER_FOLDER = "waiting"
BUFFER_FILES = 64
BUFFER_LINES = 48
