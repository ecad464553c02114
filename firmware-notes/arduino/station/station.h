// One wake of the station: measure, keep, now and then send. What the board can do comes in through Hardware.
#pragma once

#include "buffer.h"
#include "mqtt.h"

const size_t MOST_CHANNELS = 4;

struct Station {
  const char* dwelling;
  const char* sensors[MOST_CHANNELS];  // topic names of the channels; null after the last
  const char* user;
  const char* password;
  int battery_channel;                 // whose topic the last will goes to; -1: no battery
  unsigned send_every;                 // wakes
};

// What outlasts a sleep and may be lost when the battery is changed.
struct Memory {
  uint16_t life;      // number of this stretch of power, never 0
  uint16_t wait;      // wakes to let pass before sending
  uint16_t failures;  // of sending, in a row
};

class Hardware {
 public:
  virtual ~Hardware() {}
  virtual uint32_t now() = 0;  // UTC seconds since 1970; seconds since power-up while the clock is not set
  virtual size_t measure(Reading* out, size_t most) = 0;
  virtual bool join_network() = 0;
  virtual bool fetch_time() = 0;
  virtual Connection* dial() = 0;  // null: nobody answers
  virtual void leave_network() = 0;
  virtual void note(const char* what) = 0;
};

void wake(const Station& station, Hardware& hardware, Buffer& buffer, Shelf& shelf, Memory& memory);
