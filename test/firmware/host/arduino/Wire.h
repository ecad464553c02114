#pragma once

#include <Arduino.h>

class TwoWire {
 public:
  bool begin(int sda, int scl, uint32_t frequency);
  void beginTransmission(uint8_t address);
  size_t write(uint8_t byte);
  uint8_t endTransmission();
  size_t requestFrom(uint8_t address, uint8_t count);
  int read();
};
extern TwoWire Wire;
