#pragma once

#include <Arduino.h>

enum { WIFI_OFF, WIFI_STA };
enum wl_status_t { WL_IDLE_STATUS, WL_CONNECTED };

class WiFiClass {
 public:
  bool mode(int mode);
  wl_status_t begin(const char* name, const char* password);
  wl_status_t status();
  bool disconnect(bool off);
};
extern WiFiClass WiFi;

class WiFiClient {
 public:
  virtual ~WiFiClient() {}
  virtual int connect(const char* host, uint16_t port, int32_t timeout_ms);
  virtual size_t write(const uint8_t* data, size_t length);
  virtual int available();
  virtual int read(uint8_t* out, size_t length);
  virtual uint8_t connected();
  virtual void stop();
};
