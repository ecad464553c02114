#pragma once

#include <Arduino.h>

class File {
 public:
  explicit operator bool() const;
  size_t read(uint8_t* out, size_t room);
  size_t write(const uint8_t* data, size_t length);
  void close();
};

class LittleFSFS {
 public:
  bool begin(bool format_on_fail);
  File open(const char* path, const char* mode);
};
extern LittleFSFS LittleFS;
