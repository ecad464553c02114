// One reading of one sensor on the board, in whole numbers so that it is the same to the digit however often it is sent.
#pragma once

#include <stddef.h>
#include <stdint.h>

const int16_t NO_TEMPERATURE = INT16_MIN;
const uint16_t NO_VALUE = UINT16_MAX;

// 2026-01-01T00:00:00Z. A clock that is earlier was never set since the battery was put in.
const uint32_t CLOCK_SET_FROM = 1767225600u;

struct Reading {
  uint32_t instant;          // UTC seconds since 1970; seconds of an unset clock when life is not 0
  uint16_t life;             // 0: dated. Else the number of the stretch of power whose clock was not set
  uint8_t channel;           // which sensor of the board
  uint8_t spare;
  int16_t temperature_c100;  // hundredths of a degree
  uint16_t humidity_pct100;  // hundredths of a per cent
  uint16_t timber_pct10;     // tenths of a per cent
  uint16_t co2_ppm;
  uint16_t battery_mv;
};

inline Reading empty_reading(uint8_t channel) {
  Reading reading = {};
  reading.channel = channel;
  reading.temperature_c100 = NO_TEMPERATURE;
  reading.humidity_pct100 = reading.timber_pct10 = reading.co2_ppm = reading.battery_mv = NO_VALUE;
  return reading;
}

inline bool has_values(const Reading& reading) {
  return reading.temperature_c100 != NO_TEMPERATURE || reading.humidity_pct100 != NO_VALUE ||
         reading.timber_pct10 != NO_VALUE || reading.co2_ppm != NO_VALUE || reading.battery_mv != NO_VALUE;
}
