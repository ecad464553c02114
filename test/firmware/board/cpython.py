"""What CPython lacks of MicroPython, and the places where the power can fail: each write, rename, removal and packet."""

import builtins
import os
import socket as sockets
import ssl  # noqa: F401  loaded before `time` is replaced
import sys

import world

sys.stdout.reconfigure(line_buffering=True)


class Stream(sockets.socket):
    """A MicroPython socket is a stream."""

    def write(self, data):
        world.moment(lambda: self.send(data[: len(data) // 2]))
        return self.send(data)

    def read(self, count):
        return self.recv(count)


class Sockets:
    socket = Stream
    SOCK_STREAM = sockets.SOCK_STREAM
    getaddrinfo = staticmethod(sockets.getaddrinfo)


class Flash:
    def __init__(self, file):
        self.file = file

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def __iter__(self):
        return iter(self.file)

    def read(self):
        return self.file.read()

    def write(self, data):
        def half():
            self.file.write(data[: len(data) // 2])
            self.file.flush()

        world.moment(half)
        self.file.write(data)
        self.file.flush()


plain_open, plain_rename, plain_remove = builtins.open, os.rename, os.remove


def flash_open(path, mode="r"):
    return Flash(plain_open(path, mode))


def flash_rename(old, new):
    world.moment()
    plain_rename(old, new)


def flash_remove(path):
    world.moment()
    plain_remove(path)


class InFlash:
    """From here on files are the board's."""

    def __enter__(self):
        builtins.open, os.rename, os.remove = flash_open, flash_rename, flash_remove

    def __exit__(self, *_):
        builtins.open, os.rename, os.remove = plain_open, plain_rename, plain_remove
