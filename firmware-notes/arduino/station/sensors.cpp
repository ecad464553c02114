#include "sensors.h"

namespace {

// coomb keeps humidities of up to 105 %: an over-read tells something about the sensor.
const int32_t HIGHEST_HUMIDITY = 10500;

// 85 C is what the chip holds after power-up, before its first conversion. No ceiling is that warm.
const int POWER_UP_RAW = 0x0550;

// low + span * raw / 65535, rounded, in hundredths
int32_t scaled(int32_t low, int32_t span, uint16_t raw) {
  return low + static_cast<int32_t>((static_cast<int64_t>(span) * raw + 32767) / 65535);
}

uint16_t word_at(const uint8_t* bytes) { return static_cast<uint16_t>(bytes[0] << 8 | bytes[1]); }

}  // namespace

uint8_t sht_crc(const uint8_t* data, size_t length) {
  uint8_t crc = 0xff;
  for (size_t i = 0; i < length; i++) {
    crc ^= data[i];
    for (int bit = 0; bit < 8; bit++) crc = static_cast<uint8_t>(crc & 0x80 ? (crc << 1) ^ 0x31 : crc << 1);
  }
  return crc;
}

bool read_sht(ShtKind kind, const uint8_t frame[6], Reading* reading) {
  if (sht_crc(frame, 2) != frame[2] || sht_crc(frame + 3, 2) != frame[5]) return false;
  const int32_t humidity =
      kind == ShtKind::sht4x ? scaled(-600, 12500, word_at(frame + 3)) : scaled(0, 10000, word_at(frame + 3));
  reading->temperature_c100 = static_cast<int16_t>(scaled(-4500, 17500, word_at(frame)));
  reading->humidity_pct100 =
      static_cast<uint16_t>(humidity < 0 ? 0 : humidity > HIGHEST_HUMIDITY ? HIGHEST_HUMIDITY : humidity);
  return true;
}

uint8_t one_wire_crc(const uint8_t* data, size_t length) {
  uint8_t crc = 0;
  for (size_t i = 0; i < length; i++) {
    crc ^= data[i];
    for (int bit = 0; bit < 8; bit++) crc = static_cast<uint8_t>((crc >> 1) ^ (crc & 1 ? 0x8c : 0));
  }
  return crc;
}

bool read_ds18b20(const uint8_t scratchpad[9], Reading* reading) {
  if (one_wire_crc(scratchpad, 9) != 0) return false;
  // A data wire lying on ground reads as nine zeros, whose checksum is right: the constant bits tell.
  if ((scratchpad[4] & 0x9f) != 0x1f) return false;
  const int raw = static_cast<int16_t>(scratchpad[1] << 8 | scratchpad[0]);
  if (raw == POWER_UP_RAW) return false;
  const int hundredths = raw * 100;
  reading->temperature_c100 = static_cast<int16_t>((hundredths + (hundredths < 0 ? -8 : 8)) / 16);
  return true;
}
