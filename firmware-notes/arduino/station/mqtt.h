// The part of MQTT 3.1.1 a sensor needs: sign in, publish at QoS 1, wait for the acknowledgement, leave.
// Paragraphs named in mqtt.cpp are of the OASIS standard MQTT Version 3.1.1.
#pragma once

#include <stddef.h>
#include <stdint.h>

// A connected stream, plain or TLS. Both wait, give up after their own time limit and then return false.
class Connection {
 public:
  virtual ~Connection() {}
  virtual bool write(const uint8_t* data, size_t length) = 0;
  virtual bool read(uint8_t* out, size_t length) = 0;
  virtual void close() = 0;
};

struct Login {
  const char* client;
  const char* user;          // null: none
  const char* password;
  const char* will_topic;    // null: none
  const char* will_payload;  // what the broker publishes if the connection ends without leave()
};

class Session {
 public:
  explicit Session(Connection& stream) : stream_(stream) {}
  // Null when signed in, else what went wrong.
  const char* sign_in(const Login& login);
  // True once the broker has acknowledged the message: coomb's broker does so when it is on disk.
  bool publish(const char* topic, const char* payload, size_t length);
  void leave();

 private:
  bool read_packet(uint8_t* kind, uint8_t* body, size_t room, size_t* length);

  Connection& stream_;
  uint16_t number_ = 0;
};
