#include "station.h"

#include <stdio.h>
#include <string.h>

#include "payload.h"

namespace {

// A dead access point must not empty the battery: after failures the tries get rarer, up to this many times.
const unsigned RAREST_TRY = 8;
const size_t READINGS_A_MESSAGE = 40;

void make_topic(char* out, size_t room, const Station& station, size_t channel) {
  snprintf(out, room, "coomb/%s/%s", station.dwelling, station.sensors[channel]);
}

bool deliver(const Station& station, Session& session, Buffer& buffer, Reading* live, size_t* lives) {
  static char payload[READINGS_A_MESSAGE * READING_BYTES];
  static Reading batch[READINGS_A_MESSAGE];
  char topic[256];
  // Without a clock the time of receipt is the best there is, so these go first, one by one and once.
  while (*lives > 0) {
    make_topic(topic, sizeof topic, station, live[0].channel);
    const size_t length = write_live(payload, sizeof payload, live[0]);
    if (!session.publish(topic, payload, length)) return false;
    memmove(live, live + 1, --*lives * sizeof(Reading));
  }
  for (size_t channel = 0; channel < MOST_CHANNELS && station.sensors[channel] != nullptr; channel++) {
    make_topic(topic, sizeof topic, station, channel);
    for (;;) {
      const size_t count = buffer.oldest(static_cast<uint8_t>(channel), batch, READINGS_A_MESSAGE);
      if (count == 0) break;
      const size_t length = write_batch(payload, sizeof payload, batch, count);
      if (!session.publish(topic, payload, length)) return false;
      buffer.acknowledged(static_cast<uint8_t>(channel), count);
    }
  }
  return true;
}

// If the connection breaks, the broker reports the voltage the battery had when it was made.
bool make_will(const Station& station, const Reading* taken, size_t count, char* topic, size_t room, char* payload) {
  for (size_t i = 0; i < count; i++) {
    if (static_cast<int>(taken[i].channel) != station.battery_channel || taken[i].battery_mv == NO_VALUE) continue;
    Reading battery = empty_reading(taken[i].channel);
    battery.battery_mv = taken[i].battery_mv;
    payload[write_live(payload, READING_BYTES, battery)] = '\0';
    make_topic(topic, room, station, taken[i].channel);
    return true;
  }
  return false;
}

bool send(const Station& station, Hardware& hardware, Buffer& buffer, Shelf& shelf, Memory& memory, Reading* live,
          size_t* lives, const Login& login) {
  const uint32_t before = hardware.now();
  if (hardware.fetch_time() && before < CLOCK_SET_FROM) {
    const uint32_t forward = hardware.now() - before;
    for (size_t i = 0; i < *lives; i++) buffer.keep(live[i], memory.life);
    *lives = 0;
    buffer.date(memory.life, forward);
    // Dated once and for all before the first try, so that a second try says the same.
    shelf.save(buffer);
  }
  Connection* connection = hardware.dial();
  if (connection == nullptr) {
    hardware.note("nobody answers at the broker's address");
    return false;
  }
  Session session(*connection);
  const char* refused = session.sign_in(login);
  if (refused != nullptr || !deliver(station, session, buffer, live, lives)) {
    hardware.note(refused != nullptr ? refused : "the connection broke before everything was acknowledged");
    connection->close();
    return false;
  }
  session.leave();
  return true;
}

}  // namespace

void wake(const Station& station, Hardware& hardware, Buffer& buffer, Shelf& shelf, Memory& memory) {
  shelf.load(buffer);
  Reading taken[MOST_CHANNELS];
  const uint32_t instant = hardware.now();
  size_t lives = 0;
  const size_t count = hardware.measure(taken, MOST_CHANNELS);
  Reading live[MOST_CHANNELS];
  for (size_t i = 0; i < count; i++) {
    taken[i].instant = instant;
    taken[i].life = instant < CLOCK_SET_FROM ? memory.life : 0;
    if (taken[i].life == 0) {
      buffer.keep(taken[i], memory.life);
    } else {
      live[lives++] = taken[i];
    }
  }
  if (lives < count) shelf.save(buffer);

  if (memory.wait > 0) {
    memory.wait--;
  } else {
    char client[128];
    snprintf(client, sizeof client, "%s-%s", station.dwelling, station.sensors[0]);
    char topic[256];
    char payload[READING_BYTES];
    const bool will = make_will(station, taken, count, topic, sizeof topic, payload);
    const Login login = {client, station.user, station.password, will ? topic : nullptr, will ? payload : nullptr};
    const bool joined = hardware.join_network();
    if (!joined) hardware.note("the Wi-Fi cannot be joined");
    const bool sent = joined && send(station, hardware, buffer, shelf, memory, live, &lives, login);
    hardware.leave_network();
    memory.failures = static_cast<uint16_t>(sent ? 0 : memory.failures + 1);
    const unsigned rarer = memory.failures > 3 ? RAREST_TRY : 1u << memory.failures;
    memory.wait = static_cast<uint16_t>(station.send_every * rarer - 1);
    shelf.save(buffer);
  }
  if (lives > 0) {
    for (size_t i = 0; i < lives; i++) buffer.keep(live[i], memory.life);
    shelf.save(buffer);
  }
}
