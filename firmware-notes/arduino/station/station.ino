// The board's side of the station, for ESP32. What it does with all this is in station.cpp.
#include <Arduino.h>
#include <LittleFS.h>
#include <WiFi.h>
#include <WiFiClientSecure.h>
#include <Wire.h>
#include <esp_random.h>
#include <esp_sleep.h>
#include <esp_sntp.h>
#include <time.h>

#include "sensors.h"
#include "settings.h"
#include "station.h"

// This memory lives through deep sleep and is lost with the battery: a life of 0 says that it was.
RTC_DATA_ATTR static Memory memory = {0, 0, 0};

static Buffer buffer;

class FlashFiles : public Flash {
 public:
  size_t read(int place, uint8_t* out, size_t room) override {
    File file = LittleFS.open(name(place), "r");
    if (!file) return 0;
    const size_t length = file.read(out, room);
    file.close();
    return length;
  }
  bool write(int place, const uint8_t* data, size_t length) override {
    File file = LittleFS.open(name(place), "w");
    if (!file) return false;
    const size_t written = file.write(data, length);
    file.close();
    return written == length;
  }

 private:
  static const char* name(int place) { return place == 0 ? "/readings0" : "/readings1"; }
};

// One slot of 1-Wire after another; the times in microseconds are those of Maxim's application note 126.
class OneWireBus {
 public:
  bool reset() {
    pull(480);
    release(70);
    const bool somebody = digitalRead(PIN_ONE_WIRE) == LOW;
    release(410);
    return somebody;
  }
  void write(uint8_t byte) {
    for (int bit = 0; bit < 8; bit++) {
      const bool one = byte >> bit & 1;
      noInterrupts();
      pull(one ? 6 : 60);
      release(one ? 64 : 10);
      interrupts();
    }
  }
  uint8_t read() {
    uint8_t byte = 0;
    for (int bit = 0; bit < 8; bit++) {
      noInterrupts();
      pull(6);
      release(9);
      if (digitalRead(PIN_ONE_WIRE) == HIGH) byte |= static_cast<uint8_t>(1 << bit);
      release(55);
      interrupts();
    }
    return byte;
  }

 private:
  static void pull(unsigned microseconds) {
    pinMode(PIN_ONE_WIRE, OUTPUT_OPEN_DRAIN);
    digitalWrite(PIN_ONE_WIRE, LOW);
    delayMicroseconds(microseconds);
  }
  static void release(unsigned microseconds) {
    digitalWrite(PIN_ONE_WIRE, HIGH);
    delayMicroseconds(microseconds);
  }
};

class NetworkConnection : public Connection {
 public:
  bool open() {
    if (CA_PEM == nullptr) return plain_.connect(BROKER_HOST, BROKER_PORT, LIMIT_MS);
    client_ = &secure_;
    secure_.setCACert(CA_PEM);
    return secure_.connect(BROKER_HOST, BROKER_PORT, LIMIT_MS);
  }
  bool write(const uint8_t* data, size_t length) override { return client_->write(data, length) == length; }
  bool read(uint8_t* out, size_t length) override {
    const uint32_t began = millis();
    while (length > 0) {
      const int got = client_->available() > 0 ? client_->read(out, length) : 0;
      if (got > 0) {
        out += got;
        length -= static_cast<size_t>(got);
        continue;
      }
      if (!client_->connected() || millis() - began > static_cast<uint32_t>(LIMIT_MS)) return false;
      delay(5);
    }
    return true;
  }
  void close() override { client_->stop(); }

 private:
  static const int LIMIT_MS = 20000;
  WiFiClient plain_;
  WiFiClientSecure secure_;
  WiFiClient* client_ = &plain_;
};

class Esp32 : public Hardware {
 public:
  uint32_t now() override { return static_cast<uint32_t>(time(nullptr)); }

