// Checks of the core of firmware-notes/arduino without any hardware. Prints a line a failure; exit code 1 if any.
#include <stdio.h>
#include <string.h>

#include <string>
#include <vector>

#include "buffer.h"
#include "payload.h"
#include "sensors.h"

static int failures = 0;

#define CHECK(what)                                             \
  do {                                                          \
    if (!(what)) {                                              \
      printf("%s:%d does not hold: %s\n", __FILE__, __LINE__, #what); \
      failures++;                                               \
    }                                                           \
  } while (0)

static const uint32_t START = 1768413600;  // 2026-01-14T18:00:00Z
static const uint32_t CAPACITY = Buffer::CAPACITY;

static Reading surface(uint32_t instant, uint16_t life = 0) {
  Reading reading = empty_reading(0);
  reading.instant = instant;
  reading.life = life;
  reading.temperature_c100 = 1261;
  return reading;
}

// Sensirion, data sheets SHT3x-DIS (4.12) and SHT4x (4.4): "CRC (0xBEEF) = 0x92".
static void sht_checksum_is_the_data_sheets() {
  const uint8_t published[] = {0xbe, 0xef};
  CHECK(sht_crc(published, 2) == 0x92);
}

// Maxim/Analog, application note 27: the ROM code 02 1C B8 01 00 00 00 has the checksum A2.
static void one_wire_checksum_is_application_note_27s() {
  const uint8_t published[] = {0x02, 0x1c, 0xb8, 0x01, 0x00, 0x00, 0x00, 0xa2};
  CHECK(one_wire_crc(published, 7) == 0xa2);
  CHECK(one_wire_crc(published, 8) == 0);
}

// DS18B20 data sheet, table 1. 85 C is left out on purpose: it is the power-up value.
static void ds18b20_temperatures_are_the_data_sheets() {
  const struct {
    uint16_t raw;
    int hundredths;
  } table[] = {{0x07d0, 12500}, {0x0191, 2506}, {0x00a2, 1013},  {0x0008, 50},
               {0x0000, 0},     {0xfff8, -50},  {0xff5e, -1013}, {0xfe6f, -2506}, {0xfc90, -5500}};
  for (const auto& row : table) {
    uint8_t scratchpad[9] = {static_cast<uint8_t>(row.raw), static_cast<uint8_t>(row.raw >> 8), 0x4b, 0x46, 0x7f, 0xff,
                             0x0c, 0x10, 0};
    scratchpad[8] = one_wire_crc(scratchpad, 8);
    Reading reading = empty_reading(0);
    CHECK(read_ds18b20(scratchpad, &reading));
    CHECK(reading.temperature_c100 == row.hundredths);
    scratchpad[0] ^= 1;
    CHECK(!read_ds18b20(scratchpad, &reading));
  }
}

static void a_ds18b20_that_did_not_measure_has_no_reading() {
  Reading reading = empty_reading(0);
  const uint8_t grounded[9] = {0};
  CHECK(!read_ds18b20(grounded, &reading));
  uint8_t open[9];
  memset(open, 0xff, sizeof open);
  CHECK(!read_ds18b20(open, &reading));
  // The scratchpad after power-up: data sheet, figure 9.
  uint8_t power_up[9] = {0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10, 0};
  power_up[8] = one_wire_crc(power_up, 8);
  CHECK(!read_ds18b20(power_up, &reading));
  CHECK(reading.temperature_c100 == NO_TEMPERATURE);
}

// Both ends of the formulas in the SHT3x and SHT4x data sheets.
static void sht_formulas_reach_their_ends() {
  Reading reading = empty_reading(0);
  uint8_t frame[6] = {0, 0, 0, 0, 0, 0};
  frame[2] = frame[5] = sht_crc(frame, 2);
  CHECK(read_sht(ShtKind::sht3x, frame, &reading) && reading.temperature_c100 == -4500 && reading.humidity_pct100 == 0);
  CHECK(read_sht(ShtKind::sht4x, frame, &reading) && reading.humidity_pct100 == 0);
  frame[0] = frame[1] = frame[3] = frame[4] = 0xff;
  frame[2] = frame[5] = sht_crc(frame, 2);
  CHECK(read_sht(ShtKind::sht3x, frame, &reading) && reading.temperature_c100 == 13000);
  CHECK(reading.humidity_pct100 == 10000);
  CHECK(read_sht(ShtKind::sht4x, frame, &reading) && reading.humidity_pct100 == 10500);
  frame[5] ^= 1;
  CHECK(!read_sht(ShtKind::sht4x, frame, &reading));
}

static std::string live(const Reading& reading) {
  char out[READING_BYTES];
  return std::string(out, write_live(out, sizeof out, reading));
}

static void a_live_reading_has_no_time_and_keeps_its_sign() {
  Reading reading = empty_reading(0);
  reading.temperature_c100 = -4;
  CHECK(live(reading) == "{\"temperature_c\":-0.04}");
  reading.temperature_c100 = 1261;
  reading.humidity_pct100 = 8020;
  reading.timber_pct10 = 187;
  reading.co2_ppm = 812;
  reading.battery_mv = 4005;
  CHECK(live(reading) ==
        "{\"temperature_c\":12.61,\"humidity_pct\":80.20,\"timber_moisture_pct\":18.7,\"co2_ppm\":812,"
        "\"battery_v\":4.005}");
  CHECK(live(empty_reading(0)).empty());
}

static void a_batch_carries_a_time_for_each_and_is_whole_or_nothing() {
  const Reading two[] = {surface(START), surface(START + 300)};
  const std::string expected =
      "[{\"time\":1768413600,\"temperature_c\":12.61},{\"time\":1768413900,\"temperature_c\":12.61}]";
  char out[2 * READING_BYTES];
  CHECK(std::string(out, write_batch(out, sizeof out, two, 2)) == expected);
  for (size_t room = 0; room <= expected.size(); room++) CHECK(write_batch(out, room, two, 2) == 0);
  CHECK(write_batch(out, expected.size() + 1, two, 2) == expected.size());
}

static void a_reading_never_needs_more_room_than_promised() {
  Reading reading = empty_reading(0);
  reading.instant = UINT32_MAX;
  reading.temperature_c100 = INT16_MIN + 1;
  reading.humidity_pct100 = reading.timber_pct10 = reading.co2_ppm = reading.battery_mv = UINT16_MAX - 1;
  char out[READING_BYTES + 2];
  const size_t length = write_batch(out, sizeof out, &reading, 1);
  CHECK(length > 0 && length + 1 <= READING_BYTES);
}

static std::vector<uint32_t> instants(const Buffer& buffer) {
  std::vector<uint32_t> found;
  for (size_t i = 0; i < buffer.size(); i++) found.push_back(buffer.at(i).instant);
  return found;
}

static void a_full_buffer_thins_evenly_and_keeps_both_ends() {
  static Buffer buffer;
  const uint32_t kept_instants = 8 * CAPACITY;
  for (uint32_t i = 0; i < kept_instants; i++) buffer.keep(surface(START + 300 * i), 1);
  const std::vector<uint32_t> left = instants(buffer);
  CHECK(left.size() == CAPACITY);
  CHECK(left.front() == START);
  CHECK(left.back() == START + 300 * (kept_instants - 1));
  // Spacing by leaving out neighbours goes 1, 2, 4, 8, 16: at most twice the even spacing of 8, and its seams.
  for (size_t i = 1; i < left.size(); i++) CHECK(left[i] > left[i - 1] && left[i] - left[i - 1] <= 300 * 16);
}

static void thinning_takes_whole_instants() {
  static Buffer buffer;
  for (uint32_t i = 0; i < CAPACITY; i++) {
    for (uint8_t channel = 0; channel < 2; channel++) {
      Reading reading = surface(START + 300 * i);
      reading.channel = channel;
      buffer.keep(reading, 1);
    }
  }
  CHECK(buffer.size() <= CAPACITY && buffer.size() >= CAPACITY - 2);
  for (size_t i = 0; i < buffer.size(); i += 2) CHECK(buffer.at(i).instant == buffer.at(i + 1).instant);
}

static void readings_of_an_unset_clock_are_dated_when_it_is_set_and_only_those_of_its_life() {
  static Buffer buffer;
  buffer.keep(surface(10, 7), 7);
  buffer.keep(surface(20, 9), 9);
  buffer.keep(surface(320, 9), 9);
  Reading out[4];
  CHECK(buffer.oldest(0, out, 4) == 0);
  buffer.date(9, START);
  CHECK(buffer.oldest(0, out, 4) == 2);
  CHECK(out[0].instant == START + 20 && out[1].instant == START + 320);
  buffer.acknowledged(0, 2);
  CHECK(buffer.size() == 1 && buffer.at(0).life == 7);
}

static void readings_that_cannot_be_dated_make_room_first() {
  static Buffer buffer;
  for (uint32_t i = 0; i < CAPACITY - 5; i++) buffer.keep(surface(START + 300 * i), 9);
  for (uint32_t i = 0; i < 5; i++) buffer.keep(surface(i, 7), 9);
  for (uint32_t i = 0; i < 5; i++) buffer.keep(surface(START + 300 * (CAPACITY + i)), 9);
  for (size_t i = 0; i < buffer.size(); i++) CHECK(buffer.at(i).life == 0);
  CHECK(buffer.size() == CAPACITY);
}

// ISO 3309 / ITU-T V.42 CRC-32: the check value of "123456789" is CBF43926.
static void crc32_has_its_check_value() {
  CHECK(crc32_of(reinterpret_cast<const uint8_t*>("123456789"), 9) == 0xcbf43926u);
}

static void an_image_is_read_back_and_any_damaged_bit_is_noticed() {
  static Buffer buffer, back;
  static uint8_t image[Buffer::IMAGE_BYTES];
  buffer.keep(surface(START), 1);
  buffer.keep(surface(START + 300), 1);
  const size_t length = buffer.encode(image, 41);
  uint32_t number = 0;
  CHECK(back.decode(image, length, &number) && number == 41);
  CHECK(instants(back) == instants(buffer));
  for (size_t bit = 0; bit < length * 8; bit++) {
    image[bit / 8] ^= static_cast<uint8_t>(1 << bit % 8);
    CHECK(!back.decode(image, length, &number));
    image[bit / 8] ^= static_cast<uint8_t>(1 << bit % 8);
  }
  for (size_t cut = 0; cut < length; cut++) CHECK(!back.decode(image, cut, &number));
}

class TwoPlaces : public Flash {
 public:
  std::string places[2];
  size_t torn_at = SIZE_MAX;
  size_t read(int place, uint8_t* out, size_t room) override {
    const size_t length = places[place].size() < room ? places[place].size() : room;
    memcpy(out, places[place].data(), length);
    return length;
  }
  bool write(int place, const uint8_t* data, size_t length) override {
    places[place].assign(reinterpret_cast<const char*>(data), length < torn_at ? length : torn_at);
    return torn_at > length;
  }
};

static void a_write_cut_in_half_leaves_what_was_there_before() {
  static TwoPlaces flash;
  static Buffer buffer, back;
  static Shelf shelf(flash);
  shelf.load(buffer);
  CHECK(buffer.size() == 0);
  for (uint32_t i = 0; i < 20; i++) {
    buffer.keep(surface(START + 300 * i), 1);
    CHECK(shelf.save(buffer));
    flash.torn_at = 16 + i;
    static Buffer more;
    more = buffer;
    more.keep(surface(START + 300 * (i + 1)), 1);
    CHECK(!shelf.save(more));
    flash.torn_at = SIZE_MAX;
    static Shelf after(flash);
    after.load(back);
    CHECK(instants(back) == instants(buffer));
  }
}

int main() {
  sht_checksum_is_the_data_sheets();
  one_wire_checksum_is_application_note_27s();
  ds18b20_temperatures_are_the_data_sheets();
  a_ds18b20_that_did_not_measure_has_no_reading();
  sht_formulas_reach_their_ends();
  a_live_reading_has_no_time_and_keeps_its_sign();
  a_batch_carries_a_time_for_each_and_is_whole_or_nothing();
  a_reading_never_needs_more_room_than_promised();
  a_full_buffer_thins_evenly_and_keeps_both_ends();
  thinning_takes_whole_instants();
  readings_of_an_unset_clock_are_dated_when_it_is_set_and_only_those_of_its_life();
  readings_that_cannot_be_dated_make_room_first();
  crc32_has_its_check_value();
  an_image_is_read_back_and_any_damaged_bit_is_noticed();
  a_write_cut_in_half_leaves_what_was_there_before();
  if (failures == 0) printf("all hold\n");
  return failures == 0 ? 0 : 1;
}
