#include "mqtt.h"

#include <string.h>

namespace {

const uint8_t CONNECT = 0x10;
const uint8_t CONNACK = 0x20;
const uint8_t PUBLISH_QOS_1 = 0x32;
const uint8_t PUBACK = 0x40;
const uint8_t DISCONNECT[] = {0xe0, 0};

const uint8_t CLEAN_SESSION = 0x02;
const uint8_t WILL_AT_QOS_1 = 0x0c;
const uint8_t USER_AND_PASSWORD = 0xc0;
const uint16_t KEEP_ALIVE_S = 60;

size_t put_number(uint8_t* out, size_t value) {
  out[0] = static_cast<uint8_t>(value >> 8);
  out[1] = static_cast<uint8_t>(value);
  return 2;
}

// 1.5.3: UTF-8 with its length in front.
size_t put_text(uint8_t* out, const char* text) {
  const size_t length = strlen(text);
  put_number(out, length);
  memcpy(out + 2, text, length);
  return 2 + length;
}

size_t text_bytes(const char* text) { return text == nullptr ? 0 : 2 + strlen(text); }

// 2.2.3: the length stands in groups of seven bits, the lowest first.
size_t put_head(uint8_t* out, uint8_t first, size_t length) {
  size_t used = 0;
  out[used++] = first;
  do {
    const uint8_t group = length & 0x7f;
    length >>= 7;
    out[used++] = static_cast<uint8_t>(length > 0 ? group | 0x80 : group);
  } while (length > 0);
  return used;
}

const char* refusal(uint8_t code) {
  switch (code) {
    case 1: return "the broker does not speak MQTT 3.1.1";
    case 2: return "the broker does not like the client name";
    case 3: return "the broker cannot serve now";
    case 4: return "wrong user name or password";
    case 5: return "the broker does not let this user in";
    default: return "the broker refuses";
  }
}

}  // namespace

// 3.1. A clean session: a sensor that never subscribes has nothing to come back to.
const char* Session::sign_in(const Login& login) {
  uint8_t packet[512];
  size_t body = 10 + text_bytes(login.client) + text_bytes(login.will_topic) + text_bytes(login.user);
  if (login.will_topic != nullptr) body += text_bytes(login.will_payload);
  if (login.user != nullptr) body += text_bytes(login.password);
  if (body + 5 > sizeof packet) return "names and passwords are too long together";
  size_t used = put_head(packet, CONNECT, body);
  used += put_text(packet + used, "MQTT");
  packet[used++] = 4;
  packet[used++] = static_cast<uint8_t>(CLEAN_SESSION | (login.will_topic != nullptr ? WILL_AT_QOS_1 : 0) |
                                        (login.user != nullptr ? USER_AND_PASSWORD : 0));
  used += put_number(packet + used, KEEP_ALIVE_S);
  used += put_text(packet + used, login.client);
  if (login.will_topic != nullptr) {
    used += put_text(packet + used, login.will_topic);
    used += put_text(packet + used, login.will_payload);
  }
  if (login.user != nullptr) {
    used += put_text(packet + used, login.user);
    used += put_text(packet + used, login.password);
  }
  if (!stream_.write(packet, used)) return "the connection broke";
  uint8_t kind;
  uint8_t answer[2];
  size_t length;
  if (!read_packet(&kind, answer, sizeof answer, &length)) return "the broker does not answer";
  if (kind != CONNACK || length != 2) return "what answers there is not an MQTT broker";
  return answer[1] == 0 ? nullptr : refusal(answer[1]);
}

// 3.3. Without the DUP flag also when it is a second try: after a new connection it is a new packet.
bool Session::publish(const char* topic, const char* payload, size_t length) {
  number_ = static_cast<uint16_t>(number_ % 65535 + 1);
  uint8_t head[5 + 2 + 256 + 2];
  if (strlen(topic) > 256) return false;
  size_t used = put_head(head, PUBLISH_QOS_1, text_bytes(topic) + 2 + length);
  used += put_text(head + used, topic);
  used += put_number(head + used, number_);
  if (!stream_.write(head, used) || !stream_.write(reinterpret_cast<const uint8_t*>(payload), length)) return false;
  for (;;) {
    uint8_t kind;
    uint8_t body[2];
    size_t got;
    if (!read_packet(&kind, body, sizeof body, &got)) return false;
    if ((kind & 0xf0) == PUBACK && got == 2 && (body[0] << 8 | body[1]) == number_) return true;
  }
}

// 3.14: a goodbye, so that the broker does not publish the last will.
void Session::leave() {
  stream_.write(DISCONNECT, sizeof DISCONNECT);
  stream_.close();
}

// What does not fit is read and let go.
bool Session::read_packet(uint8_t* kind, uint8_t* body, size_t room, size_t* length) {
  uint8_t byte;
  if (!stream_.read(kind, 1)) return false;
  size_t rest = 0;
  for (int shift = 0; shift < 28; shift += 7) {
    if (!stream_.read(&byte, 1)) return false;
    rest |= static_cast<size_t>(byte & 0x7f) << shift;
    if (byte & 0x80) continue;
    *length = rest;
    for (size_t i = 0; i < rest; i++) {
      if (!stream_.read(i < room ? body + i : &byte, 1)) return false;
    }
    return true;
  }
  return false;
}
