#pragma once

#include <WiFi.h>

class WiFiClientSecure : public WiFiClient {
 public:
  int connect(const char* host, uint16_t port, int32_t timeout_ms) override;
  void setCACert(const char* pem);
};