  size_t measure(Reading* out, size_t most) override {
    if (most < 2) return 0;
    size_t count = 0;
    out[count] = empty_reading(0);
    if (!measure_sht(&out[count])) note("the SHT does not answer or its checksum is wrong");
    if (STATION.battery_channel == 0) {
      out[count].battery_mv = static_cast<uint16_t>(analogReadMilliVolts(PIN_BATTERY) * BATTERY_RATIO);
    }
    if (has_values(out[count])) count++;
    out[count] = empty_reading(1);
    if (!measure_ds18b20(&out[count])) note("the DS18B20 does not answer or did not measure");
    if (has_values(out[count])) count++;
    return count;
  }

  bool join_network() override {
    WiFi.mode(WIFI_STA);
    WiFi.begin(WIFI_NAME, WIFI_PASSWORD);
    for (int i = 0; i < 200; i++) {
      if (WiFi.status() == WL_CONNECTED) return true;
      delay(100);
    }
    return false;
  }

  bool fetch_time() override {
    sntp_set_sync_status(SNTP_SYNC_STATUS_RESET);
    configTime(0, 0, NTP_HOST);
    for (int i = 0; i < 50; i++) {
      if (sntp_get_sync_status() == SNTP_SYNC_STATUS_COMPLETED) return now() >= CLOCK_SET_FROM;
      delay(100);
    }
    return false;
  }

  Connection* dial() override { return connection_.open() ? &connection_ : nullptr; }

  void leave_network() override {
    WiFi.disconnect(true);
    WiFi.mode(WIFI_OFF);
  }

  void note(const char* what) override { Serial.println(what); }

 private:
  bool measure_sht(Reading* reading) {
    Wire.begin(PIN_SDA, PIN_SCL, 50000u);
    Wire.beginTransmission(SHT_ADDRESS);
    if (SHT_KIND == ShtKind::sht4x) {
      Wire.write(static_cast<uint8_t>(0xfd));
    } else {
      Wire.write(static_cast<uint8_t>(0x24));
      Wire.write(static_cast<uint8_t>(0x00));
    }
    if (Wire.endTransmission() != 0) return false;
    delay(16);
    uint8_t frame[6];
    if (Wire.requestFrom(SHT_ADDRESS, static_cast<uint8_t>(6)) != 6) return false;
    for (uint8_t& byte : frame) byte = static_cast<uint8_t>(Wire.read());
    return read_sht(SHT_KIND, frame, reading);
  }

  bool measure_ds18b20(Reading* reading) {
    OneWireBus bus;
    if (!bus.reset()) return false;
    bus.write(0xcc);
    bus.write(0x44);
    delay(750);
    if (!bus.reset()) return false;
    bus.write(0xcc);
    bus.write(0xbe);
    uint8_t scratchpad[9];
    for (uint8_t& byte : scratchpad) byte = bus.read();
    return read_ds18b20(scratchpad, reading);
  }

  NetworkConnection connection_;
};

static FlashFiles files;
static Shelf shelf(files);
static Esp32 board;

void setup() {
  const uint32_t began = millis();
  Serial.begin(115200);
  pinMode(PIN_STAY_AWAKE, INPUT_PULLUP);
  if (memory.life == 0) memory.life = static_cast<uint16_t>(esp_random() % 65535 + 1);
  if (!LittleFS.begin(true)) board.note("the flash file system cannot be opened; readings wait in memory only");
  wake(STATION, board, buffer, shelf, memory);
  if (digitalRead(PIN_STAY_AWAKE) == LOW) return;
  const uint64_t spent_ms = millis() - began;
  const uint64_t every_ms = MEASURE_EVERY_S * 1000ull;
  esp_sleep_enable_timer_wakeup((spent_ms + 1000 < every_ms ? every_ms - spent_ms : 1000) * 1000);
  esp_deep_sleep_start();
}

// Only reached with the stay-awake pin on ground.
void loop() {
  delay(MEASURE_EVERY_S * 1000);
  wake(STATION, board, buffer, shelf, memory);
}
