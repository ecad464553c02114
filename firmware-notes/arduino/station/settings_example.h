// Copy this file to settings.h and fill it in. Keep settings.h off anything you share: it holds passwords.
#pragma once

#include "sensors.h"
#include "station.h"

// Wi-Fi: 2.4 GHz, the only band these chips speak.
static const char WIFI_NAME[] = "network name";
static const char WIFI_PASSWORD[] = "network password";

// The computer coomb runs on, or the broker it listens to. 192.0.2.x stands for an address in your own network.
static const char BROKER_HOST[] = "192.0.2.10";
static const uint16_t BROKER_PORT = 1883;

// The certificate of an authority in PEM form switches TLS on (port 8883 by custom); null: no TLS.
static const char* const CA_PEM = nullptr;

// Where the time comes from: your router, the computer coomb runs on, or a public NTP service near you.
static const char NTP_HOST[] = "192.0.2.1";

// The dwelling's short name in coomb, a sensor name for each channel of the board, user name and password of the broker,
// the channel whose messages carry the battery voltage (-1 on mains power), and how many wakes go into one sending.
static const Station STATION = {
    "larch-cottage", {"slope-room", "slope-surface", nullptr, nullptr},
    "sensors",       "a long password used nowhere else",
    0,               6,
};

static const uint32_t MEASURE_EVERY_S = 300;

// Channel 0: an SHT3x or SHT4x. Channel 1: a DS18B20.
static const ShtKind SHT_KIND = ShtKind::sht4x;
static const uint8_t SHT_ADDRESS = 0x44;

// Pins, by the numbers printed on most ESP32 boards.
static const int PIN_SDA = 21;
static const int PIN_SCL = 22;
static const int PIN_ONE_WIRE = 4;
static const int PIN_BATTERY = 35;
static const uint32_t BATTERY_RATIO = 2;  // of the divider
// Connect this pin to ground before powering up to keep the board awake and watch it over USB.
static const int PIN_STAY_AWAKE = 13;
