#include "buffer.h"

#include <string.h>

namespace {

const uint32_t MAGIC = 0x626d6f63;  // "comb", lowest byte first
const uint32_t UNKNOWN_GAP = UINT32_MAX;

bool same_instant(const Reading& a, const Reading& b) { return a.instant == b.instant && a.life == b.life; }

uint32_t gap(const Reading& earlier, const Reading& later) {
  if (earlier.life != later.life || later.instant < earlier.instant) return UNKNOWN_GAP;
  return later.instant - earlier.instant;
}

void put(uint8_t* out, uint32_t value) { memcpy(out, &value, sizeof value); }

uint32_t get(const uint8_t* in) {
  uint32_t value;
  memcpy(&value, in, sizeof value);
  return value;
}

}  // namespace

// The CRC-32 of Ethernet and zip: reflected polynomial 0xedb88320.
uint32_t crc32_of(const uint8_t* data, size_t length) {
  uint32_t crc = 0xffffffffu;
  for (size_t i = 0; i < length; i++) {
    crc ^= data[i];
    for (int bit = 0; bit < 8; bit++) crc = (crc >> 1) ^ (crc & 1 ? 0xedb88320u : 0);
  }
  return ~crc;
}

void Buffer::keep(const Reading& reading, uint16_t life) {
  if (size_ == CAPACITY) make_room(life);
  readings_[size_++] = reading;
}

size_t Buffer::end_of_instant(size_t start) const {
  size_t end = start + 1;
  while (end < size_ && same_instant(readings_[start], readings_[end])) end++;
  return end;
}

void Buffer::remove(size_t start, size_t end) {
  memmove(readings_ + start, readings_ + end, (size_ - end) * sizeof(Reading));
  size_ -= end - start;
}

void Buffer::make_room(uint16_t life) {
  size_t victim = 0;
  uint32_t least = UNKNOWN_GAP;
  size_t before = 0;
  for (size_t start = 0; start < size_; start = end_of_instant(start)) {
    if (readings_[start].life != 0 && readings_[start].life != life) {
      remove(start, end_of_instant(start));
      return;
    }
    const size_t next = end_of_instant(start);
    if (start > 0 && next < size_) {
      const uint32_t left = gap(readings_[before], readings_[start]);
      const uint32_t right = gap(readings_[start], readings_[next]);
      if (left != UNKNOWN_GAP && right != UNKNOWN_GAP && left + right < least) {
        least = left + right;
        victim = start;
      }
    }
    before = start;
  }
  remove(victim, end_of_instant(victim));
}

void Buffer::date(uint16_t life, uint32_t forward) {
  for (size_t i = 0; i < size_; i++) {
    if (readings_[i].life != life) continue;
    readings_[i].instant += forward;
    readings_[i].life = 0;
  }
}

size_t Buffer::oldest(uint8_t channel, Reading* out, size_t most) const {
  size_t count = 0;
  for (size_t i = 0; i < size_ && count < most; i++) {
    if (readings_[i].channel == channel && readings_[i].life == 0) out[count++] = readings_[i];
  }
  return count;
}

void Buffer::acknowledged(uint8_t channel, size_t count) {
  size_t kept = 0;
  for (size_t i = 0; i < size_; i++) {
    if (count > 0 && readings_[i].channel == channel && readings_[i].life == 0) {
      count--;
    } else {
      readings_[kept++] = readings_[i];
    }
  }
  size_ = kept;
}

size_t Buffer::encode(uint8_t* out, uint32_t number) const {
  const size_t bytes = size_ * sizeof(Reading);
  put(out, MAGIC);
  put(out + 4, number);
  put(out + 8, static_cast<uint32_t>(size_));
  memcpy(out + 16, readings_, bytes);
  put(out + 12, crc32_of(out, 12) ^ crc32_of(out + 16, bytes));
  return 16 + bytes;
}

bool Buffer::decode(const uint8_t* in, size_t length, uint32_t* number) {
  if (length < 16 || get(in) != MAGIC) return false;
  const uint32_t count = get(in + 8);
  if (count > CAPACITY || length != 16 + count * sizeof(Reading)) return false;
  if (get(in + 12) != (crc32_of(in, 12) ^ crc32_of(in + 16, length - 16))) return false;
  memcpy(readings_, in + 16, length - 16);
  size_ = count;
  *number = get(in + 4);
  return true;
}

void Shelf::load(Buffer& buffer) {
  uint32_t best = 0;
  int place = -1;
  for (int i = 0; i < 2; i++) {
    uint32_t number = 0;
    if (buffer.decode(image_, flash_.read(i, image_, sizeof image_), &number) && number > best) {
      best = number;
      place = i;
    }
  }
  number_ = best;
  if (place >= 0) {
    buffer.decode(image_, flash_.read(place, image_, sizeof image_), &best);
  } else {
    buffer = Buffer();
  }
}

bool Shelf::save(const Buffer& buffer) {
  const size_t length = buffer.encode(image_, number_ + 1);
  if (!flash_.write(static_cast<int>((number_ + 1) % 2), image_, length)) return false;
  number_++;
  return true;
}
