// Readings that wait until the broker has acknowledged them, and their image in flash.
//
// Full: the instant goes whose neighbours are closest together, the oldest of them if several are; the first and the
// newest stay. A long absence of Wi-Fi costs detail, evenly, and leaves no hole. Readings that can no longer be dated,
// because the power failed before the clock was ever set, are never sent and are the first to make room.
#pragma once

#include "reading.h"

class Buffer {
 public:
  static const size_t CAPACITY = 1000;

  // life: the present stretch of power. Readings of an unset clock of an earlier one count as undatable.
  void keep(const Reading& reading, uint16_t life);

  // The clock was put forward by so many seconds: dates the readings of this life.
  void date(uint16_t life, uint32_t forward);

  // Copies the oldest dated readings of a channel, at most so many. Returns how many there were.
  size_t oldest(uint8_t channel, Reading* out, size_t most) const;

  // The oldest dated readings of a channel, as told by oldest(), were acknowledged.
  void acknowledged(uint8_t channel, size_t count);

  size_t size() const { return size_; }
  const Reading& at(size_t index) const { return readings_[index]; }

  static const size_t IMAGE_BYTES = 16 + CAPACITY * sizeof(Reading);
  size_t encode(uint8_t* out, uint32_t number) const;
  bool decode(const uint8_t* in, size_t length, uint32_t* number);

 private:
  void make_room(uint16_t life);
  size_t end_of_instant(size_t start) const;
  void remove(size_t start, size_t end);

  Reading readings_[CAPACITY];
  size_t size_ = 0;
};

// Two places in flash that hold an image each.
class Flash {
 public:
  virtual ~Flash() {}
  virtual size_t read(int place, uint8_t* out, size_t room) = 0;
  virtual bool write(int place, const uint8_t* data, size_t length) = 0;
};

// Writes the two places in turn. A write that the power cut in half leaves the other as it was.
class Shelf {
 public:
  explicit Shelf(Flash& flash) : flash_(flash) {}
  void load(Buffer& buffer);
  bool save(const Buffer& buffer);

 private:
  Flash& flash_;
  uint32_t number_ = 0;
  uint8_t image_[Buffer::IMAGE_BYTES];
};

uint32_t crc32_of(const uint8_t* data, size_t length);
