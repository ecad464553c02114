#include "payload.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

namespace {

struct Text {
  char* out;
  size_t room;
  size_t length;
  bool fits;
};

__attribute__((format(printf, 2, 3))) void add(Text& text, const char* format, ...) {
  if (!text.fits) return;
  va_list values;
  va_start(values, format);
  const int written = vsnprintf(text.out + text.length, text.room - text.length, format, values);
  va_end(values);
  text.fits = written >= 0 && static_cast<size_t>(written) < text.room - text.length;
  if (text.fits) text.length += static_cast<size_t>(written);
}

// Division by hand keeps the sign of -0.04, which "%d.%02d" of -4 / 100 would lose.
void add_hundredths(Text& text, const char* name, long value) {
  add(text, "\"%s\":%s%ld.%02ld,", name, value < 0 ? "-" : "", labs(value) / 100, labs(value) % 100);
}

void add_quantities(Text& text, const Reading& reading) {
  if (reading.temperature_c100 != NO_TEMPERATURE) add_hundredths(text, "temperature_c", reading.temperature_c100);
  if (reading.humidity_pct100 != NO_VALUE) add_hundredths(text, "humidity_pct", reading.humidity_pct100);
  if (reading.timber_pct10 != NO_VALUE) {
    add(text, "\"timber_moisture_pct\":%u.%u,", reading.timber_pct10 / 10u, reading.timber_pct10 % 10u);
  }
  if (reading.co2_ppm != NO_VALUE) add(text, "\"co2_ppm\":%u,", static_cast<unsigned>(reading.co2_ppm));
  if (reading.battery_mv != NO_VALUE) {
    add(text, "\"battery_v\":%u.%03u,", reading.battery_mv / 1000u, reading.battery_mv % 1000u);
  }
}

// Puts the closing bracket over the last comma.
void close_with(Text& text, char bracket) {
  if (text.fits) text.out[text.length - 1] = bracket;
}

}  // namespace

size_t write_live(char* out, size_t room, const Reading& reading) {
  Text text = {out, room, 0, true};
  if (!has_values(reading)) return 0;
  add(text, "{");
  add_quantities(text, reading);
  close_with(text, '}');
  return text.fits ? text.length : 0;
}

size_t write_batch(char* out, size_t room, const Reading* readings, size_t count) {
  Text text = {out, room, 0, true};
  if (count == 0) return 0;
  add(text, "[");
  for (size_t i = 0; i < count; i++) {
    add(text, "{\"time\":%" PRIu32 ",", readings[i].instant);
    add_quantities(text, readings[i]);
    close_with(text, '}');
    add(text, ",");
  }
  close_with(text, ']');
  return text.fits ? text.length : 0;
}
