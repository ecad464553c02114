"""The part of MQTT 3.1.1 a sensor needs: sign in, publish at QoS 1, wait for the acknowledgement, leave.

Paragraphs named below are of the OASIS standard MQTT Version 3.1.1.
"""

import socket
import struct

CONNECT = 0x10
CONNACK = 2
PUBLISH_QOS_1 = 0x32
PUBACK = 4
DISCONNECT = b"\xe0\x00"

KEEP_ALIVE_S = 60

REFUSALS = (
    "",
    "the broker does not speak MQTT 3.1.1",
    "the broker does not like the client name",
    "the broker cannot serve now",
    "wrong user name or password",
    "the broker does not let this user in",
)


def text(value):
    """1.5.3: UTF-8 with its length in front."""
    data = value.encode()
    return struct.pack("!H", len(data)) + data


def packet(first, body):
    """2.2.3: the length stands in groups of seven bits, the lowest first."""
    length = len(body)
    head = bytearray([first])
    while True:
        group = length & 0x7F
        length >>= 7
        head.append(group | 0x80 if length else group)
        if not length:
            return bytes(head) + body


def connect_packet(client, user, password, will):
    """3.1. A clean session: a sensor that never subscribes has nothing to come back to."""
    flags = 0x02
    body = text(client)
    if will is not None:
        flags |= 0x04 | 0x08
        body += text(will[0]) + text(will[1])
    if user is not None:
        flags |= 0x80 | 0x40
        body += text(user) + text(password)
    return packet(CONNECT, text("MQTT") + bytes([4, flags]) + struct.pack("!H", KEEP_ALIVE_S) + body)


def publish_packet(number, topic, payload):
    """3.3, QoS 1. Without the DUP flag also when it is a second try: after a new connection it is a new packet."""
    return packet(PUBLISH_QOS_1, text(topic) + struct.pack("!H", number) + payload.encode())


def secured(sock, host, ca_file):
    import ssl

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.verify_mode = ssl.CERT_REQUIRED
    with open(ca_file, "rb") as file:
        context.load_verify_locations(cadata=file.read())
    return context.wrap_socket(sock, server_hostname=host)


class Link:
    """A connection to the broker; close() it. Every failure is an OSError."""

    def __init__(self, host, port, client, user=None, password=None, will=None, ca_file=None, timeout_s=20):
        """will: (topic, payload), which the broker publishes if this connection ends without close()."""
        address = socket.getaddrinfo(host, port, 0, socket.SOCK_STREAM)[0][-1]
        self.number = 0
        self.plain = socket.socket()
        self.stream = self.plain
        try:
            self.plain.settimeout(timeout_s)
            self.plain.connect(address)
            if ca_file is not None:
                self.stream = secured(self.plain, host, ca_file)
            self.write(connect_packet(client, user, password, will))
            kind, body = self.read_packet()
            if kind != CONNACK or len(body) != 2:
                raise OSError("what answers there is not an MQTT broker")
            if body[1] != 0:
                raise OSError(REFUSALS[body[1]] if body[1] < len(REFUSALS) else "the broker refuses")
        except:
            self.drop()
            raise

    def publish(self, topic, payload):
        """Returns when the broker has acknowledged the message: coomb's broker does so when it is on disk."""
        self.number = self.number % 65535 + 1
        self.write(publish_packet(self.number, topic, payload))
        while True:
            kind, body = self.read_packet()
            if kind == PUBACK and body == struct.pack("!H", self.number):
                return

    def write(self, data):
        sent = 0
        while sent < len(data):
            count = self.stream.write(data[sent:])
            if not count:
                raise OSError("the connection is not taking data")
            sent += count

    def read(self, count):
        data = b""
        while len(data) < count:
            more = self.stream.read(count - len(data))
            if not more:
                raise OSError("the broker closed the connection")
            data += more
        return data

    def read_packet(self):
        first = self.read(1)[0]
        length = 0
        for shift in (0, 7, 14, 21):
            group = self.read(1)[0]
            length |= (group & 0x7F) << shift
            if not group & 0x80:
                return first >> 4, self.read(length)
        raise OSError("the broker sent a packet without a proper length")

    def drop(self):
        self.stream.close()
        if self.stream is not self.plain:
            self.plain.close()

    def close(self):
        """3.14: a goodbye, so that the broker does not publish the last will."""
        try:
            self.write(DISCONNECT)
        finally:
            self.drop()
