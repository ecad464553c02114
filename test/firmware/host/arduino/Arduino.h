// The parts of the Arduino core for ESP32 that the sketch names, as declarations only: enough for a compiler to check
// the sketch, nothing to run. The signatures are from memory of the core's public headers.
#pragma once

#include <stddef.h>
#include <stdint.h>

#define RTC_DATA_ATTR

enum { LOW, HIGH, INPUT_PULLUP, OUTPUT_OPEN_DRAIN };

void pinMode(uint8_t pin, uint8_t mode);
void digitalWrite(uint8_t pin, uint8_t value);
int digitalRead(uint8_t pin);
uint32_t analogReadMilliVolts(uint8_t pin);
unsigned long millis();
void delay(uint32_t ms);
void delayMicroseconds(uint32_t us);
void noInterrupts();
void interrupts();
void configTime(long gmtOffset_sec, int daylightOffset_sec, const char* server);

class HardwareSerial {
 public:
  void begin(unsigned long baud);
  size_t println(const char* text);
};
extern HardwareSerial Serial;
