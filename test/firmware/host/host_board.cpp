// A simulated board around the core of firmware-notes/arduino: the raw values of board/world.py on its sensors, files as
// flash, a real socket to a real broker, and a power cut at a chosen moment.
//
//   host_board <port> <flash folder> <start> <wakes> <seconds between> <send every> <password> <cut at>
//              <Wi-Fi away from> <until> <time away from> <until>
#include <arpa/inet.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <string>

#include "payload.h"
#include "sensors.h"
#include "station.h"

namespace {

uint32_t true_time;
uint32_t powered_at;
bool clock_set = false;
long moments = 0;
long cut_at = 0;
uint32_t wifi_away[2];
uint32_t time_away[2];

void cut() {
  fflush(stdout);
  _exit(9);
}

bool moment() { return ++moments == cut_at; }

bool inside(const uint32_t span[2]) { return true_time >= span[0] && true_time < span[1]; }

class Files : public Flash {
 public:
  std::string folder;
  size_t read(int place, uint8_t* out, size_t room) override {
    FILE* file = fopen(path(place).c_str(), "rb");
    if (file == nullptr) return 0;
    const size_t length = fread(out, 1, room, file);
    fclose(file);
    return length;
  }
  bool write(int place, const uint8_t* data, size_t length) override {
    const bool last = moment();
    FILE* file = fopen(path(place).c_str(), "wb");
    const size_t written = fwrite(data, 1, last ? length / 2 : length, file);
    fclose(file);
    if (last) cut();
    return written == length;
  }

 private:
  std::string path(int place) const { return folder + "/readings" + (place == 0 ? "0" : "1"); }
};

class Socket : public Connection {
 public:
  int handle = -1;
  bool open(int port) {
    handle = socket(AF_INET, SOCK_STREAM, 0);
    const timeval limit = {20, 0};
    setsockopt(handle, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
    sockaddr_in address = {};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    return connect(handle, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0;
  }
  bool write(const uint8_t* data, size_t length) override {
    const bool last = moment();
    const size_t wanted = last ? length / 2 : length;
    const bool done = send(handle, data, wanted, MSG_NOSIGNAL) == static_cast<ssize_t>(wanted);
    if (last) cut();
    return done;
  }
  bool read(uint8_t* out, size_t length) override {
    while (length > 0) {
      const ssize_t got = recv(handle, out, length, 0);
      if (got <= 0) return false;
      out += got;
      length -= static_cast<size_t>(got);
    }
    return true;
  }
  void close() override {
    if (handle >= 0) ::close(handle);
    handle = -1;
  }
};

// The data sheet's polynomial x8 + x5 + x4 + 1 = 0x131, worked as a long division.
uint8_t sht_checksum(unsigned raw) {
  unsigned rest = (raw << 8) ^ (0xffu << 16);
  for (int bit = 23; bit >= 8; bit--) {
    if (rest >> bit & 1) rest ^= 0x131u << (bit - 8);
  }
  return static_cast<uint8_t>(rest);
}

class Board : public Hardware {
 public:
  int port = 0;
  Socket socket;

  uint32_t now() override { return clock_set ? true_time : true_time - powered_at; }

  size_t measure(Reading* out, size_t most) override {
    if (most < 2) return 0;
    const uint64_t step = true_time / 10;
    const unsigned raws[] = {static_cast<unsigned>(20000 + step * 37 % 8000),
                             static_cast<unsigned>(25000 + step * 53 % 20000)};
    uint8_t frame[6];
    for (int i = 0; i < 2; i++) {
      frame[3 * i] = static_cast<uint8_t>(raws[i] >> 8);
      frame[3 * i + 1] = static_cast<uint8_t>(raws[i]);
      frame[3 * i + 2] = sht_checksum(raws[i]);
    }
    out[0] = empty_reading(0);
    if (!read_sht(ShtKind::sht4x, frame, &out[0])) return 0;
    out[0].battery_mv = static_cast<uint16_t>((2 * (2000000 - step % 1000 * 100) + 500) / 1000);
    const int raw = static_cast<int>(step * 7 % 400) - 100;
    uint8_t pad[9] = {static_cast<uint8_t>(raw), static_cast<uint8_t>(raw >> 8), 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10, 0};
    pad[8] = one_wire_crc(pad, 8);
    out[1] = empty_reading(1);
    return read_ds18b20(pad, &out[1]) ? 2 : 1;
  }

  bool join_network() override {
    printf("{\"joins\": %u}\n", true_time);
    return !inside(wifi_away);
  }
  bool fetch_time() override {
    if (inside(time_away)) return false;
    if (moment()) cut();
    clock_set = true;
    return true;
  }
  Connection* dial() override { return socket.open(port) ? &socket : nullptr; }
  void leave_network() override { socket.close(); }
  void note(const char* what) override { printf("%s\n", what); }
};

}  // namespace

int main(int count, char** words) {
  if (count != 13) return 2;
  static Board board;
  static Files files;
  static Buffer buffer;
  static Shelf shelf(files);
  board.port = atoi(words[1]);
  files.folder = words[2];
  true_time = powered_at = static_cast<uint32_t>(atol(words[3]));
  const int wakes = atoi(words[4]);
  const uint32_t between = static_cast<uint32_t>(atol(words[5]));
  cut_at = atol(words[8]);
  for (int i = 0; i < 2; i++) {
    wifi_away[i] = static_cast<uint32_t>(atol(words[9 + i]));
    time_away[i] = static_cast<uint32_t>(atol(words[11 + i]));
  }
  const Station station = {"larch-cottage", {"slope-room", "slope-surface", nullptr, nullptr},
                           "sensors",       words[7],
                           0,               static_cast<unsigned>(atoi(words[6]))};
  // A number of its own for every stretch of power, as the sketch draws one at random.
  Memory memory = {static_cast<uint16_t>(true_time % 65535 + 1), 0, 0};
  for (int i = 0; i < wakes; i++) {
    printf("{\"wake\": %u}\n", true_time);
    wake(station, board, buffer, shelf, memory);
    true_time += between;
  }
  printf("{\"moments\": %ld}\n", moments);
  return 0;
}
