// What the sensors' bytes mean. Formulas, checksums and layouts are the makers' data sheets'; no pins here.
#pragma once

#include "reading.h"

enum class ShtKind { sht3x, sht4x };

// Checksum of an SHT data word: polynomial 0x31, start 0xff.
uint8_t sht_crc(const uint8_t* data, size_t length);

// Six bytes of an SHT3x or SHT4x into a reading; false when a checksum is wrong.
bool read_sht(ShtKind kind, const uint8_t frame[6], Reading* reading);

// Checksum of 1-Wire: polynomial x8 + x5 + x4 + 1, lowest bit first.
uint8_t one_wire_crc(const uint8_t* data, size_t length);

// Nine bytes of a DS18B20's scratchpad into a reading; false when they cannot be a measurement.
bool read_ds18b20(const uint8_t scratchpad[9], Reading* reading);
